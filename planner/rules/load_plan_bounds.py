# ruff: noqa: PLR0917 - compiled functions take the arrays they read
"""Reasons to leave a branch of the search for a load plan: moves that cannot be avoided, slots that cannot all be filled."""

from numba import njit

from planner.rules.load_plan_arrays import Whole
from planner.rules.load_plan_tables import ones


@njit(cache=True)
def rings(blocked: Whole, off_at: Whole, pos: Whole, faced: Whole) -> tuple[int, int]:
    """
    Return moves that cannot be avoided among the cars aboard, and bits of the cars counted.

    Of cars that all stand in each other's way at some later stop, all but one have to be moved; such rings are picked so that
    no car is in two.  ``faced`` is room to work in, one a car.
    """
    num_cars, count, counted = len(pos), 0, 0
    faced[:] = 0
    for car in range(num_cars):
        if pos[car] >= 0:
            way = blocked[pos[car]]
            for other in range(num_cars):
                if pos[other] >= 0 and way >> pos[other] & 1 and off_at[car] < off_at[other]:
                    faced[car] |= 1 << other
                    faced[other] |= 1 << car
    for car in range(num_cars):
        if counted >> car & 1 or faced[car] == 0:
            continue
        rest = faced[car] & ~counted
        if rest:
            counted |= 1 << car
        other = 0
        while rest >> other:
            if rest >> other & 1:
                counted |= 1 << other
                count += 1
                rest &= faced[other]
            other += 1
    return count, counted


@njit(cache=True)
def all_filled(never: Whole, slots: int) -> bool:
    """Return False when two of the slots, all of which have to be filled, can never be filled together."""
    both = True
    for slot in range(len(never)):
        both &= not slots >> slot & 1 or never[slot] & slots == 0
    return both


@njit(cache=True)
def lengths_fit(
    level_bits: Whole, gap: int, cars: Whole, by_length: Whole, limit: Whole, used: Whole, todo: int, pos: Whole, slots: int,
    wanting: int,
) -> bool:  # fmt: skip
    """Return False when the cars still to be placed cannot be shared out over the levels; so many are ``wanting``."""
    needed, room, filled = 0, 0, wanting == ones(slots)
    for car in by_length:
        if todo >> car & 1 and pos[car] < 0:
            needed += cars[car, 0] + gap
    for level in range(len(level_bits)):
        free = ones(slots & level_bits[level])
        left = limit[level] - used[level]
        shortest, longest, first, last = 0, 0, 0, len(by_length) - 1
        while free:
            while first < len(by_length) and not (todo >> by_length[first] & 1 and pos[by_length[first]] < 0):
                first += 1
            while last >= 0 and not (todo >> by_length[last] & 1 and pos[by_length[last]] < 0):
                last -= 1
            if last < 0:
                break
            shortest += cars[by_length[first], 0] + gap
            longest += cars[by_length[last], 0] + gap
            first, last, free = first + 1, last - 1, free - 1
        if filled and shortest > left:
            return False
        room += min(left, longest)
    return needed <= room
