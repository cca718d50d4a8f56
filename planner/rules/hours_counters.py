"""The clock's counters: what a driver has used of each limit at one minute, with what is left."""

from collections.abc import Iterator

from planner.rules.hours_rest import settle_pause
from planner.rules.hours_state import Clock
from planner.rules.timetable_shapes import LimitUse


def hours_counters(clock: Clock) -> tuple[LimitUse, ...]:
    """Return each limit of the book with what is used of it; minutes, or a count."""
    return tuple(_uses(settle_pause(clock, is_work=False)))


def _uses(clock: Clock) -> Iterator[LimitUse]:
    book = clock.book
    longest = "extended_driving" if "extended_driving" in book and _may_extend(clock) else "daily_driving"
    used = {
        "driving_between_breaks": clock.driven,
        longest: clock.day_driven,
        "extended_days_count": clock.extended_used,
        "weekly_driving": clock.week_driven,
        "fortnight_driving": clock.last_week_driven + clock.week_driven,
        "daily_duty": clock.day_duty,
        "continuous_work": clock.worked,
        "weekly_work": clock.week_worked,
        "reduced_rests_count": clock.reduced_rests,
        "between_weekly_rests": clock.now_min - clock.weekly_rest_end_min,
    }
    for key, value in used.items():
        if key in book:
            row = book.rows[key]
            yield LimitUse(rule=row.says, used=value, limit=row.limit, source=row.source, is_count=key.endswith("_count"))
    row = book.rows["daily_rest"]
    spread = clock.now_min - clock.day_from_min - clock.rest_min
    yield LimitUse(rule="from the start of the day to its rest", used=spread, limit=clock.spread_limit, source=row.source)
    owed = sum(debt.minutes for debt in clock.debts)
    if owed:
        row = book.rows["compensation_weeks"]
        yield LimitUse(rule="rest still to be made good", used=owed, limit=owed, source=row.source)


def _may_extend(clock: Clock) -> bool:
    is_long = clock.day_driven > clock.book["daily_driving"]
    return is_long or clock.extended_used < clock.book["extended_days_count"]
