"""
The timetable of a crew's day: the legal schedule of a fixed sequence that ends first, or that takes the least duty.

Breaks are put where they serve; a wait that is known beforehand, with no duty on the driver, is a break when it is 15 minutes
or longer, and availability below that.  Breaks, waits and rests are part of the spread from start to end of duty, by
which wages are paid.  Emergency departures are never planned.  A planning aid: the operator's transport manager, the
tachograph and the law decide.

The search is exact under two rules that are stricter than the law: a day of more than 10 h work stays clear of the night
altogether, and nothing before the first work or after the last counts as a break.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from planner.model.crews import WeekSoFar
from planner.rules.books import Book, CompanyLimits, tightened
from planner.rules.timetable_law import NEVER, break_lengths, day_law
from planner.rules.timetable_plain import Choice, search
from planner.rules.timetable_reasons import Refusal, over_a_limit, why_not
from planner.rules.timetable_shapes import Duty, LimitUse, NoTimetable, Slice, SliceKind, Step, Timetable
from planner.rules.timetable_slices import counters, slices

__all__ = ["Duty", "LimitUse", "NoTimetable", "Slice", "SliceKind", "Step", "Timetable", "timetable"]

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
    del nights  # a rest on the way is not laid out yet
    refusal = over_a_limit(steps, book, week)
    if refusal is not None:
        return refusal
    task = _Task(tuple(steps), book, week, earliest_min, latest_end_min, objective, tuple(nights_at))
    found = task.best()
    if found is None:
        return why_not(task.steps, task.book, Refusal(task.widest(), earliest_min, latest_end_min, task.work))
    parts = slices(task.steps, found, split_from_spread=task.regular_spread)
    return Timetable(
        slices=parts, start_min=found.start_min, end_min=found.end_min, counters=counters(parts, book, week),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Task:
    """One day's search, over the ways to spend the reduced rests that are left and to keep clear of the night."""

    steps: tuple[Step, ...]
    book: Book
    week: WeekSoFar
    earliest_min: int
    latest_end_min: int
    objective: str
    nights_at: tuple[tuple[int, int], ...]

    @property
    def driving(self) -> int:
        """Minutes at the wheel."""
        return sum(step.minutes for step in self.steps if step.duty is Duty.DRIVE)

    @property
    def work(self) -> int:
        """Minutes of work, driving and rides included; under the 1998 Regulations a crossing made for the job as well."""
        counts_crossings = "rest_break" in self.book  # those Regulations know no periods of availability
        return sum(step.minutes for step in self.steps if step.duty.is_work or counts_crossings)

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

    @property
    def regular_spread(self) -> int | None:
        """Spread above which a day without reduced rests left stands on a split rest; None where that cannot be."""
        if self.reduced_left or "split_rest_first" not in self.book:
            return None
        return self.book["rest_period"] - self.book["daily_rest"]

    def widest(self) -> tuple[int, int]:
        """Return (earliest start, reduced rests left) as wide as each may be, for telling what stands in the way."""
        return min(start for start, _ in self.starts()), max(left for _, left in self.starts())

    def within(self, start: int, left: int) -> Iterator[Choice]:
        """Yield the best schedule in each stretch of time that the night rule leaves."""
        law = day_law(self.book, driving=self.driving, work=self.work, reduced_rests_left=left)
        lengths = break_lengths(law, driving=self.driving, work=self.work)
        for opens, closes in self.stretches():
            choice = search(
                self.steps, law, lengths, earliest_min=max(start, opens), latest_end_min=min(self.latest_end_min, closes),
                objective=self.objective,
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
