"""
The hours clock: what a driver has done since the last rests, minute by minute, against one rule book.

Theory of operation.  A clock is a value; :func:`step` takes it, an activity and minutes to the next clock or to the first breach.
Breaks and rests are *settled* when something else begins, since only then is their length known: breaks that touch are one, and
a rest is a daily rest, a weekly rest, the first part of a split one, or a mere break by its length.  Time on a break is not rest:
only what is called rest is.  :func:`finish` settles what is open at the end.

A day of these rules runs from the end of one daily rest to the next; the law's 24 hours run from its start.  Fixed weeks run
from Monday 00:00; where the calendar is unknown a week begins where a weekly rest ends (:mod:`planner.rules.hours_calendar`).
Emergency departures (article 12) are not known here.  A planning aid: the tachograph, the operator's transport manager
and the law decide.
"""

from dataclasses import replace

from planner.model.crews import WeekSoFar
from planner.rules.books import Book
from planner.rules.hours_calendar import Calendar
from planner.rules.hours_limits import first_breach
from planner.rules.hours_rest import close_day, settle_pause, settle_rest, still_fits_a_rest
from planner.rules.hours_state import Clock, Debt
from planner.rules.hours_words import Breach, Doing

__all__ = ["Breach", "Clock", "Doing", "finish", "new_clock", "step"]


def new_clock(
    book: Book, *, week: WeekSoFar | None = None, drivers: int = 1, calendar: Calendar | None = None, now_min: int = 0
) -> Clock:
    """
    Return a clock that stands at the start of a duty.

    Without ``week`` a full weekly rest has just ended.  ``now_min`` and the minutes in ``week`` count from the same midnight;
    ``calendar`` says what the time is then (None: unknown).
    """
    calendar = calendar or Calendar()
    week = week or WeekSoFar()
    debts = (Debt(week.rest_owed_min, None),) if week.rest_owed_min else ()
    reduced = week.reduced_rests
    if week.last_duty_end_min is not None and now_min - week.last_duty_end_min < book["daily_rest"]:
        reduced += 1
    return Clock(
        book=book,
        drivers=drivers,
        calendar=calendar,
        now_min=now_min,
        day_from_min=now_min,
        weekly_rest_end_min=now_min if week.weekly_rest_ended_min is None else week.weekly_rest_ended_min,
        week_from_min=calendar.week_start(now_min),
        week_driven=week.driven_week_min,
        last_week_driven=week.driven_last_week_min,
        week_worked=week.worked_week_min,
        week_extended=week.extended_days,
        reduced_rests=reduced,
        debts=debts,
    )


def step(clock: Clock, doing: Doing, minutes: int) -> Clock | Breach:
    """
    Return the clock after so many more minutes of an activity, or the first breach on the way.

    Raises
    ------
    ValueError
        If ``minutes`` is negative.

    """
    if minutes < 0:
        raise ValueError(f"Expected minutes >= 0, got {minutes}.")
    left = minutes
    while left:
        ready = _ready(clock, doing)
        if isinstance(ready, Breach):
            return ready
        part = min(left, ready.week_end_min - ready.now_min) if ready.week_end_min > ready.now_min else left
        breach = None if doing.is_rest else first_breach(ready, doing, part)
        if breach is not None:
            return breach
        clock = _passed(ready, doing, part)
        left -= part
    return clock


def finish(clock: Clock, *, is_resting_on: bool = False) -> Clock | Breach:
    """
    Return the clock at the end of the record, its last day closed, or the breach that this shows.

    The last rest is taken to end here, unless ``is_resting_on``.
    """
    resting = clock.rest_min > 0
    closed = close_day(clock)
    if isinstance(closed, Breach):
        return closed
    if is_resting_on:
        return settle_pause(clock, is_work=False)
    settled = settle_rest(clock) if resting else clock
    if isinstance(settled, Breach):
        return settled
    if resting and settled.day_from_min != settled.now_min:
        breach = still_fits_a_rest(settled)
        if breach is not None:
            return breach
    return settle_pause(settled, is_work=False)


def _ready(clock: Clock, doing: Doing) -> Clock | Breach:
    """Return the clock with whatever ends when this activity begins settled."""
    if clock.week_end_min <= clock.now_min:
        clock = clock.new_week(clock.week_end_min)
    if doing.is_rest:
        return clock if clock.rest_from_min is not None else replace(
            clock, rest_from_min=clock.now_min, rest_week_end_min=clock.week_end_min
        )  # fmt: skip
    if doing is Doing.EMBARK and clock.rest_from_min is not None and clock.rest_min:
        return settle_pause(clock, is_work=True)
    if clock.rest_from_min is not None:
        settled = settle_rest(clock)
        if isinstance(settled, Breach):
            return settled
        clock = settled
    return clock if doing is Doing.BREAK else settle_pause(clock, is_work=doing.is_work)


def _passed(clock: Clock, doing: Doing, minutes: int) -> Clock:
    """Return the clock after legal minutes."""
    now = clock.now_min + minutes
    if doing.is_rest:
        return replace(
            clock, now_min=now, rest_min=clock.rest_min + minutes, pause_min=clock.pause_min + minutes,
            cabin_min=max(clock.cabin_min, minutes if doing is Doing.CABIN else 0), is_stopped=False,
        )  # fmt: skip
    if doing is Doing.BREAK:
        return replace(clock, now_min=now, pause_min=clock.pause_min + minutes)
    if not doing.is_work:
        return replace(clock, now_min=now, day_duty=clock.day_duty + minutes)
    drives = minutes if doing is Doing.DRIVE else 0
    light = minutes if doing is Doing.LIGHT else 0
    before, after = clock.day_driven, clock.day_driven + drives
    is_ferry_stop = doing is Doing.EMBARK and clock.rest_from_min is not None
    extended = before <= clock.book["daily_driving"] < after and "extended_driving" in clock.book
    is_old_week = clock.day_from_min < clock.week_from_min
    return replace(
        clock,
        now_min=now,
        driven=clock.driven + drives,
        worked=clock.worked + minutes,
        day_driven=after,
        day_light=clock.day_light + light,
        day_worked=clock.day_worked + minutes,
        day_duty=clock.day_duty + minutes,
        day_work_end_min=now,
        week_driven=clock.week_driven + drives,
        week_worked=clock.week_worked + minutes,
        week_extended=clock.week_extended + (extended and not is_old_week),
        last_week_extended=clock.last_week_extended + (extended and is_old_week),
        has_long_drive=clock.has_long_drive or after + clock.day_light + light > clock.book.get("duty_exempt_driving", 1 << 40),
        long_duty=max(clock.long_duty, _long_duty(clock, after, minutes)),
        stretches=(*clock.recent_stretches, (clock.now_min, now)),
        rest_stops=clock.rest_stops + (is_ferry_stop and not clock.is_stopped),
        rest_stop_min=clock.rest_stop_min + (minutes if is_ferry_stop else 0),
        is_stopped=is_ferry_stop,
    )


def _long_duty(clock: Clock, driven: int, minutes: int) -> int:
    """Return the duty of a day with driving when it passes the limit, else 0."""
    duty = clock.day_duty + minutes
    return duty if driven and duty > clock.book.get("daily_duty", 1 << 40) else 0
