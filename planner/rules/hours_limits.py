"""The limits on what is being done: for each rule, after how many minutes of an activity it would be broken."""

from collections.abc import Iterator

from planner.rules.hours_state import Clock
from planner.rules.hours_words import Breach, Doing
from planner.units import MINUTES_A_DAY, hours_text

Found = tuple[int, Breach]  # minutes that are still legal, and what is broken after them


def first_breach(clock: Clock, doing: Doing, minutes: int) -> Breach | None:
    """Return the breach that comes first within so many minutes of an activity, None when there is none."""
    found = [item for item in _all(clock, doing, minutes) if item[0] < minutes]
    return min(found, key=lambda item: item[0], default=(0, None))[1]


def breach(clock: Clock, key: str, *, value: int, after: int, says: str = "", limit: int | None = None) -> Breach:
    """Return a breach of one row of the book, ``after`` minutes from now."""
    row = clock.book.rows[key]
    limit = row.limit if limit is None else limit
    shown = str if key.endswith("_count") else hours_text
    says = says or f"{shown(value)} of {row.says}; the limit is {shown(limit)}"
    name = key.removesuffix("_count").replace("_", " ")
    return Breach(rule=name, says=says + ".", limit=limit, value=value, source=row.source, at_min=clock.now_min + max(0, after))


def _all(clock: Clock, doing: Doing, minutes: int) -> Iterator[Found]:
    if doing is Doing.DRIVE:
        yield from _driving(clock, minutes)
    if doing.is_work:
        yield from _work(clock, minutes)
        yield from _night(clock, minutes)
    if doing is not Doing.BREAK and clock.rest_from_min is None:
        yield from _duty(clock, doing, minutes)
    if clock.rest_from_min is None:
        yield from _rests(clock, minutes)


def _at_most(clock: Clock, key: str, used: int, minutes: int, limit: int | None = None) -> Iterator[Found]:
    if key in clock.book:
        room = (clock.book[key] if limit is None else limit) - used
        yield max(0, room), breach(clock, key, value=used + minutes, after=room, limit=limit)


def _driving(clock: Clock, minutes: int) -> Iterator[Found]:
    book = clock.book
    yield from _at_most(clock, "driving_between_breaks", clock.driven, minutes)
    if "extended_driving" not in book:
        yield from _at_most(clock, "daily_driving", clock.day_driven, minutes)
    else:
        is_long = clock.day_driven > book["daily_driving"]
        if not is_long and clock.extended_used >= book["extended_days_count"]:
            room = book["daily_driving"] - clock.day_driven
            yield room, breach(clock, "extended_days_count", value=clock.extended_used + 1, after=room)
        yield from _at_most(clock, "extended_driving", clock.day_driven, minutes)
    yield from _at_most(clock, "weekly_driving", clock.week_driven, minutes)
    if "fortnight_driving" in book:
        yield from _at_most(clock, "fortnight_driving", clock.last_week_driven + clock.week_driven, minutes)


def _work(clock: Clock, minutes: int) -> Iterator[Found]:
    yield from _at_most(clock, "continuous_work", clock.worked, minutes)
    yield from _at_most(clock, "weekly_work", clock.week_worked, minutes)


def _night(clock: Clock, minutes: int) -> Iterator[Found]:
    """Work in any 24 hours of which some is at night."""
    if "night_work" not in clock.book or clock.calendar.midnight is None:
        return
    limit = clock.book["night_work"]
    parts = (*clock.stretches, (clock.now_min, clock.now_min + minutes))
    if sum(end - start for start, end in parts) <= limit:
        return
    for after in range(minutes):
        end = clock.now_min + after + 1
        inside = [(max(start, end - MINUTES_A_DAY), min(stop, end)) for start, stop in parts if stop > end - MINUTES_A_DAY]
        worked = sum(max(0, stop - start) for start, stop in inside)
        if worked > limit and any(clock.calendar.night_minutes(start, stop) for start, stop in inside if stop > start):
            yield after, breach(clock, "night_work", value=worked, after=after)
            return


def _duty(clock: Clock, doing: Doing, minutes: int) -> Iterator[Found]:
    """The domestic day: duty on a day with driving, which a week of at most four hours' driving a day is spared."""
    book = clock.book
    if clock.day_light or doing is Doing.LIGHT:
        yield from _mixed(clock, doing, minutes)
    if "daily_duty" not in book:
        return
    room = max(0, book["daily_duty"] - clock.day_duty)
    if "duty_exempt_driving" not in book:
        if clock.day_driven or doing is Doing.DRIVE or book.rows["daily_duty"].is_company:
            yield room, breach(clock, "daily_duty", value=clock.day_duty + minutes, after=room)
        return
    has_driving = clock.day_driven > 0 or doing is Doing.DRIVE
    long_duty = 0 if clock.long_duty else room if has_driving else None
    drive_room = max(0, book["duty_exempt_driving"] - clock.day_driven)
    long_drive = 0 if clock.has_long_drive else drive_room if doing is Doing.DRIVE else None
    if long_duty is not None and long_drive is not None:
        after = max(long_duty, long_drive)
        yield after, breach(clock, "daily_duty", value=max(clock.long_duty, clock.day_duty + minutes), after=after)


def _mixed(clock: Clock, doing: Doing, minutes: int) -> Iterator[Found]:
    """A day with lighter vehicles too: all driving and all duty count to the domestic limits (GOV.UK, mixed driving)."""
    source = "Transport Act 1968 s. 96; GOV.UK, driving under both EU and GB domestic rules"
    is_driving = doing in (Doing.DRIVE, Doing.LIGHT)
    totals = [("all driving in a day that mixes vehicles", 600, clock.day_driven + clock.day_light, is_driving),
              ("duty in a day that mixes vehicles", 660, clock.day_duty, True)]  # fmt: skip
    for rule, limit, used, counts in totals:
        if counts:
            room = max(0, limit - used)
            says = f"{hours_text(used + minutes)} of {rule}; the limit is {hours_text(limit)}."
            at_min = clock.now_min + room
            yield room, Breach(rule=rule, says=says, limit=limit, value=used + minutes, source=source, at_min=at_min)


def _rests(clock: Clock, minutes: int) -> Iterator[Found]:
    """Rests that could no longer be taken in time."""
    room = clock.day_from_min + clock.spread_limit - clock.now_min
    yield max(0, room), daily_rest_breach(clock, clock.now_min + minutes, room)
    room = clock.weekly_rest_end_min + clock.book["between_weekly_rests"] - clock.now_min
    value = clock.now_min + minutes - clock.weekly_rest_end_min
    yield max(0, room), breach(clock, "between_weekly_rests", value=value, after=room)
    for debt in clock.debts:
        if debt.due_min is not None:
            room = debt.due_min - clock.now_min
            says = f"{hours_text(debt.minutes)} cut from a weekly rest had to be made good by now"
            yield max(0, room), breach(clock, "compensation_weeks", value=debt.minutes, after=room, says=says)


def daily_rest_breach(clock: Clock, now_min: int, after: int) -> Breach:
    """Return the breach of a day that leaves too little time for its daily rest."""
    book, fits = clock.book, max(0, clock.rest_period_min - (now_min - clock.day_from_min))
    if "reduced_daily_rest" in book and not clock.reduced_left and not clock.has_split and fits >= book["reduced_daily_rest"]:
        return breach(clock, "reduced_rests_count", value=clock.reduced_rests + 1, after=after)
    least = clock.rest_period_min - clock.spread_limit
    hours = clock.rest_period_min // 60
    says = f"{hours_text(fits)} are left for rest within {hours} h of the start of duty; {hours_text(least)} are needed"
    return breach(clock, "daily_rest", value=fits, after=after, says=says, limit=least)
