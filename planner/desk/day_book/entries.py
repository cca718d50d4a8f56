"""Entries: an event as it is kept, what is to be put, and the row of what then holds."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, kw_only=True, slots=True)
class Event:
    """One entry: who did what to which thing, with its value before and after; None where there was or is none."""

    id: int
    change: int
    at: str
    actor: str
    kind: str
    day: str | None
    topic: str
    thing: str
    subject: str
    before: Any
    after: Any
    seal: str = field(default="", repr=False)


@dataclass(frozen=True, kw_only=True, slots=True)
class Put:
    """What one thing is to be from now on; ``value`` None ends it."""

    kind: str
    thing: str
    subject: str
    value: Any
    topic: str
    day: str | None = None


def now_row(entry: Mapping[str, Any]) -> dict[str, Any]:
    """Return the row of ``now`` that an event leaves."""
    return {
        "thing": entry["thing"], "subject": entry["subject"], "day": entry["day"], "topic": entry["topic"],
        "value": entry["after"], "event": entry["id"],
    }  # fmt: skip


def event_of(row: Any) -> Event:
    """Return the event of a row of the table."""
    return Event(**row)


def events_of(rows: Iterable[Any]) -> Iterator[Event]:
    """Yield the events of rows."""
    return (Event(**row) for row in rows)
