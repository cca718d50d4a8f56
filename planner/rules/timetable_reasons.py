"""Why no timetable is legal: the first rule in the way, told in a sentence, with the minutes that would mend it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from planner.model.crews import WeekSoFar
from planner.rules import timetable_law as row
from planner.rules.books import Book
from planner.rules.timetable_kernel import search
from planner.rules.timetable_law import NEVER, break_lengths, day_law
from planner.rules.timetable_plain import Choice
from planner.rules.timetable_shapes import Duty, NoTimetable, Step
from planner.rules.timetable_slices import SHORTEST_BREAK
from planner.units import hours_text


@dataclass(frozen=True, slots=True)
class Refusal:
    """What was asked, as widely as the week allows: (earliest start, reduced rests left), the shift, minutes of work."""

    widest: tuple[int, int]
    earliest_min: int
    latest_end_min: int
    work: int


def over_a_limit(steps: Sequence[Step], book: Book, week: WeekSoFar) -> NoTimetable | None:
    """Return the limit that no timetable could keep, since the sequence alone passes it; None if there is none."""
    if not steps:
        return NoTimetable(rule="nothing to do", says="There is nothing to put in a timetable.")
    driving = work = waiting = 0
    for step in steps:
        if step.duty is not Duty.AVAILABLE:
            work += step.minutes
            driving += step.minutes if step.duty is Duty.DRIVE else 0
        elif not step.is_ferry or step.minutes < SHORTEST_BREAK:
            waiting += step.minutes
    duty = work + waiting
    may_extend = "extended_driving" in book and week.extended_days < book["extended_days_count"]
    daily = "extended_driving" if may_extend else "daily_driving"
    used = [(daily, driving), ("weekly_driving", week.driven_week_min + driving),
            ("fortnight_driving", week.driven_last_week_min + week.driven_week_min + driving),
            ("weekly_work", week.worked_week_min + work)]  # fmt: skip
    if driving or ("daily_duty" in book and book.rows["daily_duty"].is_company):
        used.append(("daily_duty", duty))
    for key, minutes in used:
        if key in book and minutes > book[key]:
            return _over(book, key, minutes)
    if week.duty_days >= 6:
        return NoTimetable(
            rule="weekly rest", says=f"{week.duty_days} days of duty since the last weekly rest: a weekly rest is due first.",
            source=book.rows["between_weekly_rests"].source,
        )  # fmt: skip
    return None


def _over(book: Book, key: str, minutes: int) -> NoTimetable:
    limit = book.rows[key]
    says = f"{hours_text(minutes)} of {limit.says}: the limit is {hours_text(limit.limit)}."
    return NoTimetable(rule=key.replace("_", " "), says=says, short_by_min=minutes - limit.limit, source=limit.source)


def why_not(steps: Sequence[Step], book: Book, asked: Refusal) -> NoTimetable:
    """Return what stands in the way of a sequence that passes no limit by itself, the plainest reason first."""
    start, left = asked.widest
    late = _late(steps, start)
    if late is not None:
        return late
    driving = sum(step.minutes for step in steps if step.duty is Duty.DRIVE)
    law = day_law(book, driving=driving, work=asked.work, reduced_rests_left=left)
    spread = int(max(law[row.SPREAD], law[row.SPREAD_SPLIT]))
    free = law.copy()
    free[row.SPREAD] = NEVER
    free[row.SPLIT_REST] = free[row.SPREAD_SPLIT] = 0
    lengths = break_lengths(free, driving=driving, work=asked.work)

    def soonest(todo: Sequence[Step], latest: int, objective: str) -> Choice | None:
        return search(todo, free, lengths, earliest_min=start, latest_end_min=latest, objective=objective)

    first = soonest(steps, NEVER, "end")
    if first is None:
        return _breaks_in_the_way(steps, book, lambda todo: soonest(todo, NEVER, "end") is not None)
    if first.end_min > asked.latest_end_min:
        over = first.end_min - asked.latest_end_min
        return NoTimetable(rule="shift", says=f"Duty would end {hours_text(over)} after the shift does.", short_by_min=over)
    shortest = soonest(steps, asked.latest_end_min, "duty")
    if shortest is not None and shortest.duty_min > spread:
        over = shortest.duty_min - spread
        rest = book.rows["daily_rest"]
        says = f"Duty would last {hours_text(shortest.duty_min)} from start to end; the daily rest leaves {hours_text(spread)}."
        return NoTimetable(rule="daily rest", says=says, short_by_min=over, source=rest.source)
    if "night_work" in book and asked.work > book["night_work"]:
        limit = book.rows["night_work"]
        says = f"{hours_text(asked.work)} of work would touch the night, where {hours_text(limit.limit)} are allowed."
        return NoTimetable(rule="night work", says=says, source=limit.source)
    weekly = book.rows["between_weekly_rests"]
    return NoTimetable(rule="weekly rest", says="The weekly rest must start before this duty could end.", source=weekly.source)


def _late(steps: Sequence[Step], start: int) -> NoTimetable | None:
    """Return the first window that is missed even without any break, starting as early as may be."""
    now = start
    for number, step in enumerate(steps):
        now = max(now, step.opens_min if step.opens_min is not None else now)
        if step.closes_min is not None and now >= step.closes_min:
            late = now - step.closes_min + 1
            says = f"Work would start {hours_text(late)} after its window's last minute, breaks aside."
            return NoTimetable(rule="window", says=says, short_by_min=late, step=number)
        now += step.minutes
    return None


def _breaks_in_the_way(steps: Sequence[Step], book: Book, fits: Callable[[list[Step]], bool]) -> NoTimetable:
    """Return by how many minutes windows must stay open longer for the breaks to fit, if that is what is needed."""
    source = book.rows["driving_between_breaks" if "driving_between_breaks" in book else "rest_break"].source

    def longer(minutes: int) -> list[Step]:
        return [replace(step, closes_min=None if step.closes_min is None else step.closes_min + minutes) for step in steps]

    if not fits(longer(1440)):
        says = "A step is longer than may be done without a break and cannot be split."
        return NoTimetable(rule="break", says=says, source=source)
    low, high = 0, 1440
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(longer(middle)) else (middle, high)
    says = f"With the breaks that are due a window is missed by {hours_text(high)}."
    return NoTimetable(rule="window after breaks", says=says, short_by_min=high, source=source)
