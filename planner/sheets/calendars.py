"""Shifts as calendars: one event for each run of a driver, in iCalendar form (RFC 5545), nothing about buyers."""

from datetime import UTC, datetime

from planner.model.crews import DriverId
from planner.model.day import Day
from planner.runs.plan import Plan
from planner.runs.run import Run
from planner.sheets.plain_text import place_name, place_text, vehicle_name
from planner.sheets.words import words


def crew_calendar(day: Day, plan: Plan, driver: DriverId, *, made_at: datetime) -> str:
    """
    Return the calendar of one driver; empty of events when no run is theirs.

    ``made_at`` is an instant with a time zone.  A driver has one run a day at most, so that a later calendar replaces an
    earlier one even where the run has another name.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//homeleg//shifts//EN"]
    for run in plan.runs:
        if driver in run.itinerary.drivers:
            lines += _event(day, run, driver, made_at)
    return "".join(f"{folded(line)}\r\n" for line in (*lines, "END:VCALENDAR"))


def _event(day: Day, run: Run, driver: DriverId, made_at: datetime) -> list[str]:
    w = words()
    visits = run.visits[: len(run.itinerary.stops)]
    told = [f"{day.clock.wall(visit.start_min)} {place_name(day, visit.place)}" for visit in visits]
    summary = f"{w(f'kind.{run.kind.name.lower()}')} {run.run_id}, {vehicle_name(day, run, w)}"
    return [
        "BEGIN:VEVENT",
        f"UID:{day.clock.day.isoformat()}-{driver}@homeleg.invalid",
        f"DTSTAMP:{utc_text(made_at)}",
        f"DTSTART:{utc_text(day.clock.local(run.start_min))}",
        f"DTEND:{utc_text(day.clock.local(run.end_min))}",
        f"SUMMARY:{escaped(summary)}",
        f"LOCATION:{escaped(place_text(day, day.driver_of[driver].starts_at))}",
        f"DESCRIPTION:{escaped(chr(10).join((*told, w('board.hours_note'))))}",
        "END:VEVENT",
    ]


def utc_text(instant: datetime) -> str:
    """
    Return an instant in UTC as RFC 5545 section 3.3.5 form 2 writes it.

    >>> utc_text(datetime(2026, 3, 17, 6, 30, tzinfo=UTC))
    '20260317T063000Z'
    """
    return f"{instant.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def escaped(text: str) -> str:
    r"""
    Return text as RFC 5545 section 3.3.11 wants it.

    >>> escaped("one, two;\nthree")
    'one\\, two\\;\\nthree'
    """
    return text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def folded(line: str) -> str:
    """Return a line in pieces of at most 75 octets, each next one after CRLF and a blank (RFC 5545 section 3.1)."""
    pieces, room = [""], 75
    for letter in line:
        octets = len(letter.encode())
        if len(pieces[-1].encode()) + octets > room:
            pieces.append("")
            room = 74
        pieces[-1] += letter
    return "\r\n ".join(pieces)
