"""
Tables of the day book, as the newest form of the schema has them; the way there stands in ``migrations``.

``event`` is only ever added to.  ``now`` holds what the last event of each thing left, by thing and subject, and can be
rebuilt from it.  ``personal`` holds what belongs to buyers, by number and version; events speak of buyers only by that
number.  ``document`` holds published plans by the SHA-256 of what they say.  Times are ISO 8601
text in UTC.
"""

from sqlalchemy import JSON, BigInteger, Column, Index, Integer, LargeBinary, MetaData, String, Table

metadata = MetaData()

event = Table(
    "event", metadata,
    Column("id", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=False),
    Column("change", BigInteger, nullable=False),  # the first event of the same transaction
    Column("at", String(32), nullable=False),
    Column("actor", String(200), nullable=False),
    Column("kind", String(40), nullable=False),  # what was done: held, published, arrived ...
    Column("day", String(10)),  # the planning day concerned, if any
    Column("topic", String(200), nullable=False),  # what a person would look up: an order, a driver, a day
    Column("thing", String(40), nullable=False),
    Column("subject", String(200), nullable=False),
    Column("before", JSON(none_as_null=True)),
    Column("after", JSON(none_as_null=True)),
    Column("seal", String(64), nullable=False),  # SHA-256 over this event and the seal before it
    Index("event_by_topic", "topic", "id"),
    Index("event_by_day", "day", "id"),
)  # fmt: skip

now = Table(
    "now", metadata,
    Column("thing", String(40), primary_key=True),
    Column("subject", String(200), primary_key=True),
    Column("day", String(10)),
    Column("topic", String(200), nullable=False),
    Column("value", JSON(none_as_null=True), nullable=False),
    Column("event", BigInteger, nullable=False),
    Index("now_by_day", "day", "thing"),
    Index("now_by_topic", "topic"),
)  # fmt: skip

head = Table(  # one row: where the chain of events ends; locked by whoever writes
    "head", metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("event", BigInteger, nullable=False),
    Column("at", String(32), nullable=False),
    Column("seal", String(64), nullable=False),
)  # fmt: skip

personal = Table(
    "personal", metadata,
    Column("buyer", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=False),
    Column("version", Integer, primary_key=True),
    Column("order_ref", String(200), nullable=False),
    Column("phone", String(40)),  # digits alone, to find a buyer by
    Column("email", String(200)),  # small letters, likewise
    Column("data", JSON(none_as_null=True)),  # None once erased
    Column("erased_at", String(32)),
    Index("personal_by_order", "order_ref"),
    Index("personal_by_phone", "phone"),
    Index("personal_by_email", "email"),
)  # fmt: skip

document = Table(
    "document", metadata,
    Column("sha", String(64), primary_key=True),
    Column("kind", String(40), nullable=False),
    Column("body", LargeBinary, nullable=False),  # compressed with zlib
    Column("day", String(10)),
    Column("erased_at", String(32)),  # when a buyer was last taken out of it
    Index("document_by_day", "day"),
)  # fmt: skip

seen = Table(  # up to which event somebody has looked; a convenience, no part of the record
    "seen", metadata,
    Column("actor", String(200), primary_key=True),
    Column("day", String(10), primary_key=True),
    Column("event", BigInteger, nullable=False),
)  # fmt: skip

