"""Form 0003: published plans are kept whole, by their day, with the moment at which a buyer was taken out of them."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the columns and the index."""
    op.add_column("document", sa.Column("day", sa.String(10)))
    op.add_column("document", sa.Column("erased_at", sa.String(32)))
    op.create_index("document_by_day", "document", ["day"])
