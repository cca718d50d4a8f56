"""Readers: one moment of the book, looked at by thing, day and topic."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, and_, select

from planner.desk.day_book import tables
from planner.desk.day_book.entries import Event, events_of


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

    def subjects(self, thing: str) -> list[str]:
        """Return of what subjects a thing holds."""
        query = select(tables.now.c.subject).where(tables.now.c.thing == thing).order_by(tables.now.c.subject)
        return list(self.connection.execute(query).scalars())

    def standing(self, thing: str, day: str) -> dict[str, Any]:
        """Return what holds of a thing on a day, by subject."""
        query = select(tables.now.c.subject, tables.now.c.value).where(and_(tables.now.c.thing == thing, tables.now.c.day == day))
        return {row.subject: row.value for row in self.connection.execute(query)}

    def between(self, thing: str, first: str, last: str) -> list[Held]:
        """Return what holds of a thing on the days from ``first`` to ``last``, both included, by day and subject."""
        entry = tables.now.c
        query = select(tables.now).where(and_(entry.thing == thing, entry.day >= first, entry.day <= last))
        return [Held(**row) for row in self.connection.execute(query.order_by(entry.day, entry.subject)).mappings()]

    def events(
        self, *, topic: str | None = None, day: str | None = None, after: int = 0, most: int | None = None,
    ) -> Iterator[Event]:  # fmt: skip
        """Yield events in the order in which they were made, of a topic, a day, or all; at most so many."""
        entry = tables.event
        query = select(entry).where(entry.c.id > after).order_by(entry.c.id).limit(most)
        query = query.where(entry.c.topic == topic) if topic is not None else query
        query = query.where(entry.c.day == day) if day is not None else query
        yield from events_of(self.connection.execute(query, execution_options={"yield_per": 5000}).mappings())

    def seen_by(self, actor: str, day: str) -> int | None:
        """Return up to which event somebody has looked at a day, None when never."""
        query = select(tables.seen.c.event).where(and_(tables.seen.c.actor == actor, tables.seen.c.day == day))
        return self.connection.execute(query).scalar()
