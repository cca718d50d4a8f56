"""
A day's law: the figures of a rule book that decide where breaks go in one stretch of duty, as a small row of integers.

The row is what the compiled search and the plain one both read, and what a labelling search hands to the step functions
of :mod:`planner.rules.timetable_kernel`.  A rule that the book lacks is ``NEVER`` (a limit) or 0 (a need).
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from planner.rules.books import Book

NEVER: Final = 1 << 40

EVERY_DRIVE: Final = 0  # driving allowed between full breaks
FULL: Final = 1  # a full break
PART1: Final = 2  # first part of a split break; 0: no splitting
PART2: Final = 3  # second part
EVERY_WORK: Final = 4  # work allowed between breaks of WORK_PART
WORK_PART: Final = 5
NEED_TOTAL: Final = 6  # breaks of WORK_PART or more that the whole day must hold
NEED_SINGLE: Final = 7  # one uninterrupted break that the whole day must hold
SPREAD: Final = 8  # from start to end of duty
SPREAD_SPLIT: Final = 9  # the same when a rest of SPLIT_REST lies inside; 0: no splitting
SPLIT_REST: Final = 10
SIZE: Final = 11



def day_law(book: Book, *, driving: int, work: int, reduced_rests_left: int = 0) -> NDArray[np.int64]:
    """
    Return the law's row for a stretch of duty with so many minutes of driving and of work, driving included.

    Limits that so little cannot reach are left out, and the work's total where the driving asks for as much.
    """
    law = np.zeros(SIZE, np.int64)
    law[EVERY_DRIVE] = book.get("driving_between_breaks", NEVER)
    law[FULL], law[PART1], law[PART2] = (book.get(key, 0) for key in ("full_break", "first_break_part", "second_break_part"))
    if law[PART1]:
        law[PART2] = max(law[PART2], law[FULL] - law[PART1])  # a company's longer break is longer in its second part
    law[EVERY_WORK], law[WORK_PART] = book.get("continuous_work", NEVER), book.get("work_break_part", 0)
    if driving <= law[EVERY_DRIVE]:  # it cannot bind, nor do its breaks serve the work
        law[EVERY_DRIVE], law[FULL], law[PART1], law[PART2] = NEVER, 0, 0, 0
        law[NEED_TOTAL] = _work_breaks(book, work) if "work_break_above_6h" in book else 0
    if work <= law[EVERY_WORK]:
        law[EVERY_WORK] = NEVER
    if "rest_break" in book and work > book["rest_break_above"]:
        law[NEED_SINGLE] = book["rest_break"]
    period = book["rest_period"]
    law[SPREAD] = period - book["daily_rest"]
    if "reduced_daily_rest" in book and reduced_rests_left > 0:
        law[SPREAD] = max(law[SPREAD], period - book["reduced_daily_rest"])
    elif "split_rest_first" in book:
        law[SPREAD_SPLIT], law[SPLIT_REST] = period - book["split_rest_second"], book["split_rest_first"]
    return law


def _work_breaks(book: Book, work: int) -> int:
    if work > book["long_work"]:
        return book["work_break_above_9h"]
    return book["work_break_above_6h"] if work > book["continuous_work"] else 0


def break_lengths(law: NDArray[np.int64], *, driving: int, work: int) -> tuple[int, ...]:
    """Return the lengths of break that can serve in such a stretch of duty, shortest first."""
    useful: set[int] = set()
    if driving > law[EVERY_DRIVE]:
        useful |= {int(law[FULL]), int(law[PART1]), int(law[PART2])}
    if work > law[EVERY_WORK]:
        useful.add(int(law[WORK_PART]))
    if law[NEED_TOTAL]:
        useful |= set(range(int(law[WORK_PART]), int(law[NEED_TOTAL]) + 1))
    useful |= {int(law[NEED_SINGLE]), int(law[SPLIT_REST])}
    return tuple(sorted(useful - {0}))
