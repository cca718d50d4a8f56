"""
The book: opened by its place, read at one moment, changed one transaction at a time.

Whatever the database says about itself (full, damaged, busy, newer) comes out as a refusal in words.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Self

from sqlalchemy import Connection, Engine, and_, delete, insert, select

from planner.desk.day_book import tables
from planner.desk.day_book.change import Change
from planner.desk.day_book.engine import WRITES, engine_for, file_of, told
from planner.desk.day_book.entries import Event, events_of
from planner.desk.day_book.refusals import BookDamaged, NoBook
from planner.desk.day_book.schema import bring_up_to_date


@dataclass(frozen=True, kw_only=True, slots=True)
class Held:
    """What holds now of one thing, and the event that made it so."""

    thing: str
    subject: str
    day: str | None
    topic: str
    value: Any
    event: int


class Reader:
    """One moment of the book, however long it is looked at."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection

    @property
    def last_event(self) -> int:
        """Return the number of the last event; 0 in an empty book."""
        return int(self.connection.execute(select(tables.head.c.event)).scalar_one())

    def now(self, *, thing: str | None = None, day: str | None = None, topic: str | None = None) -> list[Held]:
        """Return what holds, of a thing, a day, a topic or any of these together, by thing and subject."""
        asked = {"thing": thing, "day": day, "topic": topic}
        query = select(tables.now).where(*(tables.now.c[name] == value for name, value in asked.items() if value is not None))
        rows = self.connection.execute(query.order_by(tables.now.c.thing, tables.now.c.subject)).mappings()
        return [Held(**row) for row in rows]

    def value(self, thing: str, subject: str) -> Any:
        """Return what one thing is now, None when it is not."""
        query = select(tables.now.c.value).where(and_(tables.now.c.thing == thing, tables.now.c.subject == subject))
        return self.connection.execute(query).scalar()

    def events(self, *, topic: str | None = None, day: str | None = None, after: int = 0) -> Iterator[Event]:
        """Yield events in the order in which they were made, of a topic, a day, or all."""
        entry = tables.event
        query = select(entry).where(entry.c.id > after).order_by(entry.c.id)
        query = query.where(entry.c.topic == topic) if topic is not None else query
        query = query.where(entry.c.day == day) if day is not None else query
        yield from events_of(self.connection.execution_options(yield_per=5000).execute(query).mappings())

    def seen_by(self, actor: str, day: str) -> int | None:
        """Return up to which event somebody has looked at a day, None when never."""
        query = select(tables.seen.c.event).where(and_(tables.seen.c.actor == actor, tables.seen.c.day == day))
        return self.connection.execute(query).scalar()


class Book:
    """A day book that is open; ``where`` is a path (SQLite) or a database URL."""

    def __init__(self, where: str, engine: Engine) -> None:
        self.where, self.engine = where, engine

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """Yield a reader that sees the book as it is now, whatever others write meanwhile."""
        with told(self.where), self.engine.connect() as connection, connection.begin():
            yield Reader(connection)

    @contextmanager
    def change(
        self, *, actor: str, at: datetime, seen: int | None = None, clock_was_wrong: bool = False,
    ) -> Iterator[Change]:  # fmt: skip
        """
        Yield a change, which is committed when the block ends and undone when it raises.

        Parameters
        ----------
        actor
            Who makes it.
        at
            When, with its time zone; never before the last event by more than two minutes.
        seen
            The last event the actor had seen, for :meth:`Change.expect_fresh`; None when that does not matter.
        clock_was_wrong
            Go on although ``at`` lies before the last event.

        Raises
        ------
        ClockWentBack, BookBusy, BookFull, BookDamaged, BookUnwritable
            Nothing was recorded.

        """
        with told(self.where), self.engine.connect().execution_options(**WRITES) as connection, connection.begin():
            made = Change(connection, actor=actor, at=at, seen=seen, clock_was_wrong=clock_was_wrong)
            yield made
            made.finish()

    def mark_seen(self, actor: str, day: str, event: int) -> None:
        """Keep up to which event somebody has looked at a day."""
        key = {"actor": actor, "day": day}
        with told(self.where), self.engine.connect().execution_options(**WRITES) as connection, connection.begin():
            connection.execute(delete(tables.seen).where(*(tables.seen.c[name] == value for name, value in key.items())))
            connection.execute(insert(tables.seen), [{**key, "event": event}])


def open_book(where: str | Path, *, may_make: bool = False) -> Book:
    """
    Return the book at a path or URL, brought to the newest form.

    Raises
    ------
    NoBook
        If there is none and ``may_make`` is false.
    NewerBook, BookDamaged, BookUnwritable, BookBusy
        If it cannot be used.

    """
    where = str(where)
    file = file_of(where)
    if file is not None and not file.exists():
        if not may_make:
            raise NoBook(where)
        file.parent.mkdir(parents=True, exist_ok=True)
    if file is not None and file.exists() and file.stat().st_size == 0 and not may_make:
        raise BookDamaged(where, "the file of the day book is empty")
    engine = engine_for(where)
    try:
        with told(where):
            bring_up_to_date(engine, where, may_make=may_make)
    except BaseException:
        engine.dispose()
        raise
    return Book(where, engine)
