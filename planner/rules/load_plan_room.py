# ruff: noqa: PLR0917 - compiled functions take the arrays they read
"""
Which pairs of sets of slots have room for the cars aboard after a stage: one kind in the first set, the others in the second.

Two slots are *alike* for the cars of a run when a load stays within every limit if the two change places.  Then it only
matters how many of each lot of alike slots a set holds, so that one try at placing the cars answers many pairs.
"""

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.rules.load_plan_arrays import DeckArrays, Whole
from planner.rules.load_plan_pairs import Pairs
from planner.rules.load_plan_tables import ones, tables, weights

#: Placements tried before a pair counts as one with room, for a bound has to err on that side.
MOST_PLACINGS = 5_000


def _changed_places(bits: Whole, one: int, two: int) -> Whole:
    """Return sets with two of their slots changed for each other."""
    differ = (bits >> one ^ bits >> two) & 1
    return bits ^ (differ << one | differ << two)


def _are_alike(fit: Whole, beside: Whole, weight: Whole, one: int, two: int) -> bool:
    if ((fit >> one ^ fit >> two) & 1).any() or (weight[one] != weight[two]).any():
        return False
    turned = np.arange(beside.shape[1])
    turned[[one, two]] = two, one
    stands = (fit[:, None] >> np.arange(beside.shape[1]) & 1).astype(bool)
    return bool((beside[:, turned][stands] == _changed_places(beside, one, two)[stands]).all())


def alike(fit: Whole, beside: Whole, weight: Whole) -> Whole:
    """Return for each slot the bits of those that are alike, itself among them; tables as in ``load_plan_tables``."""
    lots = np.zeros(beside.shape[1], dtype=np.int64)
    for slot in range(len(lots)):
        if not lots[slot]:
            lot = [other for other in range(slot, len(lots)) if other == slot or _are_alike(fit, beside, weight, slot, other)]
            lots[lot] = sum(1 << other for other in lot)
    return lots


@njit(cache=True)
def _moved_down(lots: Whole, first: int, second: int) -> tuple[int, int]:
    """Return the pair with as many slots of each lot, in the lot's lowest: first those of the first set, then of the second."""
    low_first, low_second = 0, 0
    for slot in range(len(lots)):
        bit = 1 << slot
        below = ones(lots[slot] & (bit - 1))
        num_first = ones(lots[slot] & first)
        if below < num_first:
            low_first |= bit
        elif below < num_first + ones(lots[slot] & second):
            low_second |= bit
    return low_first, low_second


@njit(cache=True)
def _lowest_alike(lots: Whole, bits: int) -> int:
    """Return the slots of a set that have none alike below them in it."""
    lowest = 0
    for slot in range(len(lots)):
        if bits >> slot & 1 and lots[slot] & bits & ((1 << slot) - 1) == 0:
            lowest |= 1 << slot
    return lowest


class Limits(NamedTuple):
    """What limits the cars of a run: tables as in ``load_plan_tables``, and for each slot the bits of those alike."""

    length_mm: Whole  # by car, a gap included
    level_bits: Whole
    fit: Whole
    beside: Whole
    weight: Whole
    limit: Whole
    lots: Whole


def limits_of(deck: DeckArrays, cars: Whole) -> Limits:
    """Return what limits cars given as rows of length, width, height, mass and clearance."""
    fit, beside = tables(deck, cars)
    weight, limit = weights(deck, cars)
    return Limits(cars[:, 0] + deck.gap, deck.level_bits, fit, beside, weight, limit, alike(fit, beside, weight))


def room_for(every: Pairs, kind: int, limits: Limits, aboard: Whole, is_first: NDArray[np.bool_]) -> NDArray[np.int8]:
    """Return by pair of a kind 1 or 0: whether the cars aboard have room, those for which ``is_first`` holds in the first set."""
    aboard = aboard[np.argsort(-limits.length_mm[aboard], kind="stable")]
    shortest_mm = np.zeros((2, len(aboard) + 1), dtype=np.int64)
    for row, some in enumerate((aboard[is_first[aboard]], aboard[~is_first[aboard]])):
        shortest_mm[row, 1 : len(some) + 1] = np.cumsum(limits.length_mm[some][::-1])
    room = np.full(every.count(kind), -1, dtype=np.int8)
    _write_room(every, kind, limits, aboard, is_first, shortest_mm, room)
    return room


@njit(cache=True)
def _too_short(limits: Limits, shortest_mm: Whole, used: Whole, first: int, second: int) -> bool:
    """Return whether a level has no room for as many of the shortest cars of either kind as have slots left on it."""
    for level in range(len(limits.level_bits)):
        bits = limits.level_bits[level]
        needed = shortest_mm[0, ones(bits & first)] + shortest_mm[1, ones(bits & second)]
        if used[level] + needed > limits.limit[level] and limits.weight[ones((bits & -bits) - 1), 0, level]:
            return True
    return False


@njit(cache=True)
def _have_room(
    limits: Limits, aboard: Whole, open_to: Whole, shortest_mm: Whole, first: int, second: int, pos: Whole, still: Whole,
    used: Whole,
) -> bool:  # fmt: skip
    """Return False only if the cars aboard cannot fill the two sets within every limit; the last three are room to work in."""
    taken, depth, fresh = 0, 0, True
    used[:] = 0
    if _too_short(limits, shortest_mm, used, first, second):
        return False
    for _ in range(MOST_PLACINGS):
        if depth == len(aboard):
            return True
        car = aboard[depth]
        if fresh:
            bits = open_to[depth] & ~taken
            for place in range(depth):
                bits &= limits.beside[aboard[place], pos[place], car]
            still[depth] = _lowest_alike(limits.lots, bits)
        else:
            taken ^= 1 << pos[depth]
            for part in range(len(used)):
                used[part] -= limits.weight[pos[depth], car, part]
        fresh = still[depth] != 0
        if not fresh:
            depth -= 1
            if depth < 0:
                return False
            continue
        bit = still[depth] & -still[depth]
        still[depth] ^= bit
        taken |= bit
        pos[depth] = ones(bit - 1)
        for part in range(len(used)):
            used[part] += limits.weight[pos[depth], car, part]
            fresh = fresh and used[part] <= limits.limit[part]
        fresh = fresh and not _too_short(limits, shortest_mm, used, first & ~taken, second & ~taken)
        depth += fresh
    return True


@njit(cache=True)
def _write_room(
    every: Pairs, kind: int, limits: Limits, aboard: Whole, is_first: NDArray[np.bool_], shortest_mm: Whole,
    room: NDArray[np.int8],
) -> None:  # fmt: skip
    open_to, pos, still = np.zeros(len(aboard), np.int64), np.zeros(len(aboard), np.int64), np.zeros(len(aboard), np.int64)
    used = np.zeros(len(limits.limit), np.int64)
    begin = every.start[kind]
    for row in range(len(room)):
        first, second = _moved_down(limits.lots, every.first[begin + row], every.second[begin + row])
        same = every.rank[every.code[first] + 2 * every.code[second]]
        if room[same] < 0:
            for place in range(len(aboard)):
                open_to[place] = limits.fit[aboard[place]] & (first if is_first[aboard[place]] else second)
            room[same] = _have_room(limits, aboard, open_to, shortest_mm, first, second, pos, still, used)
        room[row] = room[same]
