"""
The timetable of a crew's day: the legal schedule of a fixed sequence that ends first, or that takes the least duty.

Breaks are put where they serve; a wait that is known beforehand, with no duty on the driver, is a break when it is 15
minutes or longer; a shorter one is availability, or a mere pause under the Regulations of 1998, which know no
availability.  Breaks, waits and rests are part of the spread from start to end of duty, by which wages are paid.
Emergency departures are never planned.  A planning aid: the operator's transport manager, the tachograph and the law
decide.

The search is exact under two rules that are stricter than the law: a day of more than 10 h work stays clear of the night
altogether, and nothing before the first work or after the last counts as a break.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from planner.model.crews import WeekSoFar
from planner.rules.books import Book, CompanyLimits, tightened
from planner.rules.night_out import TwoDays, night_out
from planner.rules.timetable_kernel import STEP_DRIVES, STEP_MINUTES, STEP_WORKS, Ints, as_rows, search
from planner.rules.timetable_law import NEVER, break_lengths, day_law
from planner.rules.timetable_plain import Choice
from planner.rules.timetable_reasons import Refusal, over_a_limit, why_not
from planner.rules.timetable_shapes import Duty, LimitUse, NoTimetable, Slice, SliceKind, Step, Timetable
from planner.rules.timetable_slices import counters, slices, with_split_rests
from planner.rules.timetable_tidy import tidy

__all__ = [
    "Choice", "Duty", "LimitUse", "NoTimetable", "Slice", "SliceKind", "Step", "Timetable", "best_choice", "best_night_out",
    "tidied", "timetable",
]  # fmt: skip

NIGHTS_AT = ((0, 240), (1440, 1680), (2880, 3120))
END, DUTY = "end", "duty"


def timetable(
    steps: Sequence[Step],
    *,
    book: Book,
    week: WeekSoFar,
    earliest_min: int,
    latest_end_min: int,
    nights: int = 0,
    day_ends_by_min: int | None = None,
    limits: CompanyLimits | None = None,
    objective: str = END,
    nights_at: Sequence[tuple[int, int]] = NIGHTS_AT,
) -> Timetable | NoTimetable:
    """
    Return the best legal timetable of the steps, in their order, or why there is none.

    Parameters
    ----------
    steps
        What is to be done; at least one.
    book, limits
        The rules, and the company's own limits where they are stricter.
    week
        What the driver has done before; its driving counts to the week in which the whole run is held to fall.
    earliest_min, latest_end_min
        Duty starts at or after the one and ends at or before the other.
    nights
        1 lets a daily rest be taken on the way, when that makes the run legal or better; the shift of the second day
        is then bounded by ``latest_end_min`` alone.
    day_ends_by_min
        When duty ends at the latest if there is no night; None for ``latest_end_min``.
    objective
        ``"end"``: ends first and, among those, the least duty; ``"duty"``: the least duty and, among those, ends first.
    nights_at
        When it is night for the working-time rules, as minutes of the planning day: 00:00 to 04:00 of each day unless
        the clocks change.

    Returns
    -------
    Timetable or NoTimetable
        ``NoTimetable.short_by_min`` says by how many minutes the rule is missed, where that can be said.

    """
    book = tightened(book, limits)
    day_ends_by_min = latest_end_min if day_ends_by_min is None else day_ends_by_min
    found = best_choice(
        tuple(steps), book=book, week=week, earliest_min=earliest_min, latest_end_min=day_ends_by_min, objective=objective,
        nights_at=nights_at,
    )  # fmt: skip
    night = None
    if nights:
        night = best_night_out(
            steps, book=book, week=week, earliest_min=earliest_min, latest_end_min=latest_end_min, objective=objective,
            nights_at=nights_at,
        )  # fmt: skip
    if night is not None and (found is None or _is_better(night, found, objective)):
        return _written(steps, night.whole, book, week, nights=1)
    if found is None:
        refusal = over_a_limit(steps, book, week)
        if refusal is not None:
            return refusal
        task = _task(tuple(steps), book, week, earliest_min, day_ends_by_min, objective, tuple(nights_at))
        return why_not(task.steps, book, Refusal(task.widest(), earliest_min, day_ends_by_min, task.work))
    return _written(steps, tidied(tuple(steps), found, book, None, week), book, week, nights=0)


def tidied(
    steps: tuple[Step, ...], choice: Choice, book: Book, limits: CompanyLimits | None, week: WeekSoFar
) -> Choice:  # fmt: skip
    """Return the choice with its breaks off the last minutes of drives, by the law of the day that it begins."""
    if not any(pause.done_min for pause in choice.pauses):
        return choice
    book = tightened(book, limits)
    task = _task(steps, book, week, choice.start_min, choice.end_min, END, ())
    left = max(left for start, left in task.starts() if start <= choice.start_min)
    return tidy(steps, choice, day_law(book, driving=task.driving, work=task.work, reduced_rests_left=left))


def _written(steps: Sequence[Step], choice: Choice, book: Book, week: WeekSoFar, *, nights: int) -> Timetable:
    """Return the choice to the minute; a wait is a break, unless so long a one would begin a count afresh too early."""
    for as_meant in (False, True):
        parts = slices(steps, choice, has_availability="rest_break" not in book, as_meant=as_meant)
        parts = with_split_rests(parts, book)
        used = counters(parts, book, week)
        if all(item.used <= item.limit for item in used):
            break
    return Timetable(slices=parts, start_min=choice.start_min, end_min=choice.end_min, counters=used, nights=nights)


def best_choice(
    steps: Sequence[Step], *, book: Book, week: WeekSoFar, earliest_min: int, latest_end_min: int,
    limits: CompanyLimits | None = None, objective: str = END, nights_at: Sequence[tuple[int, int]] = NIGHTS_AT,
) -> Choice | None:  # fmt: skip
    """
    Return start, end and breaks of the best one-day timetable without writing it out, None where there is none.

    For a search that asks many times: start and end are those of :func:`timetable` without nights.
    """
    book = tightened(book, limits)
    if over_a_limit(steps, book, week) is not None:
        return None
    return _task(tuple(steps), book, week, earliest_min, latest_end_min, objective, tuple(nights_at)).best()


def best_night_out(
    steps: Sequence[Step], *, book: Book, week: WeekSoFar, earliest_min: int, latest_end_min: int,
    limits: CompanyLimits | None = None, objective: str = END, nights_at: Sequence[tuple[int, int]] = NIGHTS_AT,
) -> TwoDays | None:  # fmt: skip
    """Return the best two days with a night between without writing them out, None where there are none."""
    book = tightened(book, limits)

    def plan(todo: tuple[Step, ...], before: WeekSoFar, earliest: int, aim: str) -> Choice | None:
        return best_choice(
            todo, book=book, week=before, earliest_min=earliest, latest_end_min=latest_end_min, objective=aim, nights_at=nights_at
        )

    return night_out(steps, book, week, earliest_min=earliest_min, objective=objective, plan=plan, nights_at=nights_at)


def _is_better(night: TwoDays, found: Choice, objective: str) -> bool:
    if objective == END:
        return (night.end_min, night.duty_min) < (found.end_min, found.duty_min)
    return (night.duty_min, night.end_min) < (found.duty_min, found.end_min)


def _task(
    steps: tuple[Step, ...], book: Book, week: WeekSoFar, earliest_min: int, latest_end_min: int, objective: str,
    nights_at: tuple[tuple[int, int], ...],
) -> "_Task":  # fmt: skip
    rows = as_rows(steps)
    minutes = rows[:, STEP_MINUTES]
    driving, work = int(minutes @ rows[:, STEP_DRIVES]), int(minutes @ rows[:, STEP_WORKS])
    if "rest_break" in book:  # the Regulations of 1998 know no periods of availability: a crossing is work
        work = int(minutes.sum())
    return _Task(
        steps=steps, book=book, week=week, earliest_min=earliest_min, latest_end_min=latest_end_min, objective=objective,
        nights_at=nights_at, rows=rows, driving=driving, work=work,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class _Task:
    """One day's search, over the ways to spend the reduced rests that are left and to keep clear of the night."""

    steps: tuple[Step, ...]
    book: Book
    week: WeekSoFar
    earliest_min: int
    latest_end_min: int
    objective: str
    nights_at: tuple[tuple[int, int], ...]
    rows: Ints
    driving: int
    work: int

    def best(self) -> Choice | None:
        """Return the best schedule over all of them."""
        found = [choice for start, left in self.starts() for choice in self.within(start, left)]
        if self.objective == END:
            return min(found, key=lambda choice: (choice.end_min, choice.duty_min), default=None)
        return min(found, key=lambda choice: (choice.duty_min, choice.end_min), default=None)

    def starts(self) -> Iterator[tuple[int, int]]:
        """Yield (earliest start, reduced rests left after the one before duty)."""
        left = self.reduced_left
        last = self.week.last_duty_end_min
        if last is None:
            yield self.earliest_min, left
            return
        regular = max(self.earliest_min, last + self.book["daily_rest"])
        yield regular, left
        if left > 0:
            reduced = max(self.earliest_min, last + self.book["reduced_daily_rest"])
            if reduced < regular:
                yield reduced, left - 1

    @property
    def reduced_left(self) -> int:
        """How many reduced daily rests the driver may still take before the next weekly rest."""
        return max(0, self.book.get("reduced_rests_count", 0) - self.week.reduced_rests)

    def widest(self) -> tuple[int, int]:
        """Return (earliest start, reduced rests left) as wide as each may be, for telling what stands in the way."""
        return min(start for start, _ in self.starts()), max(left for _, left in self.starts())

    def within(self, start: int, left: int) -> Iterator[Choice]:
        """Yield the best schedule in each stretch of time that the night rule leaves."""
        law = day_law(self.book, driving=self.driving, work=self.work, reduced_rests_left=left)
        lengths = break_lengths(law, driving=self.driving, work=self.work)
        for opens, closes in self.stretches():
            if start >= closes or self.latest_end_min <= opens:
                continue
            choice = search(
                self.steps, law, lengths, earliest_min=max(start, opens), latest_end_min=min(self.latest_end_min, closes),
                objective=self.objective, rows=self.rows,
            )  # fmt: skip
            if choice is not None:
                yield choice

    def stretches(self) -> Iterator[tuple[int, int]]:
        """Yield the time between nights when the day holds more work than the night rule allows, else all time."""
        latest = self.latest_end_min
        if self.week.weekly_rest_ended_min is not None:
            latest = min(latest, self.week.weekly_rest_ended_min + self.book["between_weekly_rests"])
        if "night_work" not in self.book or self.work <= self.book["night_work"]:
            yield -NEVER, latest
            return
        edges = [-NEVER, *(minute for night in self.nights_at for minute in night), NEVER]
        for opens, closes in zip(edges[::2], edges[1::2], strict=True):
            yield opens, min(closes, latest)
