"""
Hours kept by the book: each driver's shifts as planned and as told, and the week so far for the next day's planning.

A shift is told by "on duty" and "off duty"; what was not told is as planned.  A shift that took longer than planned is held
to have been driving and work for as much longer, so that the hours rules see the stricter case; one that was shorter is as
much less work.  The tachograph decides.  What a driver did elsewhere, and weekly rest that is owed, stand in the file alone.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any

from planner.desk.day_book.happenings import Happening
from planner.desk.day_book.reader import Reader
from planner.desk.intake_table import BLANKS, RawTable, heading
from planner.model.day import Day
from planner.rules.books import OVER_3500, book_named
from planner.runs.plan import Plan
from planner.runs.run import ActivityKind

LOOK_BACK = timedelta(days=21)
WEEK_COLUMNS = (
    "driven_this_week", "driven_last_week", "worked_this_week", "duty_days", "long_days", "short_rests", "last_duty_ended",
    "weekly_rest_ended", "rest_owed",
)  # fmt: skip
_IDLE = (ActivityKind.BREAK, ActivityKind.REST, ActivityKind.AVAILABLE)


@dataclass(frozen=True, kw_only=True, slots=True)
class Shift:
    """One driver's duty on one planning day; minutes; ``is_told`` when both its ends were rung in."""

    day: date
    driver: str
    planned_begins: datetime
    planned_ends: datetime
    planned_driving_min: int
    planned_work_min: int
    begins: datetime
    ends: datetime
    is_told: bool

    @property
    def _longer_min(self) -> int:
        planned = self.planned_ends - self.planned_begins
        return int((self.ends - self.begins - planned).total_seconds() // 60)

    @property
    def driving_min(self) -> int:
        """Driving done, by the rule at the head of this module."""
        return self.planned_driving_min + max(0, self._longer_min)

    @property
    def work_min(self) -> int:
        """All work done, driving included."""
        return max(self.driving_min, self.planned_work_min + self._longer_min)


def planned_shifts(day: Day, plan: Plan) -> dict[str, Any]:
    """Return each driver's duty in a plan as the book keeps it."""
    found: dict[str, Any] = {}
    for run in plan.runs:
        for driver in run.itinerary.drivers:
            if run.activities:
                lengths = [(step.kind, step.end_min - step.start_min) for step in run.activities]
                found[str(driver)] = {
                    "begins": day.clock.iso(run.start_min), "ends": day.clock.iso(run.end_min),
                    "driving_min": sum(length for kind, length in lengths if kind is ActivityKind.DRIVE),
                    "work_min": sum(length for kind, length in lengths if kind not in _IDLE),
                }  # fmt: skip
    return found


def shifts(reader: Reader, first: date, last: date) -> list[Shift]:
    """Return every shift of the days from ``first`` to ``last``, both included, by day and driver."""
    ends = {Happening.ON_DUTY.value: "begins", Happening.OFF_DUTY.value: "ends"}
    told: dict[tuple[str | None, str, str], datetime] = {}
    for held in reader.between("road", first.isoformat(), last.isoformat()):
        if held.value["what"] in ends:
            told[held.day, held.value["crew"], ends[held.value["what"]]] = datetime.fromisoformat(held.value["at"])
    found = []
    for held in reader.between("version", first.isoformat(), last.isoformat()):
        for driver, planned in sorted(held.value.get("shifts", {}).items()):
            real = {end: told.get((held.day, driver, end)) for end in ("begins", "ends")}
            begins, until = (datetime.fromisoformat(planned[end]) for end in ("begins", "ends"))
            found.append(Shift(
                day=date.fromisoformat(held.subject), driver=driver, planned_begins=begins, planned_ends=until,
                planned_driving_min=planned["driving_min"], planned_work_min=planned["work_min"],
                begins=real["begins"] or begins, ends=max(real["ends"] or until, real["begins"] or begins),
                is_told=None not in real.values(),
            ))  # fmt: skip
    return found


def monday(of: date) -> date:
    """Return the Monday on which a date's week begins."""
    return of - timedelta(days=of.weekday())


def week_cells(reader: Reader, on: date) -> dict[str, dict[str, str]]:
    """Return, by driver, the cells of a table of drivers that tell the week so far, of the shifts before the day ``on``."""
    by_driver: dict[str, list[Shift]] = {}
    for shift in shifts(reader, on - LOOK_BACK, on - timedelta(days=1)):
        by_driver.setdefault(shift.driver, []).append(shift)
    return {driver: _cells(own, on) for driver, own in by_driver.items()}


def _cells(own: list[Shift], on: date) -> dict[str, str]:
    rules = book_named(OVER_3500)
    this, last = monday(on), monday(on) - timedelta(days=7)
    week = [shift for shift in own if shift.day >= this]
    before = [shift for shift in own if last <= shift.day < this]
    since, short_rests = [own[0]], 0
    for earlier, later in pairwise(own):
        rest_min = (later.begins - earlier.ends).total_seconds() // 60
        is_weekly = rest_min >= rules["reduced_weekly_rest"]
        since = [later] if is_weekly else [*since, later]
        short_rests = 0 if is_weekly else short_rests + (rest_min < rules["daily_rest"])
    cells = {
        "driven_this_week": _hours(shift.driving_min for shift in week),
        "driven_last_week": _hours(shift.driving_min for shift in before),
        "worked_this_week": _hours(shift.work_min for shift in week),
        "duty_days": str(min(12, len(since))),
        "long_days": str(sum(shift.driving_min > rules["daily_driving"] for shift in week)),
        "short_rests": str(min(7, short_rests)),
        "last_duty_ended": _moment(own[-1].ends),
        "weekly_rest_ended": _moment(since[0].begins),
    }
    rested_min = (datetime.combine(on, datetime.min.time(), own[-1].ends.tzinfo) - own[-1].ends).total_seconds() // 60
    if rested_min >= rules["reduced_weekly_rest"]:  # a weekly rest lies before the day
        cells |= {"duty_days": "0", "short_rests": "0", "last_duty_ended": "", "weekly_rest_ended": ""}
    return cells


def _hours(minutes: Iterable[int]) -> str:
    return "{}:{:02}".format(*divmod(sum(minutes), 60))


def _moment(at: datetime) -> str:
    return f"{at:%Y-%m-%d %H:%M}"


def with_weeks(table: RawTable, weeks: Mapping[str, Mapping[str, str]]) -> RawTable:
    """Return a table of drivers with the week so far of those of whom it says nothing; a driver it speaks of is left alone."""
    names = [heading(text) for text in table.headings]
    if "driver" not in names:
        return table
    missing = [name for name in WEEK_COLUMNS if name not in names]
    rows = []
    for row in table.rows:
        cells = list(row) + [""] * (len(names) - len(row))
        own = dict(zip(names, cells, strict=False))
        said = any(own.get(name, "").strip(BLANKS) for name in WEEK_COLUMNS)
        week = {} if said else weeks.get(own["driver"].strip(BLANKS), {})
        filled = [week.get(name, cell) or cell for name, cell in zip(names, cells, strict=False)]
        more = [week.get(name, "") for name in missing]
        rows.append((*filled, *more) if len(cells) == len(names) else row)
    return replace(table, headings=(*table.headings, *missing), rows=tuple(rows))
