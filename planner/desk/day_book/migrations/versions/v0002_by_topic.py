"""Form 0002: what holds now is found by its topic, so that an order's page needs no search through a day."""

from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the index."""
    op.create_index("now_by_topic", "now", ["topic"])
