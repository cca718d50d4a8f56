# ruff: noqa: C901, PLR0912 - compiled loops over bits cannot be cut into small functions without losing speed
"""Tables of one deck and its cars, made once before the search: where each fits, beside whom, and what it takes of each sum."""

import numpy as np
from numba import njit

from planner.rules.load_plan_arrays import DeckArrays, Whole


@njit(cache=True)
def ones(bits: int) -> int:
    """Return how many bits are set."""
    count = 0
    while bits:
        bits &= bits - 1
        count += 1
    return count


@njit(cache=True)
def tables(deck: DeckArrays, cars: Whole) -> tuple[Whole, Whole]:
    """
    Return where each car fits alone, and where the second fits while the first stands.

    The first array holds bits of slots by car; the second by first car, its slot, second car.
    """
    num_slots, num_cars = len(deck.length), len(cars)
    fit = np.zeros(num_cars, np.int64)
    for car in range(num_cars):
        for slot in range(num_slots):
            if (
                cars[car, 0] <= deck.length[slot]
                and cars[car, 1] <= deck.width[slot]
                and cars[car, 2] <= deck.height[slot]
                and cars[car, 3] <= deck.mass[slot]
                and cars[car, 4] >= deck.clearance
                and cars[car, 3] <= deck.payload
                and deck.base[slot] + cars[car, 2] <= deck.loaded_height
            ):
                fit[car] |= 1 << slot
    beside = np.zeros((num_cars, num_slots, num_cars), np.int64)
    for first in range(num_cars):
        for slot in range(num_slots):
            for second in range(num_cars):
                beside[first, slot, second] = fit[second] & ~(1 << slot)
    for row in range(len(deck.stack)):
        above, below, platform = deck.stack[row, 0], deck.stack[row, 1], deck.stack[row, 2]
        for low in range(num_cars):
            needed = deck.base[below] + cars[low, 2] + platform
            for high in range(num_cars):
                wheels = max(needed, deck.base[above])
                if needed > deck.highest[above] or wheels + cars[high, 2] > deck.loaded_height:
                    beside[low, below, high] &= ~(1 << above)
                    beside[high, above, low] &= ~(1 << below)
    for row in range(len(deck.shut)):
        slot, other = deck.shut[row, 0], deck.shut[row, 1]
        for first in range(num_cars):
            if cars[first, 0] > deck.shut[row, 2] or cars[first, 2] > deck.shut[row, 3]:
                for second in range(num_cars):
                    beside[first, slot, second] &= ~(1 << other)
                    beside[second, other, first] &= ~(1 << slot)
    return fit, beside


@njit(cache=True)
def weights(deck: DeckArrays, cars: Whole) -> tuple[Whole, Whole]:
    """
    Return what each car in each slot takes of every shared sum (slot, car, sum), and the sums' limits.

    A sum that no load of these cars can pass counts nothing.
    """
    num_levels, num_sums = len(deck.level_mm), len(deck.level_mm) + len(deck.sum_g)
    weight = np.zeros((len(deck.length), len(cars), num_sums), np.int64)
    limit = np.zeros(num_sums, np.int64)
    for level in range(num_levels):
        limit[level] = deck.level_mm[level]
        for slot in range(len(deck.length)):
            if deck.level_bits[level] >> slot & 1:
                for car in range(len(cars)):  # element by element: assigned whole, it takes seconds more to compile
                    weight[slot, car, level] = cars[car, 0] + deck.gap
    for group in range(len(deck.sum_g)):
        limit[num_levels + group] = deck.sum_g[group]
        for slot in range(len(deck.length)):
            for car in range(len(cars)):
                weight[slot, car, num_levels + group] = cars[car, 3] * deck.share[group, slot]
    for part in range(num_sums):
        most = 0
        for slot in range(len(deck.length)):
            heaviest = 0
            for car in range(len(cars)):
                heaviest = max(heaviest, weight[slot, car, part])
            most += heaviest
        if most <= limit[part]:
            for slot in range(len(deck.length)):
                for car in range(len(cars)):
                    weight[slot, car, part] = 0
    return weight, limit


@njit(cache=True)
def never_both(fit: Whole, beside: Whole) -> Whole:
    """Return for each slot the bits of those that no two of the cars can take together with it."""
    num_cars, num_slots = len(fit), beside.shape[1]
    never = np.full(num_slots, (1 << num_slots) - 1, np.int64)
    for slot in range(num_slots):
        for first in range(num_cars):
            if fit[first] >> slot & 1:
                for second in range(num_cars):
                    if second != first:
                        never[slot] &= ~beside[first, slot, second]
        never[slot] &= ~(1 << slot)
    return never


@njit(cache=True)
def recount(weight: Whole, used: Whole, pos: Whole) -> None:
    """Write what the cars that have slots take of each sum."""
    used[:] = 0
    for car in range(len(pos)):
        if pos[car] >= 0:
            for part in range(len(used)):
                used[part] += weight[pos[car], car, part]
