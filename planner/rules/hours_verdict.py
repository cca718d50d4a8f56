"""The verdict on a record of hours: legal or not, the first breach and where, and the counters at that minute."""

from collections.abc import Sequence
from dataclasses import dataclass

from planner.model.crews import WeekSoFar
from planner.rules.books import PLANNING_AID, Book
from planner.rules.hours_calendar import Calendar
from planner.rules.hours_clock import Clock, finish, new_clock, step
from planner.rules.hours_counters import hours_counters
from planner.rules.hours_words import Breach, Doing
from planner.rules.timetable_shapes import LimitUse


@dataclass(frozen=True, kw_only=True, slots=True)
class Verdict:
    """What the clock says of a record; ``breach_at`` is the index of the activity in which the first breach lies."""

    book: Book
    first_breach: Breach | None
    breach_at: int | None
    counters: tuple[LimitUse, ...]
    notes: tuple[str, ...]

    @property
    def is_legal(self) -> bool:
        """Whether no rule is broken."""
        return self.first_breach is None


def judge(
    activities: Sequence[tuple[Doing, int]], *, book: Book, week: WeekSoFar | None = None, calendar: Calendar | None = None,
    drivers: int = 1, is_resting_on: bool = False,
) -> Verdict:  # fmt: skip
    """
    Return the verdict on activities in their order, each with its minutes, from minute 0 of the clock on.

    The counters are those before the activity that breaks a rule, or those at the end.
    """
    clock = new_clock(book, week=week, calendar=calendar, drivers=drivers)
    ends: list[int] = []
    for doing, minutes in activities:
        after = step(clock, doing, minutes)
        ends.append(clock.now_min + minutes)
        if isinstance(after, Breach):
            return _verdict(clock, after, ends)
        clock = after
    end = finish(clock, is_resting_on=is_resting_on)
    if isinstance(end, Breach):
        return _verdict(clock, end, ends)
    return _verdict(end, None, ends)


def _verdict(clock: Clock, breach: Breach | None, ends: Sequence[int]) -> Verdict:
    at = None
    if breach is not None:
        at = next((number for number, end in enumerate(ends) if end > breach.at_min), len(ends) - 1)
        if breach.rule.startswith(("work break", "rest break")):  # shown by the end of the work
            at = next(number for number, end in enumerate(ends) if end >= breach.at_min)
    return Verdict(
        book=clock.book, first_breach=breach, breach_at=at, counters=hours_counters(clock), notes=tuple(_notes(clock))
    )


def _notes(clock: Clock) -> list[str]:
    """Return what the reader of a verdict must know about it."""
    notes = [PLANNING_AID]
    if not clock.calendar.is_fixed:
        notes.append("The file names no weekday: weeks are counted from the first line, and anew after a weekly rest.")
    if clock.calendar.midnight is None and "night_work" in clock.book:
        notes.append("The file gives no time of day: the limit on work at night is not judged.")
    if "average_work" in clock.book and clock.week_worked > clock.book["average_work"]:
        row = clock.book.rows["average_work"]
        notes.append(f"More than 48 h of work in this week: the average over 17 weeks must come below it ({row.source}).")
    notes += [f"Not settled: {sentence}." for sentence in clock.book.uncertain]
    return notes
