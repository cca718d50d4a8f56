"""
A night out: a run cut in two by one daily rest on the way, each part a legal day of its own.

The rest is tried between any two steps and at every minute of a drive that may be split.  The first day is
planned both to end first and to take the least duty.  Places where no day could be legal, or no better than what was
found, are passed over by floors: minutes of work, breaks in total, windows, as in :mod:`planner.rules.timetable_bound`, and
what the night rule leaves a second day.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from planner.model.crews import WeekSoFar
from planner.rules.books import Book
from planner.rules.night_places import Place, places
from planner.rules.timetable_law import NEVER
from planner.rules.timetable_plain import Choice, Pause
from planner.rules.timetable_shapes import Duty, Slice, Step
from planner.rules.timetable_slices import WORK, slices
from planner.units import MINUTES_A_DAY

Plan = Callable[[tuple[Step, ...], WeekSoFar, int, str], Choice | None]


@dataclass(frozen=True, slots=True)
class TwoDays:
    """A run with one night on the way: the whole as one choice, with the night as its longest pause, and its duty."""

    whole: Choice
    duty_min: int

    @property
    def end_min(self) -> int:
        """When the second day ends."""
        return self.whole.end_min


def night_out(
    steps: Sequence[Step], book: Book, week: WeekSoFar, *, earliest_min: int, objective: str, plan: Plan,
    nights_at: Sequence[tuple[int, int]],
) -> TwoDays | None:  # fmt: skip
    """
    Return the best run of two days, or None where no cut makes both legal.

    ``plan`` answers for one day: steps, week before it, earliest start, objective.
    """
    def figure(duty_min: int, end_min: int) -> tuple[int, int]:
        return (end_min, duty_min) if objective == "end" else (duty_min, end_min)

    def may_be_better(duty_min: int, end_min: int, rank: int) -> bool:
        return best is None or (figure(duty_min, end_min), rank) < best[:2]

    best: tuple[tuple[int, int], int, TwoDays] | None = None  # figure, rank of the place, night
    shortest_rest = book.get("reduced_daily_rest", book["daily_rest"])
    is_short = _too_much_min(steps, book) <= 0
    ranked = enumerate(places(steps, book, earliest_min=earliest_min))
    floors = _floors(steps, book, earliest_min, nights_at)
    for least, rank, place in sorted((min(figure(*way) for way in floors(place)), rank, place) for rank, place in ranked):
        if best is not None and (least, rank) >= best[:2]:
            continue
        before, after = _parts(steps, place.step, place.done_min)
        tried: list[Choice] = []
        for aim in dict.fromkeys((objective, "end", "duty")):
            first = plan(before, week, earliest_min, aim)
            if first is None:
                break
            rested_min = first.end_min + shortest_rest
            ends_min = max(place.end_min, rested_min + place.second_min)
            if first in tried or not may_be_better(first.duty_min + place.second_min, ends_min, rank):
                continue
            tried.append(first)
            next_week = week_after(before, first, book, week)
            mornings = [closes for _, closes in nights_at if closes > rested_min][:1]  # after the night, if not before
            for start in (rested_min, *mornings):
                second = plan(after, next_week, start, objective)
                if second is None:
                    break
                both = _joined(first, second, place.step, place.done_min)
                if not may_be_better(both.duty_min, both.end_min, rank):
                    break
                if is_short or not works_too_long_at_night(slices(steps, both.whole), book, nights_at):
                    best = figure(both.duty_min, both.end_min), rank, both
                    break
    return None if best is None else best[2]


def _floors(
    steps: Sequence[Step], book: Book, earliest_min: int, nights_at: Sequence[tuple[int, int]]
) -> Callable[[Place], Iterable[tuple[int, int]]]:
    """Return what gives the least duty and the earliest end of both days with the night at a place, for each way there may be."""
    too_much_min = _too_much_min(steps, book)
    work_after = [*accumulate(step.minutes * step.duty.is_work for step in reversed(steps))][::-1]  # of each step and later ones
    is_work = [step.duty.is_work and step.minutes > 0 for step in steps]
    clear_min = earliest_min + MINUTES_A_DAY + too_much_min

    def of(place: Place) -> Iterable[tuple[int, int]]:
        if too_much_min <= 0 or not (is_work[place.step] and is_work[-1]):
            return ((place.duty_min, place.end_min),)
        work_min = work_after[place.step] - place.done_min * is_work[place.step]
        return _clear_of_night(place, work_min, clear_min, nights_at)

    return of


def _too_much_min(steps: Sequence[Step], book: Book) -> int:
    """Return how many minutes of work are too many for 24 hours that reach into a night; none or fewer where there is no rule."""
    work_min = sum(step.minutes for step in steps if step.duty.is_work)
    return work_min - book.get("night_work", work_min)


def _clear_of_night(
    place: Place, work_min: int, clear_min: int, nights_at: Sequence[tuple[int, int]]
) -> Iterator[tuple[int, int]]:
    """
    Yield (least duty, earliest end) of both days for each way in which the second, of so much work, keeps the night rule.

    It ends before the night or begins after it; or it works in the night, when the 24 hours to its end hold no more work than
    is allowed, so that enough of the first day lies before them and it ends at ``clear_min`` or later; or it rests all night.
    It is held to begin and end with work.
    """
    rested_min = place.end_min - place.second_min
    opens_min, closes_min = next((night for night in nights_at if rested_min < night[1]), (NEVER, NEVER))
    if place.end_min <= opens_min:
        yield place.duty_min, place.end_min
        return
    yield place.duty_min, min(closes_min + place.second_min, max(place.end_min, clear_min))
    idle_min = max(place.second_min, work_min + closes_min - opens_min)
    yield place.first_min + idle_min, rested_min + idle_min


def works_too_long_at_night(parts: Sequence[Slice], book: Book, nights_at: Sequence[tuple[int, int]]) -> bool:
    """Return whether any 24 hours hold more work than is allowed when some of it is at night (2005, reg. 9)."""
    work: list[tuple[int, int]] = []
    for part in parts:
        if part.kind in WORK and part.minutes:
            touches = work and work[-1][1] == part.start_min
            work.append((work.pop()[0] if touches else part.start_min, part.end_min))
    if "night_work" not in book or sum(end - start for start, end in work) <= book["night_work"]:
        return False
    edges = {start for start, _ in work} | {end - MINUTES_A_DAY for _, end in work}
    edges |= {opens + 1 - MINUTES_A_DAY for opens, _ in nights_at} | {closes - 1 for _, closes in nights_at}
    for minute in edges:  # the fullest 24 hours begin or end with work, or just reach into a night
        inside = [(max(start, minute), min(end, minute + MINUTES_A_DAY)) for start, end in work]
        at_night = any(start < closes and opens < end for start, end in inside if start < end for opens, closes in nights_at)
        if at_night and sum(max(0, end - start) for start, end in inside) > book["night_work"]:
            return True
    return False


def _parts(steps: Sequence[Step], number: int, done_min: int) -> tuple[tuple[Step, ...], tuple[Step, ...]]:
    if not done_min:
        return tuple(steps[:number]), tuple(steps[number:])
    cut = steps[number]
    head = replace(cut, minutes=done_min)
    tail = replace(cut, minutes=cut.minutes - done_min, opens_min=None, closes_min=None)
    return (*steps[:number], head), (tail, *steps[number + 1 :])


def week_after(steps: Sequence[Step], day: Choice, book: Book, week: WeekSoFar) -> WeekSoFar:
    """Return the driver's week once a day has been done, for the day after it."""
    driving = sum(step.minutes for step in steps if step.duty is Duty.DRIVE)
    regular = book["rest_period"] - book["daily_rest"]
    cut_short = book["daily_rest"] - book.get("reduced_daily_rest", book["daily_rest"])
    is_split = any(pause.minutes >= book.get("split_rest_first", 1440) for pause in day.pauses)
    is_reduced = day.duty_min > regular and not is_split and cut_short > 0
    began_reduced = week.last_duty_end_min is not None and day.start_min - week.last_duty_end_min < book["daily_rest"]
    return replace(
        week,
        driven_week_min=week.driven_week_min + driving,
        worked_week_min=week.worked_week_min + sum(step.minutes for step in steps if step.duty.is_work),
        duty_days=week.duty_days + 1,
        extended_days=week.extended_days + (driving > book["daily_driving"]),
        reduced_rests=week.reduced_rests + is_reduced + began_reduced,
        # The rest after a long day is counted as reduced already, so that it may be the shorter one without counting twice.
        last_duty_end_min=day.end_min - (cut_short if is_reduced else 0),
    )


def _joined(first: Choice, second: Choice, number: int, done_min: int) -> TwoDays:
    night = Pause(number, done_min, second.start_min - first.end_min)
    later = tuple(
        Pause(pause.step + number, pause.done_min + (done_min if pause.step == 0 else 0), pause.minutes)
        for pause in second.pauses
    )
    whole = Choice(first.start_min, second.end_min, (*first.pauses, night, *later))
    return TwoDays(whole, first.duty_min + second.duty_min)
