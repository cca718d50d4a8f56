"""
From one day to the next: when a driver may start again, and what the week looks like then.

Minutes are those of the day that was planned; :func:`on_next_day` turns them into those of the day after.
"""

from dataclasses import dataclass, replace

from planner.model.crews import WeekSoFar
from planner.rules.books import Book
from planner.rules.timetable_shapes import NoTimetable
from planner.units import MINUTES_A_DAY, hours_text


@dataclass(frozen=True, kw_only=True, slots=True)
class DayDone:
    """One day's duty: from start to end, its driving and work, and whether three hours of rest lie inside."""

    start_min: int
    end_min: int
    driving_min: int
    work_min: int
    has_split_rest: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class NextStart:
    """
    When the next duty may begin.

    ``earliest_min`` uses a reduced rest where one is left, ``regular_min`` none; ``rest_by_min`` is the minute by which a
    weekly rest must begin (None: unknown).  ``source`` is the rule of the rest.
    """

    earliest_min: int
    regular_min: int
    reduced_rests_left: int
    rest_by_min: int | None
    source: str


def week_after_day(week: WeekSoFar, day: DayDone, book: Book, *, is_last_of_week: bool = False) -> WeekSoFar:
    """Return the week with one more day in it; ``is_last_of_week``: the next day falls in another fixed week."""
    spread = day.end_min - day.start_min
    is_reduced = "reduced_daily_rest" in book and spread > book["rest_period"] - book["daily_rest"] and not day.has_split_rest
    began_reduced = week.last_duty_end_min is not None and day.start_min - week.last_duty_end_min < book["daily_rest"]
    done = replace(
        week,
        driven_week_min=week.driven_week_min + day.driving_min,
        worked_week_min=week.worked_week_min + day.work_min,
        duty_days=week.duty_days + 1,
        extended_days=week.extended_days + (day.driving_min > book["daily_driving"]),
        reduced_rests=week.reduced_rests + is_reduced + began_reduced,
        last_duty_end_min=day.end_min,
    )
    if is_last_of_week:
        done = replace(
            done, driven_last_week_min=done.driven_week_min, driven_week_min=0, worked_week_min=0, extended_days=0
        )
    return done


def next_start_allowed(week: WeekSoFar, day: DayDone, book: Book) -> NextStart:
    """Return when the driver may start again after a day, ``week`` being what went before that day."""
    after = week_after_day(week, day, book)
    spread = day.end_min - day.start_min
    regular = day.end_min + book["daily_rest"]
    left = max(0, book.get("reduced_rests_count", 0) - after.reduced_rests)
    earliest = regular
    is_short = spread > book["rest_period"] - book["daily_rest"]
    if "reduced_daily_rest" in book and is_short:
        earliest = regular = day.end_min + book["split_rest_second" if day.has_split_rest else "reduced_daily_rest"]
    elif "reduced_daily_rest" in book and (left or day.has_split_rest):
        earliest = day.end_min + book["reduced_daily_rest"]
    rest_by = None if week.weekly_rest_ended_min is None else week.weekly_rest_ended_min + book["between_weekly_rests"]
    if after.duty_days >= 6:  # a weekly rest comes first
        earliest = regular = day.end_min + book["reduced_weekly_rest"]
    source = book.rows["daily_rest"].source
    return NextStart(
        earliest_min=earliest, regular_min=regular, reduced_rests_left=left, rest_by_min=rest_by, source=source
    )


def check_next_start(week: WeekSoFar, day: DayDone, book: Book, *, next_start_min: int) -> NoTimetable | None:
    """Return the rule that a start at that minute after the day would break, None when it may be."""
    allowed = next_start_allowed(week, day, book)
    short = allowed.earliest_min - next_start_min
    if short > 0:
        says = f"The next duty would begin {hours_text(short)} before the rest after this one is over."
        return NoTimetable(rule="daily rest", says=says, short_by_min=short, source=allowed.source)
    row = book.rows["between_weekly_rests"]
    is_weekly = next_start_min - day.end_min >= book["reduced_weekly_rest"]
    if allowed.rest_by_min is not None and next_start_min > allowed.rest_by_min and not is_weekly:
        says = f"The weekly rest must begin {hours_text(next_start_min - allowed.rest_by_min)} before that start."
        return NoTimetable(rule="weekly rest", says=says, source=row.source)
    return None


def on_next_day(week: WeekSoFar, *, minutes: int = MINUTES_A_DAY) -> WeekSoFar:
    """Return the week with its minutes counted from the midnight that comes ``minutes`` later."""
    return replace(
        week,
        last_duty_end_min=None if week.last_duty_end_min is None else week.last_duty_end_min - minutes,
        weekly_rest_ended_min=None if week.weekly_rest_ended_min is None else week.weekly_rest_ended_min - minutes,
    )
