# ruff: noqa: PLR0917 - compiled functions take the arrays they read
"""Reasons to leave a branch of the search for a load plan: moves that cannot be avoided, slots that cannot all be filled."""

from numba import njit

from planner.rules.load_plan_arrays import Whole


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
def shuts_out(
    blocked: Whole, blocks: Whole, fit: Whole, beside: Whole, on_at: Whole, off_at: Whole, pos: Whole, stage: int, counted: int,
) -> bool:  # fmt: skip
    """Return whether a car that comes on after ``stage`` finds no slot unless it or a car not counted is moved."""
    for late in range(len(pos)):
        if on_at[late] <= stage:
            continue
        open_bits = fit[late]
        for car in range(len(pos)):
            if pos[car] < 0 or counted >> car & 1 or off_at[car] <= on_at[late]:
                continue
            open_bits &= beside[car, pos[car], late] & ~blocks[pos[car]]
            if off_at[late] > off_at[car]:
                open_bits &= ~blocked[pos[car]]
        if open_bits == 0:
            return True
    return False


@njit(cache=True)
def all_filled(never: Whole, slots: int) -> bool:
    """Return False when two of the slots, all of which have to be filled, can never be filled together."""
    both = True
    for slot in range(len(never)):
        both &= not slots >> slot & 1 or never[slot] & slots == 0
    return both
