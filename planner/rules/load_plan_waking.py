"""
Waking: bounds for a few cars, only so that the kernels for load plans of large decks are made or loaded before one is needed.

The plain search is woken with the search for a day (``planner.search.waking``); most days need no more than that.
"""

import numpy as np

from planner.model.decks import library
from planner.rules.load_plan_ahead import moves_ahead
from planner.rules.load_plan_arrays import deck_arrays, size_array


def wake() -> None:
    """Work out bounds for a few cars; what comes out is thrown away."""
    deck = deck_arrays(library()["four-car-rigid"])
    cars = size_array([(3900, 1800, 1480, 1100, 150)] * 3)
    on_at, off_at = np.array([0, 0, 1]), np.array([1, 2, 3])
    moves_ahead(deck, cars, on_at, off_at, 3)


if __name__ == "__main__":
    wake()
