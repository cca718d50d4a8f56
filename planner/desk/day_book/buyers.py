"""
Buyers: what belongs to a person stands apart from the events, which speak of a buyer only by number and version.

Each order has one buyer number.  A change of the data makes a new version; erasing empties all versions of a number and
records that it was done, so that every event stays as it was sealed.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import and_, func, insert, select, update

from planner.desk.day_book import tables
from planner.desk.day_book.book import Book
from planner.desk.day_book.change import Change
from planner.desk.day_book.documents import take_out
from planner.desk.day_book.reader import Reader

ERASED = "(erased)"


@dataclass(frozen=True, kw_only=True, slots=True)
class PersonalData:
    """One version of what is known of a buyer; ``data`` is None once erased."""

    buyer: int
    version: int
    order_ref: str
    data: dict[str, Any] | None
    erased_at: str | None


def keep_buyer(change: Change, order_ref: str, data: dict[str, Any], *, is_finished: bool = False) -> tuple[int, int]:
    """
    Return number and version under which the data of an order's buyer are kept, a new version when they changed.

    Of an order that ``is_finished`` what was erased stays erased, however often its source sends it again.
    """
    table = tables.personal
    query = select(table).where(table.c.order_ref == order_ref).order_by(table.c.version.desc()).limit(1)
    last = change.connection.execute(query).mappings().first()
    if last is not None and (last["data"] == data or (is_finished and last["erased_at"] is not None)):
        return int(last["buyer"]), int(last["version"])
    if last is None:
        buyer, version = int(change.connection.execute(select(func.max(table.c.buyer))).scalar() or 0) + 1, 1
    else:
        buyer, version = int(last["buyer"]), int(last["version"]) + 1
    row = {
        "buyer": buyer, "version": version, "order_ref": order_ref, "data": data, "phone": digits(str(data.get("phone") or "")),
        "email": str(data.get("email") or "").casefold() or None,
    }  # fmt: skip
    change.connection.execute(insert(table), [row])
    return buyer, version


def digits(phone: str) -> str | None:
    """
    Return a telephone number as it is compared, None when there is none.

    >>> digits("+44 (0)7700 900101"), digits("07700 900101"), digits("")
    ('7700900101', '7700900101', None)
    """
    bare = "".join(letter for letter in phone if letter.isdigit())
    return bare.removeprefix("44").lstrip("0") or None


def latest(reader: Reader, order_refs: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return the newest data of the buyer of each order; an erased or unknown one is left out."""
    found: dict[str, dict[str, Any]] = {}
    wanted = list(order_refs)
    for start in range(0, len(wanted), 400):
        table = tables.personal
        query = select(table).where(table.c.order_ref.in_(wanted[start : start + 400])).order_by(table.c.version)
        for row in reader.connection.execute(query).mappings():
            if row["data"] is not None:
                found[row["order_ref"]] = row["data"]
    return found


def known(reader: Reader, *, order: str = "", phone: str = "", email: str = "") -> list[PersonalData]:
    """Return every version kept of the buyers with that order, telephone or e-mail; at least one must be given."""
    table = tables.personal
    asked: list[Any] = [table.c.order_ref == order] if order else []
    asked += [table.c.phone == digits(phone)] if digits(phone) else []
    asked += [table.c.email == email.casefold()] if email else []
    if not asked:
        return []
    buyers = select(table.c.buyer).where(and_(*asked))
    query = select(table).where(table.c.buyer.in_(buyers)).order_by(table.c.buyer, table.c.version)
    return [
        PersonalData(buyer=row["buyer"], version=row["version"], order_ref=row["order_ref"], data=row["data"],
                     erased_at=row["erased_at"])
        for row in reader.connection.execute(query).mappings()
    ]  # fmt: skip


def erase(change: Change, buyers: Iterable[PersonalData]) -> list[str]:
    """Empty what is kept of these buyers and record it; return the orders concerned."""
    table, refs = tables.personal, []
    for number, ref in sorted({(one.buyer, one.order_ref) for one in buyers}):
        values = {"data": None, "phone": None, "email": None, "erased_at": change.at}
        change.connection.execute(update(table).where(table.c.buyer == number).values(**values))
        take_out(change, ref)
        change.put("buyer erased", "erasure", ref, {"buyer": number, "erased": True}, topic=ref)
        refs.append(ref)
    return refs


def sweep(book: Book) -> None:
    """Let no page of the write-ahead log keep what was erased; SQLite alone has one that is ours to empty."""
    if book.engine.dialect.name == "sqlite":
        with book.engine.connect() as connection:
            raw: Any = connection.connection
            raw.rollback()
            raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
