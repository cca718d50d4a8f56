"""Pairs of disjoint sets among the slots of a deck, numbered so that a table can hold a figure for each."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.rules.load_plan_arrays import Whole


class Pairs(NamedTuple):
    """
    Pairs of disjoint sets among n slots; key ``code[first] + 2 * code[second]``.

    Those of like sizes are of one *kind*, numbered (n + 1) x size of first + size of second, and stand together.
    """

    size: Whole  # 2^n, of each set
    code: Whole  # 2^n, the bits of a set read to base three
    rank: NDArray[np.int32]  # 3^n, by key: which of the pairs of its kind it is
    start: Whole  # by kind: where its pairs begin in the two lists
    first: Whole
    second: Whole

    def kind_of(self, is_first: NDArray[np.bool_]) -> int:
        """Return the kind of pairs for these cars, those that are first and the others."""
        return int(is_first.sum()) * (len(self.code).bit_length() - 1) + len(is_first)

    def count(self, kind: int) -> int:
        """Return how many pairs are of a kind."""
        return int(self.start[kind + 1] - self.start[kind])


@lru_cache(maxsize=16)
def pairs(num_slots: int) -> Pairs:
    """Return the pairs of disjoint sets among so many slots."""
    keys, slots = np.arange(3**num_slots), np.arange(num_slots)
    sets = np.arange(1 << num_slots)[:, None] >> slots & 1
    digits = keys[:, None] // 3**slots % 3  # by key and slot: 1 in the first set, 2 in the second
    first, second = ((digits == which) @ (1 << slots) for which in (1, 2))
    size = sets.sum(axis=1)
    kind = size[first] * (num_slots + 1) + size[second]
    order = np.argsort(kind, kind="stable")
    start = np.searchsorted(kind[order], np.arange((num_slots + 1) ** 2 + 1))
    rank = np.empty(len(keys), dtype=np.int32)
    rank[order] = keys - start[kind[order]]
    return Pairs(size, sets @ 3**slots, rank, start, first[order], second[order])
