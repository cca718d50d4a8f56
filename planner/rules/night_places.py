"""
Night places: where the rest of a night out may fall in a run, with floors under what it comes to there, compiled.

Floors never forbid or overprice a legal night: work and driving are added up, breaks are counted in total and not where they
fall, and windows bound when each step can start.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numba import njit

from planner.rules.books import Book
from planner.rules.timetable_bound import floor_law, least_breaks
from planner.rules.timetable_kernel import (
    STEP_CLOSES,
    STEP_DRIVES,
    STEP_MINUTES,
    STEP_OPENS,
    STEP_SPLITS,
    STEP_WORKS,
    Ints,
    as_rows,
)  # fmt: skip
from planner.rules.timetable_law import NEVER
from planner.rules.timetable_shapes import Step

MOST_DRIVING, MOST_DUTY, LEAST_REST, COUNTS_ALL, SINGLE_ABOVE, SINGLE, SOME_ABOVE, SOME, MORE_ABOVE, MORE = range(10)


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """After so many minutes of a step (0: before it), with the least duty of both days and the earliest end."""

    step: int
    done_min: int
    first_min: int
    second_min: int
    end_min: int

    @property
    def duty_min(self) -> int:
        """The least duty of both days together."""
        return self.first_min + self.second_min


def places(steps: Sequence[Step], book: Book, *, earliest_min: int) -> Iterator[Place]:
    """Yield every place away from base where a night may make both days legal, in the order of the run."""
    rows = as_rows(steps)
    room = int(np.where(rows[:, STEP_SPLITS] > 0, np.maximum(rows[:, STEP_MINUTES], 1), 1).sum())
    out = np.empty((room, 5), np.int64)
    count = _fill(rows, floor_law(book), _figures(book), earliest_min, out)
    found = (Place(*row) for row in out[:count].tolist())
    return (place for place in found if place.done_min or not steps[place.step].at_base)


@cache
def _figures(book: Book) -> Ints:
    """Return the rules of a day that a floor needs, as a row."""
    rest_min = book.get("reduced_daily_rest", book["daily_rest"])
    return np.array([
        max(book.get("daily_driving", NEVER), book.get("extended_driving", 0)), book["rest_period"] - rest_min, rest_min,
        "rest_break" in book, book.get("rest_break_above", NEVER), book.get("rest_break", 0),
        book.get("continuous_work", NEVER), book.get("work_break_above_6h", 0),
        book.get("long_work", NEVER), book.get("work_break_above_9h", 0),
    ], np.int64)  # fmt: skip


@njit(cache=True)
def _duty(law: Ints, rules: Ints, whole: int, driving: int, work: int) -> int:
    """Return the least duty of a day without windows, ``NEVER`` where it is more than any day may hold."""
    if driving > rules[MOST_DRIVING] or whole > rules[MOST_DUTY]:
        return NEVER
    counted = whole if rules[COUNTS_ALL] else work
    owed = least_breaks(law, driving, work, 1)
    if counted > rules[SINGLE_ABOVE]:
        owed = max(owed, rules[SINGLE])
    if counted > rules[SOME_ABOVE]:
        owed = max(owed, rules[SOME])
    if counted > rules[MORE_ABOVE]:
        owed = max(owed, rules[MORE])
    duty = whole + max(0, owed - (whole - work))  # a break may lie in what is not work
    return NEVER if duty > rules[MOST_DUTY] else duty


@njit(cache=True)
def _fill(steps: Ints, law: Ints, rules: Ints, earliest: int, out: Ints) -> int:
    """Write the places as rows (step, minutes done, least first day, least second, earliest end); return how many."""
    count = steps.shape[0]
    late = np.full(count + 1, NEVER, np.int64)  # latest start of each step that misses no window from there on
    all_whole, all_driving, all_work = 0, 0, 0
    for k in range(count - 1, -1, -1):
        minutes = steps[k, STEP_MINUTES]
        late[k] = min(steps[k, STEP_CLOSES] - 1, late[k + 1] - minutes)
        all_whole += minutes
        all_driving += minutes * steps[k, STEP_DRIVES]
        all_work += minutes * steps[k, STEP_WORKS]
    whole, driving, work, found = 0, 0, 0, 0
    here, starts_by = earliest, NEVER  # the soonest at the step, and the latest start of duty that its windows allow
    for k in range(count):
        for done in range(0 if k else 1, steps[k, STEP_MINUTES] if steps[k, STEP_DRIVES] and steps[k, STEP_SPLITS] else 1):
            w, d, v = whole + done, driving + done * steps[k, STEP_DRIVES], work + done * steps[k, STEP_WORKS]
            ends = max(here, steps[k, STEP_OPENS]) + done if done else here
            first, second = _duty(law, rules, w, d, v), _duty(law, rules, all_whole - w, all_driving - d, all_work - v)
            if max(first, second) == NEVER:
                continue
            first = max(first, ends - (min(starts_by, steps[k, STEP_CLOSES] - 1 - whole) if done else starts_by))
            rested = max(ends, earliest + first) + rules[LEAST_REST]
            if first > rules[MOST_DUTY] or rested > (late[k + 1] - (steps[k, STEP_MINUTES] - done) if done else late[k]):
                continue
            out[found, 0], out[found, 1], out[found, 2], out[found, 3], out[found, 4] = k, done, first, second, rested + second
            found += 1
        here = max(here, steps[k, STEP_OPENS])
        if here >= steps[k, STEP_CLOSES]:
            break
        starts_by = min(starts_by, steps[k, STEP_CLOSES] - 1 - whole)
        here += steps[k, STEP_MINUTES]
        whole += steps[k, STEP_MINUTES]
        driving += steps[k, STEP_MINUTES] * steps[k, STEP_DRIVES]
        work += steps[k, STEP_MINUTES] * steps[k, STEP_WORKS]
    return found
