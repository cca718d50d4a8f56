"""
The next morning: when each driver of a run may start again, and whether the usual start would break a rest.

Tomorrow's start is taken to be the hour from which the driver is on duty today; a planning aid like every hours figure.
"""

from dataclasses import dataclass

from planner.model.crews import Driver
from planner.model.day import Day
from planner.rules.books import book_named
from planner.rules.next_start import DayDone, NextStart, check_next_start, next_start_allowed
from planner.rules.timetable_shapes import NoTimetable
from planner.runs.run import ActivityKind, Run
from planner.units import MINUTES_A_DAY

WORK = frozenset({ActivityKind.DRIVE, ActivityKind.OTHER_WORK, ActivityKind.RIDE})
SPLIT_REST_MIN = 180  # the first part of a split daily rest, Reg. (EC) 561/2006 art. 4(g)


@dataclass(frozen=True, kw_only=True, slots=True)
class NextMorning:
    """When a driver may start again; ``breach`` is what a start at the usual hour would break, None when it may be."""

    driver: Driver
    allowed: NextStart
    breach: NoTimetable | None


def next_mornings(day: Day, run: Run) -> tuple[NextMorning, ...]:
    """Return one answer for each driver of a run; none for a hired carrier."""
    if not run.activities or not run.book:
        return ()
    book, done = book_named(run.book), _done(run)
    crew = [day.driver_of[name] for name in run.itinerary.drivers]
    nights = run.nights * MINUTES_A_DAY
    return tuple(
        NextMorning(
            driver=driver,
            allowed=next_start_allowed(driver.week, done, book),
            breach=check_next_start(
                driver.week, done, book, next_start_min=driver.starts_from_min + MINUTES_A_DAY + nights
            ),
        )
        for driver in crew
    )


def _done(run: Run) -> DayDone:
    """Return the last day's duty of a run; after a night out it begins when the long rest ends."""
    after_night = [step.end_min for step in run.activities if step.kind is ActivityKind.REST and run.nights]
    start_min = max(after_night, default=run.start_min)
    last = [step for step in run.activities if step.start_min >= start_min]
    spent = {kind: sum(step.end_min - step.start_min for step in last if step.kind is kind) for kind in ActivityKind}
    return DayDone(
        start_min=start_min,
        end_min=run.end_min,
        driving_min=spent[ActivityKind.DRIVE],
        work_min=sum(spent[kind] for kind in WORK),
        has_split_rest=any(
            step.kind is ActivityKind.REST and step.end_min - step.start_min >= SPLIT_REST_MIN for step in last
        ),
    )
