"""
Changes: one transaction that appends events and moves what holds now along with them, whole or not at all.

A thing is put with its new value; its old value, the number of the event and its seal are found here, under the book's
lock.  Putting what already holds makes no event.  A change names what its maker had seen; when somebody else has touched
the same topic since, it is refused with what was changed.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, and_, delete, insert, select, tuple_, update

from planner.desk.day_book import tables
from planner.desk.day_book.entries import Put, event_of, now_row
from planner.desk.day_book.reader import Reader
from planner.desk.day_book.refusals import ClockWentBack, StaleView
from planner.desk.day_book.seal import seal
from planner.desk.day_book.words import sentence

SLIP = timedelta(minutes=2)  # by which clocks of two desks may differ
_AT_ONCE = 400  # things looked up by one query
_MOST_TOLD = 20


class Change(Reader):
    """A transaction under way, which reads its own changes too; made by :meth:`planner.desk.day_book.book.Book.change`."""

    def __init__(self, connection: Connection, *, actor: str, at: datetime, seen: int | None, clock_was_wrong: bool) -> None:
        super().__init__(connection)
        self.actor, self.seen = actor, seen
        query = select(tables.head).where(tables.head.c.id == 1).with_for_update()
        row = connection.execute(query).one()
        self.first, self.last, self._seal = int(row.event) + 1, int(row.event), str(row.seal)
        self.at = at_text(at)
        if row.at and self.at < row.at:
            last = datetime.fromisoformat(row.at)
            if last - at > SLIP and not clock_was_wrong:
                raise ClockWentBack(at.astimezone(UTC), last)
            self.at = self.at if clock_was_wrong else row.at

    def expect_fresh(self, topic: str) -> None:
        """Raise StaleView if anybody else changed the topic after what the maker of this change had seen."""
        self._refuse_stale(topic, tables.event.c.topic == topic)

    def expect_fresh_day(self, day: str, *, routine: Sequence[str] = ()) -> None:
        """Raise StaleView if anybody else changed anything of the day after what was seen, but for the kinds ``routine``."""
        self._refuse_stale(day, and_(tables.event.c.day == day, tables.event.c.kind.not_in(list(routine))))

    def _refuse_stale(self, what: str, which: Any) -> None:
        if self.seen is None:
            return
        entry = tables.event
        query = select(entry).where(and_(which, entry.c.id > self.seen, entry.c.actor != self.actor)).order_by(entry.c.id)
        found = [event_of(row) for row in self.connection.execute(query.limit(_MOST_TOLD)).mappings()]
        if found:
            raise StaleView(what, [sentence(one) for one in found])

    def put(self, kind: str, thing: str, subject: str, value: Any, *, topic: str, day: str | None = None) -> bool:
        """Put one thing; return whether that changed anything."""
        return bool(self.put_all([Put(kind=kind, thing=thing, subject=subject, value=value, topic=topic, day=day)]))

    def put_all(self, puts: Iterable[Put]) -> int:
        """Put many things, each subject of a thing once; return how many events that made."""
        wanted = list(puts)
        made = 0
        for start in range(0, len(wanted), _AT_ONCE):
            made += self._put_some(wanted[start : start + _AT_ONCE])
        return made

    def _put_some(self, puts: list[Put]) -> int:
        before = self._before(puts)
        entries: list[dict[str, Any]] = []
        for put in puts:
            was = before.get((put.thing, put.subject))
            if was == put.value:
                continue
            entries.append(self._entry(put, was))
        if entries:
            self.connection.execute(insert(tables.event), entries)
            self._move_now(entries, before)
        return len(entries)

    def _before(self, puts: list[Put]) -> dict[tuple[str, str], Any]:
        keys = [(put.thing, put.subject) for put in puts]
        query = select(tables.now.c.thing, tables.now.c.subject, tables.now.c.value)
        query = query.where(tuple_(tables.now.c.thing, tables.now.c.subject).in_(keys))
        return {(row.thing, row.subject): row.value for row in self.connection.execute(query)}

    def _entry(self, put: Put, was: Any) -> dict[str, Any]:
        self.last += 1
        entry = {
            "id": self.last, "change": self.first, "at": self.at, "actor": self.actor, "kind": put.kind, "day": put.day,
            "topic": put.topic, "thing": put.thing, "subject": put.subject, "before": was, "after": put.value,
        }  # fmt: skip
        self._seal = entry["seal"] = seal(self._seal, entry)
        return entry

    def _move_now(self, entries: list[dict[str, Any]], before: Mapping[tuple[str, str], Any]) -> None:
        gone = [(entry["thing"], entry["subject"]) for entry in entries if (entry["thing"], entry["subject"]) in before]
        if gone:
            self.connection.execute(delete(tables.now).where(tuple_(tables.now.c.thing, tables.now.c.subject).in_(gone)))
        stays = [now_row(entry) for entry in entries if entry["after"] is not None]
        if stays:
            self.connection.execute(insert(tables.now), stays)

    def finish(self) -> None:
        """Move the head of the chain to the last event; called once, before the commit."""
        if self.last >= self.first:
            values = {"event": self.last, "at": self.at, "seal": self._seal}
            self.connection.execute(update(tables.head).where(tables.head.c.id == 1).values(**values))


def at_text(at: datetime) -> str:
    """
    Return a moment as the book writes it: ISO 8601 in UTC to the millisecond, so that text sorts as time does.

    Raises
    ------
    ValueError
        If the moment has no time zone.

    """
    if at.tzinfo is None:
        raise ValueError(f"Expected a moment with a time zone, got {at!r}.")
    return at.astimezone(UTC).isoformat(timespec="milliseconds")
