# ruff: noqa: C901, PLR0912 - compiled loops over bits cannot be cut into small functions without losing speed
"""
How many cars must still be moved, whatever their sizes: bounds from which slots hold cars that leave soon and which the others.

Take the cars that leave at stage ``u`` or before for one kind and all others for a second: cars of a kind then only differ by
size, and sizes are left out.  What remains of a load is two sets of slots, few enough to work the fewest moves back from the
end for every such pair (dynamic programming).  With sizes and names no load can need fewer, so each ``u`` gives a bound.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.rules.load_plan_arrays import Whole
from planner.rules.load_plan_tables import ones

#: More than any load can need.
NEVER = 120
#: Decks that can be cleared in more ways than this are searched without bounds.
MOST_WAYS = 128
#: Stages looked ahead with cars that leave later all of one kind, beside the look to the end.
LOOK_AHEAD = 12


class Pairs(NamedTuple):
    """Pairs of disjoint sets among n slots, those of like sizes together; key ``code[first] + 2 * code[second]``."""

    code: Whole  # 2^n, the bits of a set read to base three
    rank: NDArray[np.int32]  # 3^n, by key: which of the pairs of its sizes it is
    start: Whole  # by (n + 1) x size of first + size of second: where those pairs begin in the two lists
    first: Whole
    second: Whole


class Ahead(NamedTuple):
    """Moves after a stage, at ``moves[start[u, stage] + rank[key]]``; ``start`` is below 0 where nothing is known."""

    moves: NDArray[np.int8]
    start: Whole
    code: Whole
    rank: NDArray[np.int32]
    ways: Whole  # sets of slots that can be driven on to while some others stay occupied, smallest first

    @property
    def least(self) -> int:
        """Moves that the whole run needs at least."""
        if len(self.start) == 0:
            return 0
        end = self.start[-1, 1] if len(self.start) > 1 else len(self.moves)
        return int(self.moves[self.start[-1, 0] : end].min())


#: Nothing known.
NOTHING = Ahead(
    np.zeros(0, np.int8), np.zeros((0, 0), np.int64), np.zeros(0, np.int64), np.zeros(0, np.int32), np.zeros(0, np.int64)
)


@lru_cache(maxsize=16)
def pairs(num_slots: int) -> Pairs:
    """Return the pairs of disjoint sets among so many slots."""
    return Pairs(*_pairs(num_slots))


@njit(cache=True)
def _pairs(num_slots: int) -> tuple[Whole, NDArray[np.int32], Whole, Whole, Whole]:
    full, sizes = (1 << num_slots) - 1, num_slots + 1
    code = np.zeros(1 << num_slots, np.int64)
    size = np.zeros(1 << num_slots, np.int64)
    for some in range(1, 1 << num_slots):
        low, place = some, 1
        while not low & 1:
            low >>= 1
            place *= 3
        code[some] = code[some & (some - 1)] + place
        size[some] = size[some & (some - 1)] + 1
    count = np.zeros(sizes * sizes + 1, np.int64)
    start = np.zeros(sizes * sizes + 1, np.int64)
    rank = np.zeros(2 * code[full] + 1, np.int32)
    first, second = np.zeros(len(rank), np.int64), np.zeros(len(rank), np.int64)
    for counting in (True, False):
        for some in range(1 << num_slots):
            other = full & ~some
            while True:
                kind = size[some] * sizes + size[other]
                if not counting:
                    row = start[kind] + count[kind]
                    rank[code[some] + 2 * code[other]], first[row], second[row] = count[kind], some, other
                count[kind] += 1
                if other == 0:
                    break
                other = (other - 1) & full & ~some
        if counting:
            for kind in range(len(count) - 1):
                start[kind + 1], count[kind] = start[kind] + count[kind], 0
    return code, rank, start, first, second


@njit(cache=True)
def ways_to_clear(blocked: Whole) -> Whole:
    """Return the distinct sets of slots that can be driven on to while some others stay occupied."""
    num_slots = len(blocked)
    seen = np.zeros(1 << num_slots, np.bool_)
    for standing in range(1 << num_slots):
        free = 0
        for slot in range(num_slots):
            if not standing >> slot & 1 and blocked[slot] & standing == 0:
                free |= 1 << slot
        seen[free] = True
    return np.flatnonzero(seen)


def moves_ahead(blocked: Whole, stays: tuple[tuple[int, int], ...], num_stages: int, *, whole: bool = True) -> Ahead:
    """
    Return the bounds of a deck (bits of what blocks each slot) and cars by the stages at which they come on and go off.

    Unless ``whole``, only with those that leave on the way for one kind: a few times faster, and enough for the whole run.
    """
    ways = np.array(sorted(ways_to_clear(blocked).tolist(), key=int.bit_count), dtype=np.int64)
    if len(ways) > MOST_WAYS:
        return NOTHING
    on_at, off_at = (np.array([stay[end] for stay in stays], dtype=np.int64) for end in (0, 1))
    every = pairs(len(blocked))
    moves, start = _moves_ahead(every, ways, on_at, off_at, num_stages, 0 if whole else num_stages - 1)
    return Ahead(moves, start, every.code, every.rank, ways)


@njit(cache=True)
def _moves_ahead(
    every: Pairs, ways: Whole, on_at: Whole, off_at: Whole, num_stages: int, earliest: int
) -> tuple[NDArray[np.int8], Whole]:
    code, rank, first, second = every.code, every.rank, every.first, every.second
    full, last = len(code) - 1, num_stages - 1
    num_slots = ones(full)
    size = np.array([ones(some) for some in range(full + 1)])
    kind = np.zeros((num_stages, num_stages), np.int64)  # u, after stage
    leaving = np.zeros(num_stages + 1, np.int64)
    for car in range(len(on_at)):
        leaving[off_at[car]] += 1
        for stage in range(on_at[car], min(off_at[car], num_stages)):
            for until in range(num_stages):
                kind[until, stage] += num_slots + 1 if off_at[car] <= until else 1
    start = np.full((num_stages, num_stages), -1, np.int64)
    total = 0
    for until in range(earliest, num_stages):
        for stage in range(until + 1):
            if until == last or until <= stage + LOOK_AHEAD:
                start[until, stage] = total
                total += every.start[kind[until, stage] + 1] - every.start[kind[until, stage]]
    moves = np.full(total, NEVER, np.int8)
    least = np.full(len(rank), NEVER, np.int8)
    for until in range(last, earliest - 1, -1):
        here, place = kind[until, until], start[until, until]
        if until == last:
            for row in range(every.start[here + 1] - every.start[here]):
                moves[place + row] = 0
        else:  # nobody of the first kind is left: the best that the others can do
            there = start[last, until] - every.start[kind[last, until]]
            for row in range(every.start[kind[last, until]], every.start[kind[last, until] + 1]):
                to = place + rank[2 * code[first[row] | second[row]]]
                moves[to] = min(moves[to], moves[there + row])
        for stage in range(until, 0, -1):
            if start[until, stage - 1] < 0:
                break
            after, before = kind[until, stage], kind[until, stage - 1]
            there, here = start[until, stage] - every.start[after], start[until, stage - 1] - every.start[before]
            worst = NEVER
            for free in ways:
                out = full & ~free
                if size[free] - leaving[stage] - (num_slots - before // (num_slots + 1) - before % (num_slots + 1)) >= worst:
                    continue
                for row in range(every.start[after], every.start[after + 1]):
                    key = code[first[row] & out] + 2 * code[second[row] & out]
                    least[key] = min(least[key], moves[there + row])
                worst = 0
                for row in range(every.start[before], every.start[before + 1]):
                    need = size[(first[row] | second[row]) & free] - leaving[stage]
                    if need < moves[here + row] and size[first[row] & free] >= leaving[stage]:
                        need += least[code[first[row] & out] + 2 * code[second[row] & out]]
                        moves[here + row] = min(moves[here + row], need)
                    worst = max(worst, moves[here + row])
                for row in range(every.start[after], every.start[after + 1]):
                    least[code[first[row] & out] + 2 * code[second[row] & out]] = NEVER
    return moves, start
