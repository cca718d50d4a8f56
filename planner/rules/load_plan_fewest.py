"""
The fewest moves for cars known by size and the stages at which they come and go: which search is asked, and for how long.

Searches are counted in placements, not in seconds, so that the answer is the same on every machine.  Most runs are answered by
the plain search in a few thousand.  The others are searched with bounds on the moves ahead, from whichever end has fewer cars
aboard: a run driven backwards needs the same moves, and few cars at the start leave few ways to begin.  A short look from the
other end comes second.  Where even that proves nothing, plans are made better for a while, and the answer says how many moves
are proven necessary.
"""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from planner.model.decks import Deck
from planner.rules.load_plan_ahead import NOTHING, Ahead, moves_ahead
from planner.rules.load_plan_arrays import MOST_SLOTS, DeckArrays, Size, Whole, deck_arrays, size_array
from planner.rules.load_plan_kernel import LIMIT_REACHED, MOST_KINDS, fewest
from planner.rules.load_plan_solver import Solved, Stays, fewest_by_solver

#: Placements after which the plain search gives up, the looks with quick bounds, that with all bounds, and each look for a
#: better plan after that.
PLAIN_LIMIT, QUICK_LIMIT, NODE_LIMIT, SHORT_LIMIT = 2_000, 20_000, 2_000_000, 300_000


def fewest_moves(deck: Deck, sizes: tuple[Size, ...], stays: Stays, num_stages: int) -> Solved | None:
    """
    Return the plan with fewest moves, None when none exists.

    ``stays`` gives for each car the stages at which it comes on and goes off, ``num_stages`` for one that is aboard at the end.
    """
    search, at_least = _Search.of(deck, sizes, stays, num_stages), 0
    turned = search.driven_backwards()
    if len(deck.slots) <= MOST_SLOTS and max(max(one.group) for one in (search, turned)) < MOST_KINDS:
        if search.look(NOTHING, PLAIN_LIMIT):
            return search.told()
        at_least, emptier, fuller = search.at_least, *((search, turned) if search.starts_emptier else (turned, search))
        for one, whole, limit in ((emptier, False, QUICK_LIMIT), (fuller, False, QUICK_LIMIT), (emptier, True, NODE_LIMIT)):
            ahead = one.bounds(whole=whole)
            one.at_least = max(at_least, ahead.least)
            if one.look(ahead, limit):
                return one.told()
            at_least = one.at_least
        if emptier.look_for_less_and_less(ahead):
            return emptier.told()
        at_least = emptier.at_least
    return fewest_by_solver(deck_arrays(deck), size_array(list(sizes)), stays, num_stages, at_least=at_least)


@dataclass(kw_only=True)
class _Search:
    """A run to be searched, and the best that is known of it: moves proven necessary, the plan found last."""

    deck: DeckArrays
    cars: Whole
    on_at: Whole
    off_at: Whole
    num_stages: int
    backwards: bool = False
    at_least: int = 0
    moves: int = -1
    slots: Whole | None = None
    moved: Whole | None = None

    @classmethod
    def of(cls, deck: Deck, sizes: tuple[Size, ...], stays: Stays, num_stages: int) -> Self:
        on_at, off_at = np.array(stays, dtype=np.int64).T.copy()
        return cls(deck=deck_arrays(deck), cars=size_array(list(sizes)), on_at=on_at, off_at=off_at, num_stages=num_stages)

    @property
    def group(self) -> Whole:
        """The kind of each car: those of one size that go off together are of one."""
        numbers: dict[tuple[int, ...], int] = {}
        rows = np.column_stack((self.cars, self.off_at)).tolist()
        return np.array([numbers.setdefault(tuple(row), len(numbers)) for row in rows])

    @property
    def starts_emptier(self) -> bool:
        """Whether no more cars are aboard at the start than at the end."""
        return bool((self.on_at == 0).sum() <= (self.off_at == self.num_stages).sum())

    def driven_backwards(self) -> Self:
        """Return the same run from its last stage to its first."""
        return replace(self, on_at=self.num_stages - self.off_at, off_at=self.num_stages - self.on_at, backwards=True)

    def bounds(self, *, whole: bool) -> Ahead:
        """Return the bounds on the moves ahead, all of them or those to the end of the run."""
        return moves_ahead(self.deck, self.cars, self.on_at, self.off_at, self.num_stages, whole=whole)

    def look(self, ahead: Ahead, limit: int, budget: int | None = None) -> bool:
        """Return whether a plan was found, with the fewest moves or within the budget; learn what is necessary otherwise."""
        found = np.full((self.num_stages, len(self.cars)), -1, dtype=np.int64)
        moved = np.zeros(self.num_stages, dtype=np.int64)
        least, most = (self.at_least, self.num_stages * len(self.cars)) if budget is None else (budget, budget)
        answer = int(fewest(self.deck, self.cars, self.on_at, self.off_at, self.group, self.num_stages, least, most, limit, ahead,
                            found, moved))  # fmt: skip
        if answer >= 0:
            self.moves, self.slots, self.moved = sum(int(bits).bit_count() for bits in moved), found, moved
            self.at_least = self.moves if budget is None else self.at_least
        elif budget is None:
            self.at_least = LIMIT_REACHED - answer
        elif answer > LIMIT_REACHED:
            self.at_least = budget + 1  # looked at everything that the budget allows
        return answer >= 0

    def look_for_less_and_less(self, ahead: Ahead) -> bool:
        """Return whether a plan was found at all, made better as long as a short look does it."""
        budget = self.at_least
        while self.moves < 0 and budget < self.num_stages * len(self.cars):
            budget += 1
            self.look(ahead, SHORT_LIMIT, budget)
        while self.moves > self.at_least and self.look(ahead, SHORT_LIMIT, self.moves - 1):
            pass
        return self.moves >= 0

    def told(self) -> Solved:
        """Return the plan found last, in the order in which the run is driven."""
        assert self.slots is not None
        assert self.moved is not None
        slots, moved = self.slots, self.moved
        if self.backwards:
            slots, moved = slots[::-1], np.roll(moved[::-1], 1)  # nobody is moved at the first stage either way
        cars = range(len(self.cars))
        asides = tuple(tuple(car for car in cars if bits >> car & 1) for bits in map(int, moved))
        return self.moves, self.at_least, tuple(tuple(int(slot) for slot in row) for row in slots), asides
