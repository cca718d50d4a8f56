"""Road events: what was rung in of a day, as it is told and as the book keeps it; times are minutes of the planning day."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from planner.clock import DayClock
from planner.desk.day_book.happenings import Happening
from planner.desk.day_book.reader import Reader


@dataclass(frozen=True, kw_only=True, slots=True)
class Told:
    """
    Something that was rung in.

    ``who`` is an order, a driver, a transporter, a hired carrier or the number of a run; ``late_min`` belongs to "late" alone.
    """

    who: str
    what: Happening
    at_min: int
    late_min: int | None = None
    says: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class RoadEvent:
    """What was told, with the crew it concerns (the name its sheet is kept by); either ``crew`` or ``order`` is there."""

    crew: str | None
    order: str | None
    transporter: str | None
    what: Happening
    at_min: int
    late_min: int | None
    says: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """Why one thing that was told cannot be so: which, in which part of it, and what to do."""

    number: int
    part: str
    says: str
    advice: str


def road_events(reader: Reader, clock: DayClock) -> list[RoadEvent]:
    """Return everything told of a day that still stands, in the order in which it happened."""
    found = [_event_of(value, clock) for value in reader.standing("road", clock.day.isoformat()).values()]
    return sorted(found, key=lambda one: (one.at_min, list(Happening).index(one.what), one.crew or "", one.order or ""))


def _event_of(value: Mapping[str, Any], clock: DayClock) -> RoadEvent:
    return RoadEvent(
        crew=value["crew"], order=value["order"], transporter=value["transporter"], what=Happening(value["what"]),
        at_min=clock.from_iso(value["at"]), late_min=value["late_min"], says=value["says"],
    )  # fmt: skip


def subject_of(told: Told, clock: DayClock) -> str:
    """
    Return by what one thing told is known again: when, who, what.

    >>> from datetime import date
    >>> subject_of(Told(who="d1", what=Happening.LATE, at_min=640, late_min=40), DayClock(date(2026, 11, 26)))
    '2026-11-26T10:40+00:00 D1 late 40 min'
    """
    late = f" {told.late_min} min" if told.late_min is not None else ""
    return f"{clock.iso(told.at_min)} {told.who.upper()} {told.what.value}{late}"
