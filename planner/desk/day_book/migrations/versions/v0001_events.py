"""Form 0001: events that are only added to, what holds now, buyers apart, documents."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_WHOLE = sa.BigInteger().with_variant(sa.Integer, "sqlite")


def upgrade() -> None:
    """Make the tables and the triggers that keep events as they were written."""
    op.create_table(
        "event",
        sa.Column("id", _WHOLE, primary_key=True, autoincrement=False),
        sa.Column("change", sa.BigInteger, nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("actor", sa.String(200), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("day", sa.String(10)),
        sa.Column("topic", sa.String(200), nullable=False),
        sa.Column("thing", sa.String(40), nullable=False),
        sa.Column("subject", sa.String(200), nullable=False),
        sa.Column("before", sa.JSON(none_as_null=True)),
        sa.Column("after", sa.JSON(none_as_null=True)),
        sa.Column("seal", sa.String(64), nullable=False),
    )
    op.create_index("event_by_topic", "event", ["topic", "id"])
    op.create_index("event_by_day", "event", ["day", "id"])
    op.create_table(
        "now",
        sa.Column("thing", sa.String(40), primary_key=True),
        sa.Column("subject", sa.String(200), primary_key=True),
        sa.Column("day", sa.String(10)),
        sa.Column("topic", sa.String(200), nullable=False),
        sa.Column("value", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("event", sa.BigInteger, nullable=False),
    )
    op.create_index("now_by_day", "now", ["day", "thing"])
    op.create_table(
        "head",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("event", sa.BigInteger, nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("seal", sa.String(64), nullable=False),
    )
    op.create_table(
        "personal",
        sa.Column("buyer", _WHOLE, primary_key=True, autoincrement=False),
        sa.Column("version", sa.Integer, primary_key=True),
        sa.Column("order_ref", sa.String(200), nullable=False),
        sa.Column("phone", sa.String(40)),
        sa.Column("email", sa.String(200)),
        sa.Column("data", sa.JSON(none_as_null=True)),
        sa.Column("erased_at", sa.String(32)),
    )
    for column, name in (("order_ref", "order"), ("phone", "phone"), ("email", "email")):
        op.create_index(f"personal_by_{name}", "personal", [column])
    op.create_table(
        "document",
        sa.Column("sha", sa.String(64), primary_key=True),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "seen",
        sa.Column("actor", sa.String(200), primary_key=True),
        sa.Column("day", sa.String(10), primary_key=True),
        sa.Column("event", sa.BigInteger, nullable=False),
    )
    head = sa.table("head", *(sa.column(name) for name in ("id", "event", "at", "seal")))
    op.bulk_insert(head, [{"id": 1, "event": 0, "at": "", "seal": "0" * 64}])
    for statement in _SQLITE if op.get_bind().dialect.name == "sqlite" else _POSTGRES:
        op.execute(statement)


_SAYS = "events of the day book are never changed"
_ABORT = f"BEGIN SELECT RAISE(ABORT, '{_SAYS}'); END"
_SAME = "WHEN EXISTS (SELECT 1 FROM event WHERE id = NEW.id)"  # INSERT OR REPLACE deletes without asking the others
_SQLITE = (
    f"CREATE TRIGGER event_keeps_update BEFORE UPDATE ON event {_ABORT}",
    f"CREATE TRIGGER event_keeps_delete BEFORE DELETE ON event {_ABORT}",
    f"CREATE TRIGGER event_keeps_replace BEFORE INSERT ON event {_SAME} {_ABORT}",
)
_POSTGRES = (
    f"CREATE FUNCTION event_keeps() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION '{_SAYS}'; END $$",
    "CREATE TRIGGER event_keeps_rows BEFORE UPDATE OR DELETE ON event FOR EACH ROW EXECUTE FUNCTION event_keeps()",
    "CREATE TRIGGER event_keeps_table BEFORE TRUNCATE ON event FOR EACH STATEMENT EXECUTE FUNCTION event_keeps()",
)
