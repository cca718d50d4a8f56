"""Slices and counters: a chosen schedule written out to the minute, and what it uses of each limit."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby, pairwise

from planner.model.crews import WeekSoFar
from planner.rules.books import Book
from planner.rules.timetable_plain import Choice, Pause
from planner.rules.timetable_shapes import Duty, LimitUse, Slice, SliceKind, Step

SHORTEST_BREAK = 15  # below it a wait is availability (Reg. (EC) 561/2006 art. 7, as DVSA's guide reads it)
SHORTEST_REST = 180
SHORTEST_NIGHT = 540
SPREAD = "from start to end of duty, so that the daily rest fits"
WORK = (SliceKind.DRIVE, SliceKind.OTHER, SliceKind.RIDE)
PAUSE = (SliceKind.BREAK, SliceKind.REST)
KIND_OF = {duty: SliceKind(duty.value) for duty in Duty}


def slices(steps: Sequence[Step], choice: Choice, *, has_availability: bool = True, as_meant: bool = False) -> tuple[Slice, ...]:
    """
    Return the schedule as slices that touch, each step as early as its breaks and window let it.

    A wait is a break as long as it lasts, unless ``as_meant``: then only the break that was chosen is, and the wait before
    it is availability.  For once 45 minutes are full the count begins afresh, which a first part of 15 is not to do.

    A wait of less than 15 minutes is availability where the rules know it, else a break that serves nothing.
    """
    before = {pause.step: pause.minutes for pause in choice.pauses if not pause.done_min}
    inside: dict[int, list[Pause]] = {}
    for pause in choice.pauses:
        if pause.done_min:
            inside.setdefault(pause.step, []).append(pause)
    made: list[Slice] = []
    waits: list[int] = []
    now = choice.start_min
    for number, step in enumerate(steps):
        idle = meant = before.get(number, 0)
        if step.opens_min is not None:
            idle = max(idle, step.opens_min - now)
        if as_meant and meant < idle:
            waits.append(len(made))
            now, idle = _idle(made, now, idle - meant), meant
        now = _idle(made, now, idle)
        done = 0
        for pause in inside.get(number, ()):
            now = _do(made, number, step, now, pause.done_min - done)
            now = _idle(made, now, pause.minutes)
            done = pause.done_min
        now = _do(made, number, step, now, step.minutes - done)
    return tuple(_named(made, steps, frozenset(waits), has_availability=has_availability))


def _idle(made: list[Slice], now: int, minutes: int) -> int:
    if minutes > 0:
        made.append(Slice(kind=SliceKind.BREAK, start_min=now, end_min=now + minutes, step=None))
    return now + max(0, minutes)


def _do(made: list[Slice], number: int, step: Step, now: int, minutes: int) -> int:
    if minutes or not step.minutes:  # a leg that is all ferry, or work of no minutes, still has its time
        made.append(Slice(kind=KIND_OF[step.duty], start_min=now, end_min=now + minutes, step=number))
    return now + minutes


def _named(made: list[Slice], steps: Sequence[Step], waits: frozenset[int], *, has_availability: bool) -> Iterator[Slice]:
    """Yield the slices with each pause called what its whole length makes it; waits, breaks and ferries that touch are one."""

    def is_pause(pair: tuple[int, Slice]) -> bool:
        return pair[0] not in waits and (pair[1].step is None or steps[pair[1].step].is_ferry)

    for pauses, group in groupby(enumerate(made), is_pause):
        parts = [part for _, part in group]
        if not pauses:
            yield from (replace(part, kind=SliceKind.AVAILABLE) if part.step is None else part for part in parts)
            continue
        minutes = parts[-1].end_min - parts[0].start_min
        kind = SliceKind.REST if minutes >= SHORTEST_NIGHT else SliceKind.BREAK
        for part in parts:
            is_waiting = minutes < SHORTEST_BREAK and (has_availability or part.step is not None)
            yield replace(part, kind=SliceKind.AVAILABLE if is_waiting else kind) if kind is not part.kind or is_waiting else part


def with_split_rests(parts: Sequence[Slice], book: Book) -> tuple[Slice, ...]:
    """
    Return the slices with each pause of three hours called a rest on days too long for a regular one after them.

    Such a day stands on a split daily rest (article 4(g)); the other days stay as they are.
    """
    if "split_rest_first" not in book:
        return tuple(parts)
    regular, made = book["rest_period"] - book["daily_rest"], []
    for is_night, group in groupby(parts, lambda part: part.kind is SliceKind.REST and part.minutes >= SHORTEST_NIGHT):
        day = list(group)
        if not is_night and day[-1].end_min - day[0].start_min > regular:
            day = [part for pause in _pauses(day) for part in pause]
        made += day
    return tuple(made)


def _pauses(day: Sequence[Slice]) -> Iterator[list[Slice]]:
    """Yield the slices of a day, those of a pause together and, when it is long, as rest."""
    for is_pause, group in groupby(day, lambda part: part.kind in PAUSE):
        parts = list(group)
        is_long = is_pause and parts[-1].end_min - parts[0].start_min >= SHORTEST_REST
        yield [replace(part, kind=SliceKind.REST) for part in parts] if is_long else parts


def counters(parts: Sequence[Slice], book: Book, week: WeekSoFar) -> tuple[LimitUse, ...]:
    """Return what the slices use of each limit of the book, the week before them included."""
    days = _days(_joined(parts))
    last = days[-1]
    made: list[LimitUse] = []

    def use(key: str, used: int, limit: int | None = None, says: str = "") -> None:
        if key in book:
            row = book.rows[key]
            limit = row.limit if limit is None else limit
            is_count = key.endswith("_count")
            made.append(LimitUse(rule=says or row.says, used=used, limit=limit, source=row.source, is_count=is_count))

    driving = [_total(day, SliceKind.DRIVE) for day in days]
    all_driving, all_work = sum(driving), _total(parts, *WORK)
    long_days = sum(minutes > book["daily_driving"] for minutes in driving) if "extended_driving" in book else 0
    if long_days:
        use("extended_driving", max(driving))
        use("extended_days_count", week.extended_days + long_days)
    else:
        use("daily_driving", max(driving))
    if "driving_between_breaks" in book:
        use("driving_between_breaks", max(_longest_driving(day, book) for day in days))
    use("weekly_driving", week.driven_week_min + all_driving)
    use("fortnight_driving", week.driven_last_week_min + week.driven_week_min + all_driving)
    use("daily_duty", max(_total(day, *WORK, SliceKind.AVAILABLE) for day in days))
    use("continuous_work", max(_longest_work(day, book) for day in days) if "continuous_work" in book else 0)
    use("weekly_work", week.worked_week_min + all_work)
    spread = max(day[-1].end_min - day[0].start_min for day in days)
    _rests(use, book, week, days, spread)
    if week.weekly_rest_ended_min is not None:
        use("between_weekly_rests", last[-1].end_min - week.weekly_rest_ended_min)
    return tuple(made)


def _rests(use: Callable[..., None], book: Book, week: WeekSoFar, days: Sequence[Sequence[Slice]], spread: int) -> None:
    """Count the spread against the rest that must follow it, and the reduced rests that this uses."""
    regular = book["rest_period"] - book["daily_rest"]
    if "reduced_daily_rest" not in book:
        use("daily_rest", spread, regular, SPREAD)
        return
    widest = book["rest_period"] - book["reduced_daily_rest"]
    use("daily_rest", spread, regular if spread <= regular else widest, SPREAD)
    reduced = sum(_is_reduced(day, regular) for day in days)
    reduced += sum(after[0].start_min - before[-1].end_min < book["daily_rest"] and not _is_reduced(before, regular)
                   for before, after in pairwise(days))  # fmt: skip
    if week.last_duty_end_min is not None:
        reduced += days[0][0].start_min - week.last_duty_end_min < book["daily_rest"]
    if week.reduced_rests + reduced:
        use("reduced_rests_count", week.reduced_rests + reduced)


def _is_reduced(day: Sequence[Slice], regular: int) -> bool:
    spread = day[-1].end_min - day[0].start_min
    return spread > regular and not any(_is_long_pause(part) for part in day)


def _is_long_pause(part: Slice) -> bool:
    return part.kind in PAUSE and part.minutes >= SHORTEST_REST


def _days(parts: Sequence[Slice]) -> tuple[tuple[Slice, ...], ...]:
    """Return the slices cut at daily rests."""
    days: list[list[Slice]] = [[]]
    for part in parts:
        if part.kind is SliceKind.REST and part.minutes >= SHORTEST_NIGHT:
            days.append([])
        else:
            days[-1].append(part)
    return tuple(tuple(day) for day in days if day)


def _joined(parts: Sequence[Slice]) -> list[Slice]:
    """Return the slices with pauses that touch made one."""
    made: list[Slice] = []
    for part in parts:
        if part.kind in PAUSE and made and made[-1].kind in PAUSE:
            kind = SliceKind.REST if SliceKind.REST in (part.kind, made[-1].kind) else SliceKind.BREAK
            made[-1] = replace(made[-1], kind=kind, end_min=part.end_min)
        else:
            made.append(part)
    return made


def _total(parts: Sequence[Slice], *kinds: SliceKind) -> int:
    return sum(part.minutes for part in parts if part.kind in kinds)


def _longest_work(day: Sequence[Slice], book: Book) -> int:
    longest = now = 0
    for part in day:
        if part.kind in WORK:
            now += part.minutes
            longest = max(longest, now)
        elif part.kind in PAUSE and part.minutes >= book["work_break_part"]:
            now = 0
    return longest


def _longest_driving(day: Sequence[Slice], book: Book) -> int:
    """Return the most driving between full breaks; the two parts of a split one count together."""
    longest = now = 0
    has_first = False
    first, second = book.get("first_break_part", 0), book.get("second_break_part", 0)
    for part in day:
        if part.kind is SliceKind.DRIVE:
            now += part.minutes
            longest = max(longest, now)
        elif part.kind in PAUSE:
            if part.minutes >= book["full_break"] or (first and has_first and part.minutes >= second):
                now, has_first = 0, False
            elif first and part.minutes >= first and now:
                has_first = True
    return longest
