"""
How many cars must still be moved: bounds from which slots hold cars that leave soon and which the others.

Take the cars that leave at stage ``u`` or before for one kind and all others for a second, and forget which car of a kind
stands where.  What remains of a load is two sets of slots, few enough to work the fewest moves back from the end for every
such pair (dynamic programming).  No load can need fewer, so each ``u`` gives a bound.  For the ``u`` that parts those that leave
on the way from those that stay, pairs without room for the cars by size (``load_plan_room``) are left out.
"""

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.rules.load_plan_arrays import DeckArrays, Whole
from planner.rules.load_plan_pairs import Pairs, pairs
from planner.rules.load_plan_room import limits_of, room_for

#: More than any load can need.
NEVER = 120
#: Decks that can be cleared in more ways than this are searched without bounds.
MOST_WAYS = 128
#: Stages looked ahead with cars that leave later all of one kind, beside the look to the end.
LOOK_AHEAD = 2


class Ahead(NamedTuple):
    """Moves after a stage, at ``moves[start[u, stage] + rank[key]]``; ``start`` is below 0 where nothing is known."""

    moves: NDArray[np.int8]
    start: Whole
    floor: Whole  # by stage: moves after it that every load needs
    code: Whole
    rank: NDArray[np.int32]

    @property
    def least(self) -> int:
        """Moves that the whole run needs at least."""
        return int(self.floor[0]) if len(self.floor) else 0


#: Nothing known.
NOTHING = Ahead(
    np.zeros(0, np.int8), np.zeros((0, 0), np.int64), np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0, np.int32)
)


def ways_to_clear(blocked: Whole) -> Whole:
    """Return the distinct sets of slots that can be driven on to while some others stay occupied, smallest first."""
    standing = np.arange(1 << len(blocked))
    free = sum(((standing >> slot & 1 == 0) & (standing & bits == 0)) << slot for slot, bits in enumerate(blocked.tolist()))
    return np.array(sorted(np.unique(free).tolist(), key=int.bit_count), dtype=np.int64)


def moves_ahead(deck: DeckArrays, cars: Whole, on_at: Whole, off_at: Whole, num_stages: int, *, whole: bool = True) -> Ahead:
    """
    Return the bounds for cars (rows of length, width, height, mass, clearance) and the stages at which they come on and go off.

    Unless ``whole``, only with those that leave on the way for one kind: a few times faster, and enough for the whole run.
    """
    ways = ways_to_clear(deck.blocked)
    if len(ways) > MOST_WAYS:
        return NOTHING
    every, last = pairs(len(deck.blocked)), num_stages - 1
    limits, aboard = limits_of(deck, cars), [np.flatnonzero((on_at <= at) & (off_at > at)) for at in range(num_stages)]
    leaving = np.bincount(off_at, minlength=num_stages + 1)
    start, length = np.full((num_stages, num_stages), -1, dtype=np.int64), 0
    parts: list[NDArray[np.int8]] = []
    to_the_end: list[NDArray[np.int8]] = []  # from the last stage to the first, with those that leave on the way for one kind
    kinds_to_the_end: list[int] = []
    for until in range(last, -1 if whole else last - 1, -1):
        is_first = off_at <= until
        kinds = [every.kind_of(is_first[row]) for row in aboard]
        for stage in range(until, -1 if until == last else max(-1, until - LOOK_AHEAD - 1), -1):
            room = np.ones(every.count(kinds[stage]), dtype=np.int8)
            if until == last:
                room = room_for(every, kinds[stage], limits, aboard[stage], is_first)
            moves = np.full(len(room), NEVER, dtype=np.int8)
            if stage < until:
                _one_stage_back(every, ways, kinds[stage], kinds[stage + 1], int(leaving[stage + 1]), room, parts[-1], moves)
            elif until == last:
                moves[room > 0] = 0
            else:
                _others_alone(every, kinds_to_the_end[last - until], to_the_end[last - until], moves)
            if until == last:
                to_the_end.append(moves)
                kinds_to_the_end.append(kinds[stage])
            start[until, stage], length = length, length + len(moves)
            parts.append(moves)
    floor = np.array([moves.min() for moves in reversed(to_the_end)], dtype=np.int64)
    return Ahead(np.concatenate(parts), start, floor, every.code, every.rank)


@njit(cache=True)
def _one_stage_back(
    every: Pairs, ways: Whole, before: int, after: int, leaving: int, room: NDArray[np.int8], later: NDArray[np.int8],
    moves: NDArray[np.int8],
) -> None:  # fmt: skip
    """Write the moves needed from before a stage on, of pairs of the one kind with room, from those after it, of another."""
    code, size, first, second = every.code, every.size, every.first, every.second
    full, sizes = len(code) - 1, size[-1] + 1
    empty = size[-1] - before // sizes - before % sizes
    least = np.full(len(every.rank), NEVER, np.int8)
    worst = NEVER
    for free in ways:
        if size[free] - leaving - empty >= worst:
            continue
        out = full & ~free
        for row in range(every.start[after], every.start[after + 1]):
            key = code[first[row] & out] + 2 * code[second[row] & out]
            least[key] = min(least[key], later[row - every.start[after]])
        worst = 0
        for row in range(len(moves)):
            some, other = first[every.start[before] + row], second[every.start[before] + row]
            if not room[row]:
                continue
            need = size[(some | other) & free] - leaving
            if need < moves[row] and size[some & free] >= leaving:
                moves[row] = min(moves[row], need + least[code[some & out] + 2 * code[other & out]])
            worst = max(worst, moves[row])
        for row in range(every.start[after], every.start[after + 1]):
            least[code[first[row] & out] + 2 * code[second[row] & out]] = NEVER


@njit(cache=True)
def _others_alone(every: Pairs, kind: int, known: NDArray[np.int8], moves: NDArray[np.int8]) -> None:
    """Write the moves of a stage after which nobody of the first kind is left: the best that is known of the others, by kind."""
    for row in range(len(known)):
        at = every.start[kind] + row
        to = every.rank[2 * every.code[every.first[at] | every.second[at]]]
        moves[to] = min(moves[to], known[row])
