"""
A floor under the end of a run: cheap, and never above the end of any legal timetable.

Breaks are counted in total, not where they fall: driving so far needs so many full breaks before it, wherever they were, less
what a ferry may hold.  From each point of the run the clock can have stood no earlier than there; the latest floor of all counts.
Everything that the rest of the rules ask is left out, so a run above the floor may still be illegal.
"""

from collections.abc import Sequence

import numpy as np
from numba import njit

from planner.model.crews import WeekSoFar
from planner.rules.books import Book, CompanyLimits, tightened
from planner.rules.timetable_kernel import (
    STEP_DRIVES,
    STEP_FERRY,
    STEP_MINUTES,
    STEP_OPENS,
    STEP_WORKS,
    Ints,
    as_rows,
)  # fmt: skip
from planner.rules.timetable_law import (
    EVERY_DRIVE,
    EVERY_WORK,
    FULL,
    NEED_SINGLE,
    NEED_TOTAL,
    NEVER,
    PART1,
    PART2,
    SIZE,
    WORK_PART,
)
from planner.rules.timetable_shapes import Step


def floor_law(book: Book, *, work: int | None = None) -> Ints:
    """
    Return the law's row for :func:`least_breaks` and :func:`end_floor`, for any amount of driving.

    ``work``: minutes of work in the whole run, where known, for the breaks that depend on it.
    """
    law = np.zeros(SIZE, np.int64)
    law[EVERY_DRIVE] = book.get("driving_between_breaks", NEVER)
    law[FULL], law[PART1], law[PART2] = (book.get(key, 0) for key in ("full_break", "first_break_part", "second_break_part"))
    law[EVERY_WORK], law[WORK_PART] = book.get("continuous_work", NEVER), book.get("work_break_part", 0)
    if work is not None and "rest_break" in book and work > book["rest_break_above"]:
        law[NEED_SINGLE] = book["rest_break"]
    if work is not None and "work_break_above_6h" in book and work > book["continuous_work"]:
        law[NEED_TOTAL] = book["work_break_above_9h" if work > book["long_work"] else "work_break_above_6h"]
    return law


@njit(cache=True)
def least_breaks(law: Ints, driving: int, work: int, fresh: int) -> int:
    """
    Return the least minutes of breaks within so much driving and work (driving included).

    ``fresh``: 1 if no break was under way before it, 0 if a first part may have been taken.
    """
    total = 0
    if driving > law[EVERY_DRIVE]:
        full = law[FULL] if law[PART1] == 0 else min(law[FULL], law[PART1] + law[PART2])
        first = full if fresh == 1 or law[PART1] == 0 else min(full, law[PART2])
        total = (-(-driving // law[EVERY_DRIVE]) - 2) * full + first
    if work > law[EVERY_WORK]:
        total = max(total, (-(-work // law[EVERY_WORK]) - 1) * law[WORK_PART])
    return total


@njit(cache=True)
def end_floor(steps: Ints, law: Ints, first_start: int) -> int:
    """Return the floor for steps as rows (:func:`planner.rules.timetable_kernel.as_rows`) and the earliest start of duty."""
    count = steps.shape[0]
    starts = np.empty(count + 1, np.int64)  # no step starts, or ends, before these
    starts[0] = max(first_start, steps[0, STEP_OPENS])
    for k in range(count):
        lowest = starts[k] + steps[k, STEP_MINUTES]
        passed, driving, work, aboard = starts[k] - starts[k], starts[k] - starts[k], starts[k] - starts[k], starts[k] - starts[k]
        for j in range(k, -1, -1):
            passed += steps[j, STEP_MINUTES]
            driving += steps[j, STEP_MINUTES] * steps[j, STEP_DRIVES]
            work += steps[j, STEP_MINUTES] * steps[j, STEP_WORKS]
            aboard += steps[j, STEP_MINUTES] * min(1, steps[j, STEP_FERRY])
            owed = least_breaks(law, driving, work, 1 if j == 0 else 0)
            if j == 0 and k == count - 1:
                owed = max(owed, law[NEED_TOTAL], law[NEED_SINGLE])
            lowest = max(lowest, starts[j] + passed + max(0, owed - aboard))
        starts[k + 1] = lowest if k + 1 == count else max(lowest, steps[k + 1, STEP_OPENS])
    return int(starts[count])


def earliest_end_bound(
    steps: Sequence[Step], *, book: Book, week: WeekSoFar, earliest_min: int, limits: CompanyLimits | None = None
) -> int:
    """
    Return a minute before which no legal timetable of one day ends, whether or not there is one.

    It holds for every ``latest_end_min`` and objective of :func:`planner.rules.timetable.timetable` without nights.
    """
    book = tightened(book, limits)
    rows = as_rows(steps)
    counted = rows if "rest_break" in book else rows[rows[:, STEP_WORKS] > 0]
    work = int(counted[:, STEP_MINUTES].sum())
    start = earliest_min
    if week.last_duty_end_min is not None:
        may_reduce = week.reduced_rests < book.get("reduced_rests_count", 0)
        start = max(start, week.last_duty_end_min + book["reduced_daily_rest" if may_reduce else "daily_rest"])
    return int(end_floor(rows, floor_law(book, work=work), start))
