"""
Whether cars can stand on a deck together, however they got there.

Length, height and mass are first looked at alone, the other figures of every car set to the least among them: fewer kinds of
cars make a proof of "no" quick, and what is impossible then is impossible with the true figures.
"""

import numpy as np

from planner.rules.load_plan_ahead import NOTHING
from planner.rules.load_plan_arrays import MOST_SLOTS, NO_LIMIT, DeckArrays, Whole
from planner.rules.load_plan_kernel import LIMIT_REACHED, fewest
from planner.rules.load_plan_solver import fewest_by_solver

#: Placements before the figures are looked at one by one, and before the constraint solver is asked.
FIRST_LOOK, LAST_LOOK = 5_000, 200_000


def stand_together(deck: DeckArrays, cars: Whole) -> bool:
    """Return whether these cars (rows of length, width, height, mass, clearance) can stand on the deck together."""
    if len(cars) > len(deck.length) or int(cars[:, 3].sum()) > deck.payload:
        return False
    answer = _looked(deck, cars, FIRST_LOOK)
    if answer is None:
        least = cars.min(axis=0)
        for column in (2, 0, 3):
            alone = np.tile(least, (len(cars), 1))
            alone[:, column] = cars[:, column]
            if _looked(deck, alone, LAST_LOOK) is False:
                return False
        answer = _looked(deck, cars, LAST_LOOK)
    if answer is None:
        answer = fewest_by_solver(deck, cars, ((0, 1),) * len(cars), 1) is not None
    return answer


def _looked(deck: DeckArrays, cars: Whole, node_limit: int) -> bool | None:
    """Return the compiled search's answer, None when it ran out of placements."""
    if len(deck.length) > MOST_SLOTS:
        return None
    num = len(cars)
    order = np.lexsort(cars.T)
    group = np.zeros(num, dtype=np.int64)
    group[order[1:]] = np.cumsum(np.any(cars[order[1:]] != cars[order[:-1]], axis=1))
    zeros, ones = np.zeros(num, dtype=np.int64), np.ones(num, dtype=np.int64)
    found, moved = np.full((1, num), -1, dtype=np.int64), np.zeros(1, dtype=np.int64)
    moves = int(fewest(deck, cars, zeros, ones, group, 1, 0, 0, min(node_limit, NO_LIMIT), NOTHING, found, moved))
    return None if moves <= LIMIT_REACHED else moves == 0
