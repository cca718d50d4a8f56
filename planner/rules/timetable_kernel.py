"""
The timetable search compiled: the labels of :mod:`planner.rules.timetable_plain` as rows of integers, with the same answers.

The step functions at the top serve a labelling search too.  A state is ``driven`` (since the last full break), ``has_first``
(the first part of a split break is taken), ``worked`` (since the last break that counts for work), ``rested`` (such breaks
so far) and ``flags`` (1: the day's one long break is taken; 2: the first part of a split daily rest is); the time, the
day's driving and the start of duty are the caller's to keep.  ``law`` comes from :func:`planner.rules.timetable_law.day_law`.

Dominance.  Less driving since the last break is not enough: a state that took its break has paid in time for what another
still owes.  :func:`is_no_worse` compares every part of the state, and is safe together with times and costs that are no worse.
To let the first state take a break first, call :func:`after_break` and add its minutes to the first state's times.
"""

# ruff: noqa: C901, PLR0912, PLR0915, PLR0917 - one compiled loop is plainer than many small ones that hand rows about

from collections.abc import Sequence
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.rules.timetable_law import (
    EVERY_DRIVE,
    EVERY_WORK,
    FULL,
    NEED_SINGLE,
    NEED_TOTAL,
    NEVER,
    PART1,
    PART2,
    SPLIT_REST,
    SPREAD,
    SPREAD_SPLIT,
    WORK_PART,
)  # fmt: skip
from planner.rules.timetable_plain import Choice, Pause
from planner.rules.timetable_shapes import Duty, Step

Ints = NDArray[np.int64]
SINGLE, SPLIT = 1, 2
EARLIEST, ELAPSED, LATEST, DRIVEN, HAS_FIRST, WORKED, RESTED, FLAGS, EVENT, WIDTH = range(10)
LABELS, OPEN = (256, 1024, 8192), 64  # room for labels, tried in turn: little room is quick to set up
FOUND, NONE, TOO_MANY = 1, 0, -1
STEP_DRIVES, STEP_WORKS, STEP_FERRY, STEP_SPLITS, STEP_MINUTES, STEP_OPENS, STEP_CLOSES, STEP_INNER, STEP_WIDTH = range(9)


@njit(cache=True)
def after_break(law: Ints, driven: int, has_first: int, worked: int, rested: int, flags: int, minutes: int) -> Any:
    """Return (driven, has_first, worked, rested, flags) after an uninterrupted break of so many minutes."""
    if minutes >= law[FULL] or (has_first == 1 and law[PART1] > 0 and minutes >= law[PART2]):
        driven, has_first = 0, 0
    elif law[PART1] > 0 and minutes >= law[PART1] and driven > 0:  # both parts lie inside the driving period
        has_first = 1
    if minutes >= law[WORK_PART]:
        worked = 0
        rested = min(rested + minutes, law[NEED_TOTAL])
    if minutes >= law[NEED_SINGLE]:
        flags |= SINGLE
    if law[SPLIT_REST] > 0 and minutes >= law[SPLIT_REST]:
        flags |= SPLIT
    return driven, has_first, worked, rested, flags


@njit(cache=True)
def room_before_break(law: Ints, driven: int, worked: int, drives: int) -> int:
    """Return how many more minutes of driving (or, with ``drives`` 0, of other work) are allowed before a break is due."""
    room = law[EVERY_WORK] - worked
    if drives:
        room = min(room, law[EVERY_DRIVE] - driven)
    return int(room)


@njit(cache=True)
def after_work(law: Ints, driven: int, worked: int, minutes: int, drives: int) -> Any:
    """Return (driven, worked) after work; a counter whose limit is ``NEVER`` stays at nought."""
    if drives and law[EVERY_DRIVE] < NEVER:
        driven += minutes
    if law[EVERY_WORK] < NEVER:
        worked += minutes
    return driven, worked


@njit(cache=True)
def is_no_worse(
    driven: int, has_first: int, worked: int, rested: int, flags: int,
    driven2: int, has_first2: int, worked2: int, rested2: int, flags2: int,
) -> bool:  # fmt: skip
    """Return whether whatever the second state may still do, the first may too, with no more breaks."""
    return bool(
        driven <= driven2 and has_first >= has_first2 and worked <= worked2 and rested >= rested2 and (flags | flags2) == flags
    )


@njit(cache=True)
def _beats(one: Ints, i: int, other: Ints, j: int) -> bool:
    """Return whether row ``i`` of the one makes row ``j`` of the other needless."""
    return bool(
        one[i, EARLIEST] <= other[j, EARLIEST] and one[i, ELAPSED] <= other[j, ELAPSED] and one[i, LATEST] >= other[j, LATEST]
        and is_no_worse(
            one[i, DRIVEN], one[i, HAS_FIRST], one[i, WORKED], one[i, RESTED], one[i, FLAGS],
            other[j, DRIVEN], other[j, HAS_FIRST], other[j, WORKED], other[j, RESTED], other[j, FLAGS],
        )
    )  # fmt: skip


@njit(cache=True)
def _keep(rows: Ints, count: int, new: Ints, at: int, law: Ints, latest_end: int, ahead: int) -> int:
    """Add a label to a layer unless, with the minutes still ahead, it is late or worse than another; return the count."""
    ahead += max(0, law[NEED_TOTAL] - new[at, RESTED])
    spread = max(new[at, ELAPSED], new[at, EARLIEST] - new[at, LATEST]) + ahead
    if new[at, EARLIEST] + ahead > latest_end or spread > max(law[SPREAD], law[SPREAD_SPLIT]):
        return count
    for i in range(count):
        if _beats(rows, i, new, at):
            return count
    kept = 0
    for i in range(count):
        if not _beats(new, at, rows, i):
            if kept != i:
                for column in range(WIDTH):
                    rows[kept, column] = rows[i, column]
            kept += 1
    if kept < rows.shape[0]:
        for column in range(WIDTH):
            rows[kept, column] = new[at, column]
    return kept + 1


@njit(cache=True)
def _copy(to: Ints, k: int, source: Ints, j: int) -> None:
    for column in range(WIDTH):
        to[k, column] = source[j, column]


@njit(cache=True)
def _take(at: Ints, k: int, law: Ints, minutes: int, hidden: int, step: int, done: int, events: Ints, used: Ints) -> None:
    """Let a label take a break, and note the event."""
    at[k, DRIVEN], at[k, HAS_FIRST], at[k, WORKED], at[k, RESTED], at[k, FLAGS] = after_break(
        law, at[k, DRIVEN], at[k, HAS_FIRST], at[k, WORKED], at[k, RESTED], at[k, FLAGS], minutes + hidden
    )
    at[k, EARLIEST] += minutes
    at[k, ELAPSED] += minutes
    if minutes > 0 and used[0] < events.shape[0]:
        events[used[0], 0], events[used[0], 1], events[used[0], 2], events[used[0], 3] = at[k, EVENT], step, done, minutes
        at[k, EVENT] = used[0]
    if minutes > 0:
        used[0] += 1


@njit(cache=True)
def _is_worth(law: Ints, length: int, rested: int, wait: int) -> bool:
    """Return whether a break of this length can serve; one that only fills the day's total may grow into a later wait."""
    need = law[NEED_TOTAL]
    if need == 0 or length in (law[WORK_PART], law[NEED_SINGLE], law[SPLIT_REST]):
        return True
    return bool(length <= need - rested and (length == need - rested or length <= law[WORK_PART] + wait))


@njit(cache=True)
def solve(
    steps: Ints, law: Ints, lengths: Ints, first_start: int, latest_end: int, by_duty: int, pauses: Ints, room: int
) -> Any:
    """
    Return (status, start, end, number of pauses) and write the pauses, last first, as rows of step, minutes done, minutes.

    ``steps`` has the columns ``STEP_...``; :func:`as_rows` makes it.  ``room`` is how many labels may be alive at once.
    """
    count = steps.shape[0]
    # Whole numbers made from an argument: a written one would have each helper compiled once more for that very number.
    nought = count - count
    begun, busy, done_with = nought, nought + 1, nought + 2  # rows of ``hand``: at the start of a step, at work, after it
    layer, after = np.empty((room, WIDTH), np.int64), np.empty((room, WIDTH), np.int64)
    events, used = np.empty((room * 16, 4), np.int64), np.zeros(1, np.int64)
    stack, stack_done = np.empty((OPEN, WIDTH), np.int64), np.empty(OPEN, np.int64)
    hand = np.empty((3, WIDTH), np.int64)
    waits, ahead = np.empty(count, np.int64), np.zeros(count + 1, np.int64)
    last_work = -1
    for i in range(count - 1, -1, -1):  # waits: the time by which one must be here to wait for any window from here on
        later = waits[i + 1] - steps[i, STEP_MINUTES] if i + 1 < count else -NEVER
        waits[i] = max(later, steps[i, STEP_OPENS])
        ahead[i] = ahead[i + 1] + steps[i, STEP_MINUTES]
        if last_work < 0 and steps[i, STEP_WORKS] and steps[i, STEP_MINUTES]:
            last_work = i
    for column in range(WIDTH):
        layer[0, column] = 0
    layer[0, EARLIEST], layer[0, LATEST], layer[0, EVENT] = first_start, latest_end, -1
    size = nought + 1
    for i in range(count):
        drives, minutes, number = steps[i, STEP_DRIVES], steps[i, STEP_MINUTES], nought
        # A break before a drive that may be split is as good after it, or inside when it is due: no need to try it here.
        has_window = steps[i, STEP_OPENS] > -NEVER or steps[i, STEP_CLOSES] < NEVER
        is_plain = steps[i, STEP_SPLITS] and not has_window and i != last_work
        is_after_ferry = i > 0 and steps[i - 1, STEP_FERRY] > 0  # a break there is the end of that on board
        options = lengths.shape[0] if steps[i, STEP_INNER] and not is_plain and not is_after_ferry else 0
        for k in range(size):
            for option in range(-1, options):
                _copy(hand, begun, layer, k)
                if option >= 0:
                    if not _is_worth(law, lengths[option], hand[begun, RESTED], max(0, waits[i] - hand[begun, EARLIEST])):
                        continue
                    hidden = -lengths[option] if steps[i, STEP_FERRY] == 1 else nought  # a break before a ferry counts on board
                    _take(hand, begun, law, lengths[option], hidden, i, nought, events, used)
                hand[begun, EARLIEST] = max(hand[begun, EARLIEST], steps[i, STEP_OPENS])
                hand[begun, LATEST] = min(hand[begun, LATEST], steps[i, STEP_CLOSES] - 1 - hand[begun, ELAPSED])
                if hand[begun, EARLIEST] >= steps[i, STEP_CLOSES] or hand[begun, LATEST] < first_start:
                    continue
                if not steps[i, STEP_WORKS]:
                    hand[begun, EARLIEST] += minutes
                    hand[begun, ELAPSED] += minutes
                    if steps[i, STEP_FERRY] == 1:
                        ashore = lengths.shape[0] if i + 1 < count and steps[i + 1, STEP_INNER] else 0
                        rested = minutes + (lengths[option] if option >= 0 else nought)
                        for longer in range(-1, ashore):
                            if longer >= 0 and lengths[longer] <= rested:
                                continue
                            _copy(hand, done_with, hand, begun)
                            more = lengths[longer] - rested if longer >= 0 else nought
                            _take(hand, done_with, law, more, rested, i + 1, nought, events, used)
                            number = _keep(after, number, hand, done_with, law, latest_end, ahead[i + 1])
                    else:
                        number = _keep(after, number, hand, begun, law, latest_end, ahead[i + 1])
                    continue
                _copy(stack, nought, hand, begun)
                stack_done[0] = nought
                depth = 1
                while depth > 0:
                    depth -= 1
                    done = stack_done[depth]
                    _copy(hand, busy, stack, depth)
                    part = min(room_before_break(law, hand[busy, DRIVEN], hand[busy, WORKED], drives), minutes - done)
                    if done + part == minutes:
                        _copy(hand, done_with, hand, busy)
                        driven, worked = after_work(law, hand[busy, DRIVEN], hand[busy, WORKED], part, drives)
                        hand[done_with, DRIVEN], hand[done_with, WORKED] = driven, worked
                        hand[done_with, EARLIEST] += part
                        hand[done_with, ELAPSED] += part
                        number = _keep(after, number, hand, done_with, law, latest_end, ahead[i + 1])
                        if i != last_work or done > 0 or number > room:
                            continue
                        part //= 2
                    may_begin = is_plain and steps[i, STEP_INNER] and not is_after_ferry
                    if part < 0 or not steps[i, STEP_SPLITS] or (part == 0 and not may_begin):
                        continue
                    hand[busy, DRIVEN], hand[busy, WORKED] = after_work(law, hand[busy, DRIVEN], hand[busy, WORKED], part, drives)
                    hand[busy, EARLIEST] += part
                    hand[busy, ELAPSED] += part
                    for inside in range(lengths.shape[0]):
                        _copy(hand, done_with, hand, busy)
                        _take(hand, done_with, law, lengths[inside], nought, i, done + part, events, used)
                        if room_before_break(law, hand[done_with, DRIVEN], hand[done_with, WORKED], drives) <= 0:
                            continue
                        if hand[done_with, EARLIEST] + minutes - done - part > latest_end:
                            continue
                        if depth >= OPEN:
                            return TOO_MANY, 0, 0, 0
                        _copy(stack, depth, hand, done_with)
                        stack_done[depth] = done + part
                        depth += 1
            if used[0] >= events.shape[0] - OPEN or number > room:
                return TOO_MANY, 0, 0, 0
        layer, after = after, layer
        size = number
        if size == 0:
            return NONE, 0, 0, 0
    best, best_first, best_second = -1, 0, 0
    for k in range(size):
        spread = max(layer[k, ELAPSED], layer[k, EARLIEST] - layer[k, LATEST])
        limit = max(law[SPREAD], law[SPREAD_SPLIT]) if layer[k, FLAGS] & SPLIT else law[SPREAD]
        if spread > limit or layer[k, RESTED] < law[NEED_TOTAL] or (law[NEED_SINGLE] > 0 and not layer[k, FLAGS] & SINGLE):
            continue
        first, second = (spread, layer[k, EARLIEST]) if by_duty else (layer[k, EARLIEST], spread)
        if best < 0 or first < best_first or (first == best_first and second < best_second):
            best, best_first, best_second = k, first, second
    if best < 0:
        return NONE, 0, 0, 0
    event, found = layer[best, EVENT], 0
    while event >= 0 and found < pauses.shape[0]:
        for column in range(3):
            pauses[found, column] = events[event, column + 1]
        event = events[event, 0]
        found += 1
    end = layer[best, EARLIEST]
    return FOUND, end - max(layer[best, ELAPSED], layer[best, EARLIEST] - layer[best, LATEST]), end, found


def as_rows(steps: Sequence[Step]) -> Ints:
    """
    Return the steps as rows of integers for :func:`solve`.

    ``STEP_FERRY`` is 1 where a break may be taken on board, 2 on a ferry right after another, which adds nothing.
    """
    busy = [number for number, step in enumerate(steps) if step.minutes and step.duty is not Duty.AVAILABLE]
    first, last = (busy[0], busy[-1]) if busy else (len(steps), -1)
    rows, was_aboard = [], False
    for number, step in enumerate(steps):
        is_aboard = step.is_ferry and first < number <= last
        opens, closes = step.opens_min, step.closes_min
        rows.append((
            step.duty is Duty.DRIVE, step.duty is not Duty.AVAILABLE, is_aboard + (is_aboard and was_aboard),
            step.splittable and first <= number <= last, step.minutes, -NEVER if opens is None else opens,
            NEVER if closes is None else closes, first < number <= last,
        ))  # fmt: skip
        was_aboard = is_aboard
    return np.array(rows, np.int64)


def search(
    steps: Sequence[Step], law: Ints, lengths: Sequence[int], *, earliest_min: int, latest_end_min: int, objective: str,
    rows: Ints | None = None,
) -> Choice | None:  # fmt: skip
    """
    Return what :func:`planner.rules.timetable_plain.search` does, quickly.

    ``rows``, if given, are the steps by :func:`as_rows`, so that several searches can share them.

    Raises
    ------
    OverflowError
        If more labels are alive than the kernel holds (some thousand steps with windows).

    """
    table = as_rows(steps) if rows is None else rows
    first_start = max(earliest_min, int(table[0, STEP_OPENS]))
    by_duty = int(objective == "duty")
    if not law[NEED_TOTAL]:
        return _solved(table, law, lengths, first_start, latest_end_min, by_duty)
    return _filled_up(table, law, lengths, first_start, latest_end_min, by_duty)


def _filled_up(table: Ints, law: Ints, lengths: Sequence[int], first_start: int, latest_end: int, by_duty: int) -> Choice | None:
    """
    Search a day whose breaks must only add up: first with few lengths, then for something strictly better.

    Whatever is found first is best if it touches the floor: the same day without the total, or its minutes and the total.
    """
    need, part = int(law[NEED_TOTAL]), int(law[WORK_PART])
    few = sorted({part, need - part, need, *(length for length in lengths if length > need)})
    first = _solved(table, law, few, first_start, latest_end, by_duty)
    if first is None:
        return _solved(table, law, lengths, first_start, latest_end, by_duty)
    free, tight = law.copy(), law.copy()
    free[NEED_TOTAL] = 0
    least = int(table[:, STEP_MINUTES].sum()) + need
    base = _solved(table, free, few, first_start, latest_end, by_duty)
    assert base is not None
    if by_duty:
        tight[SPREAD:SPREAD_SPLIT + 1] = np.minimum(law[SPREAD:SPREAD_SPLIT + 1], first.duty_min)
        if first.duty_min == max(base.duty_min, least):
            latest_end = first.end_min - 1
    else:
        latest_end = first.end_min
        if first.end_min == max(base.end_min, first_start + least):
            tight[SPREAD:SPREAD_SPLIT + 1] = np.minimum(law[SPREAD:SPREAD_SPLIT + 1], first.duty_min - 1)
    if max(tight[SPREAD], tight[SPREAD_SPLIT]) < least or latest_end < first_start + least:
        return first
    better = _solved(table, tight, lengths, first_start, latest_end, by_duty)
    return first if better is None else better


def _solved(table: Ints, law: Ints, lengths: Sequence[int], first_start: int, latest_end: int, by_duty: int) -> Choice | None:
    pauses = np.empty((4 * len(table) + 16, 3), np.int64)
    tried = np.array(lengths, np.int64)
    for room in LABELS:
        status, start, end, found = solve(table, law, tried, first_start, latest_end, by_duty, pauses, room)
        if status != TOO_MANY:
            break
    if status == TOO_MANY:
        raise OverflowError(f"Expected a run of fewer choices, got {len(table)} steps.")
    if status == NONE:
        return None
    taken = tuple(Pause(*(int(value) for value in pauses[k])) for k in range(found - 1, -1, -1))
    return Choice(int(start), int(end), taken)
