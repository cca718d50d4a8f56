"""
Deck shares: whole numbers for cars, such that cars that can stand on a deck together never have more than ``WHOLE``.

Which cars fit beside which is a puzzle of lengths, heights and masses; labels can only add.  Shares are the additive rule that
refuses most of the loads that proved impossible and none that is possible: a linear program raises the refused ones above
the whole, and an exact search finds every load that stands and would be refused too, until there is none (valid inequalities
by separation, as in Boyd 1994, Operations Research 42).
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from planner.model.decks import Deck
from planner.rules.load_plan_arrays import DeckArrays, Size, Whole, deck_arrays, size_array
from planner.rules.load_plan_standing import stand_together
from planner.search.quiet_highs import UNBOUND, quiet_highs

WHOLE = 10_000
NUMBERS_OF_KINDS = (12, 8, 5)  # sizes told apart, tried in turn: the fewer, the quicker the search and the weaker the rule
MOST_REFUSED = 300
MOST_ROUNDS, MOST_LOOKS = 60, 40_000
SAMPLE = 60  # refused loads by which sizes are told apart
ABOVE = 1.02  # as far above the whole as a refused load need be
TOLERANCE = 1e-6

Counts = tuple[int, ...]  # cars by kind
Floats = npt.NDArray[np.float64]
Labels = npt.NDArray[np.int64]  # kind by size


@lru_cache(maxsize=256)
def deck_shares(deck: Deck, sizes: tuple[Size, ...], refused: tuple[tuple[Size, ...], ...]) -> dict[Size, int]:
    """
    Return a share of the deck for each size, in ten-thousandths; all zero where no such rule was found in time.

    Parameters
    ----------
    deck
        With the payload of the vehicle.
    sizes
        Every size of car that may be carried.
    refused
        Sizes of cars that cannot stand on it together, each set one that ought to be refused.

    """
    rank_of = {size: rank for rank, size in enumerate(sizes)}
    loads = [np.array([rank_of[size] for size in some]) for some in refused[-MOST_REFUSED:]]
    arrays, cars = deck_arrays(deck), size_array(list(sizes))
    for most in NUMBERS_OF_KINDS:
        labels = _kinds(arrays, cars, loads[-SAMPLE:], most)
        standing = _Standing(arrays, _least(cars, labels))
        wanted = {tuple(np.bincount(labels[load], minlength=len(standing.kinds)).tolist()): None for load in loads}
        shares = _raised(standing, [counts for counts in wanted if not standing.can(counts)])
        if shares is not None:
            whole = (shares * (1 - TOLERANCE) * WHOLE).astype(int)  # rounded down
            return dict(zip(sizes, whole[labels].tolist(), strict=True))
    return dict.fromkeys(sizes, 0)


def _kinds(deck: DeckArrays, sizes: Whole, loads: Sequence[Labels], most: int) -> Labels:
    """Return a kind for each size: all in one, then one parted after the other so that most of the loads stay refused."""
    if len(sizes) <= most:
        return np.arange(len(sizes))

    def worth(labels: Labels) -> tuple[int, int]:
        """Return how many loads are still refused with each car as its kind, and how long these cars are together."""
        cars = _least(sizes, labels)[labels]
        return sum(not stand_together(deck, cars[load]) for load in loads), int(cars[:, 0].sum())

    labels = np.zeros(len(sizes), np.int64)
    for kind in range(1, most):
        labels = max(_parted(sizes, labels, kind), key=worth, default=labels)  # sizes left may differ in width alone
    return labels


def _parted(sizes: Whole, labels: Labels, fresh: int) -> Iterator[Labels]:
    """Yield the labels with the longer, taller or heavier of one kind made a fresh one."""
    for kind in range(fresh):
        members = np.flatnonzero(labels == kind)
        for column in (0, 2, 3):
            values = np.unique(sizes[members, column])
            for place in {len(values) // 2, len(values) * 3 // 4} - {0}:
                parted = labels.copy()
                parted[members[sizes[members, column] >= values[place]]] = fresh
                yield parted


def _least(sizes: Whole, labels: Labels) -> Whole:
    """Return for each kind a size that stands wherever any of its members does."""
    kinds = [sizes[labels == kind] for kind in range(int(labels.max()) + 1)]
    return np.array([[*members[:, :4].min(axis=0), members[:, 4].max()] for members in kinds])


class _Standing:
    """What stands on a deck, by kinds; remembered."""

    def __init__(self, deck: DeckArrays, kinds: Whole) -> None:
        self.deck, self.kinds, self.slots = deck, kinds, len(deck.length)
        self.known: dict[Counts, bool] = {}
        self.looks = 0

    def can(self, counts: Counts) -> bool:
        """Return whether so many cars of each kind can stand together."""
        if counts not in self.known:
            self.known[counts] = stand_together(self.deck, np.repeat(self.kinds, counts, axis=0))
        return self.known[counts]

    def above(self, shares: Floats) -> list[Counts] | None:
        """
        Return loads that stand and have more than the whole, the largest among them; None where they take too long to find.

        Kinds come in one after the other, the smallest share first, and what those before can add at most bounds the search
        (Russian dolls: Verfaillie, Lemaitre and Schiex 1996).
        """
        order = [int(kind) for kind in np.argsort(shares, kind="stable") if shares[kind] > TOLERANCE]
        best = np.zeros((len(order) + 1, self.slots + 1))  # of the first kinds, with so many cars at most
        above: dict[Counts, None] = {}
        counts = [0] * len(self.kinds)

        def most(rank: int, left: int, total: float, least: float) -> float:
            """Return the largest total above ``least`` with kinds before ``rank`` beside the counts, ``least`` for none."""
            self.looks += 1
            if self.looks > MOST_LOOKS or rank == 0 or left == 0 or total + best[rank, left] <= least + TOLERANCE:
                return max(least, total)
            kind, added = order[rank - 1], 0
            while added < left:
                counts[kind] = added + 1
                if not self.can(tuple(counts)):
                    break
                added += 1
            for count in range(added, -1, -1):
                counts[kind] = count
                now = total + count * float(shares[kind])
                if now > 1 + TOLERANCE:
                    above[tuple(counts)] = None
                least = max(least, most(rank - 1, left - count, now, least))
            return least

        for rank in range(1, len(order) + 1):
            for left in range(1, self.slots + 1):
                best[rank, left] = np.inf
                best[rank, left] = most(rank, left, 0.0, max(best[rank - 1, left], best[rank, left - 1]))
        return list(above) if self.looks <= MOST_LOOKS else None


def _raised(standing: _Standing, wanted: Sequence[Counts]) -> Floats | None:
    """Return shares that put as many of the wanted loads above the whole as they can, and none that stands; None for no time."""
    kinds = len(standing.kinds)
    program = quiet_highs()
    for _ in range(kinds):
        program.addVar(0.0, 1.0)
    for rank, counts in enumerate(wanted):
        program.addVar(-UNBOUND, ABOVE)
        program.changeColCost(kinds + rank, -1.0)
        _add_row(program, 0.0, UNBOUND, {kind: count for kind, count in enumerate(counts) if count} | {kinds + rank: -1})
    standing_loads = [tuple(int(kind == one) for kind in range(kinds)) for one in range(kinds)]
    for _ in range(MOST_ROUNDS):
        for counts in standing_loads:
            _add_row(program, -UNBOUND, 1.0, {kind: count for kind, count in enumerate(counts) if count})
        program.run()
        shares = np.array(program.getSolution().col_value)[:kinds]
        above = standing.above(shares)
        if not above:
            return shares if above is not None else None
        standing_loads = above
    return None


def _add_row(program: Any, low: float, high: float, entries: dict[int, int]) -> None:
    program.addRow(low, high, len(entries), np.array(list(entries), np.int32), np.array(list(entries.values()), float))
