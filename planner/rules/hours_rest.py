"""What a pause was, settled when it ends: a break, a daily or weekly rest or a part of one; and the day that it closes."""

from dataclasses import replace

from planner.rules.hours_limits import breach, daily_rest_breach
from planner.rules.hours_state import Clock, Debt
from planner.rules.hours_words import Breach
from planner.units import MINUTES_A_DAY, hours_text

NEW_WEEK_AFTER = 5 * MINUTES_A_DAY


def settle_pause(clock: Clock, *, is_work: bool) -> Clock:
    """Return the clock with a pause that ends counted as a break; breaks count for a day's work once work follows."""
    minutes, book = clock.pause_min, clock.book
    if minutes:
        first, second = book.get("first_break_part", 0), book.get("second_break_part", 0)
        is_full = minutes >= book.get("full_break", 1 << 40) or bool(first and clock.has_first and minutes >= second)
        counts = minutes >= book.get("work_break_part", 1) and clock.day_worked > 0
        clock = replace(
            clock,
            pause_min=0,
            driven=0 if is_full else clock.driven,
            has_first=not is_full and (clock.has_first or bool(first and minutes >= first and clock.driven)),
            worked=0 if minutes >= book.get("work_break_part", 1) else clock.worked,
            open_breaks=clock.open_breaks + (minutes if counts else 0),
            open_longest=max(clock.open_longest, minutes if counts else 0),
        )
    if is_work and clock.open_breaks:
        clock = replace(
            clock, inner_breaks=clock.inner_breaks + clock.open_breaks, open_breaks=0,
            inner_longest=max(clock.inner_longest, clock.open_longest), open_longest=0,
        )  # fmt: skip
    return clock


def settle_rest(clock: Clock) -> Clock | Breach:
    """Return the clock after the rest that ends now, or the breach it shows."""
    book, minutes = clock.book, clock.rest_min
    if clock.rest_stops and minutes >= book.get("split_rest_second", 1 << 40):
        broken = _ferry_breach(clock)
        if broken is not None:
            return broken
    if minutes >= book["reduced_weekly_rest"]:
        return _weekly(clock)
    if minutes >= book.get("reduced_daily_rest", book["daily_rest"]):
        return _daily(clock)
    is_split = "split_rest_first" in book and minutes >= book["split_rest_first"] and not clock.rest_stops
    return replace(clock.rest_over(), has_split=clock.has_split or is_split)


def _daily(clock: Clock) -> Clock | Breach:
    book = clock.book
    assert clock.rest_from_min is not None
    latest = clock.day_from_min + clock.rest_period_min
    inside = min(clock.now_min, latest) - clock.rest_from_min - clock.rest_stop_min
    is_split = clock.has_split and inside >= book["split_rest_second"]
    is_regular = inside >= book["daily_rest"] or is_split
    if not is_regular and (inside < book.get("reduced_daily_rest", book["daily_rest"]) or not clock.reduced_left):
        return daily_rest_breach(clock, latest - inside, 0)
    closed = close_day(clock)
    if isinstance(closed, Breach):
        return closed
    paid = _repaid(clock, clock.rest_min - book["daily_rest"])
    return replace(
        clock.rest_over().new_day(), pause_min=0, reduced_rests=clock.reduced_rests + (not is_regular), debts=paid,
    )  # fmt: skip


def _weekly(clock: Clock) -> Clock | Breach:
    book, minutes = clock.book, clock.rest_min
    closed = close_day(clock)
    if isinstance(closed, Breach):
        return closed
    regular = book.get("weekly_rest", book["reduced_weekly_rest"])
    first_week_end, last_week_end = clock.rest_week_end_min, clock.week_end_min
    debts = _repaid(clock, minutes - regular)
    reduced_end = None
    if minutes < regular:
        if clock.reduced_weekly_week_end is not None and first_week_end > clock.reduced_weekly_week_end:
            says = "two reduced weekly rests in a row, one in each of two weeks; one of the two must be regular"
            return breach(clock, "weekly_rest", value=minutes, after=0, says=says)
        reduced_end = last_week_end
        due = first_week_end + book["compensation_weeks"] * 7 * MINUTES_A_DAY
        debts = (*clock.debts, Debt(regular - minutes, due))
    after = replace(
        clock.rest_over().new_day(), pause_min=0, reduced_rests=0, weekly_rest_end_min=clock.now_min,
        reduced_weekly_week_end=reduced_end, debts=debts,
    )  # fmt: skip
    if not clock.calendar.is_fixed and clock.now_min - clock.week_from_min >= NEW_WEEK_AFTER:
        return after.new_week(clock.now_min)
    return after


def _repaid(clock: Clock, surplus: int) -> tuple[Debt, ...]:
    """Return the debts left when a rest is longer than it need be; each is paid in one block or not at all."""
    left = []
    for debt in clock.debts:
        if debt.minutes <= surplus:
            surplus -= debt.minutes
        else:
            left.append(debt)
    return tuple(left)


def _ferry_breach(clock: Clock) -> Breach | None:
    """Return what is wrong with a rest that was interrupted on a ferry (article 9)."""
    book = clock.book
    if clock.rest_stops > book["ferry_stops_count"]:
        return breach(clock, "ferry_stops_count", value=clock.rest_stops, after=0)
    if clock.rest_stop_min > book["ferry_stops"]:
        return breach(clock, "ferry_stops", value=clock.rest_stop_min, after=0)
    if clock.rest_min >= book["weekly_rest"] and clock.cabin_min < book["ferry_cabin"]:
        says = "a regular weekly rest may be interrupted only on a crossing of 8 h or more with a cabin"
        return breach(clock, "ferry_cabin", value=clock.cabin_min, after=0, says=says)
    if clock.rest_min < book["daily_rest"] and not clock.has_split:
        says = f"{hours_text(clock.rest_min)} of rest with a ferry's interruptions; only a regular daily rest may have them"
        return breach(clock, "daily_rest", value=clock.rest_min, after=0, says=says)
    return None


def close_day(clock: Clock) -> Breach | Clock:
    """Return the breach that a day's breaks show once its work is known to be over, else the clock as it is."""
    book, after = clock.book, clock.day_work_end_min - clock.now_min
    if "work_break_above_6h" in book and clock.day_worked > book["continuous_work"]:
        key = "work_break_above_9h" if clock.day_worked > book["long_work"] else "work_break_above_6h"
        if clock.inner_breaks < book[key]:
            had, work, due = (hours_text(minutes) for minutes in (clock.inner_breaks, clock.day_worked, book[key]))
            says = f"{had} of breaks within {work} of work; {due} are due"
            return _at(breach(clock, key, value=clock.inner_breaks, after=0, says=says), clock.now_min + after)
    if "rest_break" in book and clock.day_duty > book["rest_break_above"] and clock.inner_longest < book["rest_break"]:
        longest, duty, due = (hours_text(minutes) for minutes in (clock.inner_longest, clock.day_duty, book["rest_break"]))
        says = f"{longest} is the longest break inside a day of {duty}; {due} are due"
        return _at(breach(clock, "rest_break", value=clock.inner_longest, after=0, says=says), clock.now_min + after)
    return clock


def _at(found: Breach, minute: int) -> Breach:
    return replace(found, at_min=minute)


def still_fits_a_rest(clock: Clock) -> Breach | None:
    """Return the breach of a day that goes on after a rest too short to end it, when no daily rest fits any more."""
    if clock.now_min - clock.day_from_min > clock.spread_limit:
        return daily_rest_breach(clock, clock.now_min, 0)
    return None
