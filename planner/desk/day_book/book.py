"""
The book: opened by its place, read at one moment, changed one transaction at a time.

Whatever the database says about itself (full, damaged, busy, newer) comes out as a refusal in words.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Self

from sqlalchemy import Engine, delete, insert

from planner.desk.day_book import tables
from planner.desk.day_book.change import Change
from planner.desk.day_book.engine import WRITES, engine_for, file_of, told
from planner.desk.day_book.reader import Reader
from planner.desk.day_book.refusals import BookDamaged, BookUnwritable, NoBook
from planner.desk.day_book.schema import bring_up_to_date


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
        _make_room_for(file, where)
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


def _make_room_for(file: Path, where: str) -> None:
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise BookUnwritable(where, fault.strerror or str(fault)) from None
