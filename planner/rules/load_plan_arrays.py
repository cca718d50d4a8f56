"""
A deck and its cars as arrays of whole numbers, the form in which the search for a load plan reads them.

Slots are bits of a whole number, in the order of ``Deck.slots``.  Lengths are millimetres, masses kilograms.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.model.cars import Car
from planner.model.decks import Deck

Whole = NDArray[np.int64]

#: Stands for "no limit".
NO_LIMIT = 1 << 40
#: Decks with more slots go to the constraint solver.
MOST_SLOTS = 12


class DeckArrays(NamedTuple):
    """One deck; n slots, l levels, p stacks, q shut slots, g mass sums."""

    length: Whole  # n
    width: Whole  # n
    height: Whole  # n
    mass: Whole  # n
    base: Whole  # n, wheels at the lowest
    highest: Whole  # n, wheels at the highest
    blocked: Whole  # n, bits of the slots that must be clear
    blocks: Whole  # n, bits of the slots that it stands in the way of
    aside_from: Whole  # 2^n + 1, where in ``aside`` the sets begin that may be cleared from those occupied slots
    aside: Whole  # sets of occupied slots that can be cleared with no other standing in the way, smallest first
    level_bits: Whole  # l, bits of the slots that share the length
    level_mm: Whole  # l, shared length, overhangs and one gap included
    stack: Whole  # p x 3: above, below, platform
    shut: Whole  # q x 4: slot, other, over length, over height
    share: Whole  # g x n, thousandths
    sum_g: Whole  # g, grams on the group: kilograms times thousandths
    gap: int
    clearance: int
    payload: int
    loaded_height: int


def _whole(rows: list[object], *shape: int) -> Whole:
    return np.array(rows, dtype=np.int64).reshape(shape)


@njit(cache=True)
def clearable(blocked: Whole) -> tuple[Whole, Whole]:
    """
    Return for every set of occupied slots which of them can be cleared together, smallest sets first.

    A set can be cleared when whatever stands in the way of its members belongs to it.  The sets of occupied slots ``k`` are
    ``second[first[k]:first[k + 1]]``.
    """
    num_slots = len(blocked)
    starts = np.zeros((1 << num_slots) + 1, np.int64)
    way = np.zeros(1 << num_slots, np.int64)  # everything in the way of any member
    size = np.zeros(1 << num_slots, np.int64)
    for some in range(1, 1 << num_slots):
        for slot in range(num_slots):
            if some >> slot & 1:
                way[some] |= blocked[slot]
                size[some] += 1
    for counting in (True, False):
        sets = np.zeros(0 if counting else starts[-1], np.int64)
        for occupied in range(1 << num_slots):
            place = starts[occupied]
            for members in range(num_slots + 1):
                some = occupied
                while True:
                    if size[some] == members and way[some] & occupied & ~some == 0:
                        if not counting:
                            sets[place] = some
                        place += 1
                    if some == 0:
                        break
                    some = (some - 1) & occupied
            if counting:
                starts[occupied + 1] = place
    return starts, sets


@lru_cache(maxsize=1024)
def deck_arrays(deck: Deck) -> DeckArrays:
    """Return the deck as arrays; the sets to clear are listed up to ``MOST_SLOTS`` slots, beyond that left empty."""
    at = deck.slot_index
    blocked = _whole([sum(1 << at[name] for name in set(slot.blocked_by)) for slot in deck.slots], -1)
    aside_from, aside = clearable(blocked) if len(blocked) <= MOST_SLOTS else (blocked[:0], blocked[:0])
    shares = [dict(total.shares) for total in deck.mass_sums]
    none = NO_LIMIT
    return DeckArrays(
        length=_whole([slot.length_mm for slot in deck.slots], -1),
        width=_whole([slot.width_mm for slot in deck.slots], -1),
        height=_whole([slot.height_mm for slot in deck.slots], -1),
        mass=_whole([slot.mass_kg for slot in deck.slots], -1),
        base=_whole([slot.base_mm for slot in deck.slots], -1),
        highest=_whole([slot.highest_mm for slot in deck.slots], -1),
        blocked=blocked,
        blocks=_whole([sum(1 << row for row, bits in enumerate(blocked.tolist()) if bits >> slot & 1)
                       for slot in at.values()], -1),
        aside_from=aside_from,
        aside=aside,
        level_bits=_whole([sum(1 << at[slot.name] for slot in deck.slots if slot.level == level.name)
                           for level in deck.levels], -1),
        level_mm=_whole([level.whole_mm + deck.gap_mm for level in deck.levels], -1),
        stack=_whole([(at[stack.above], at[stack.below], stack.platform_mm) for stack in deck.stacks], -1, 3),
        shut=_whole(
            [(at[shut.slot], at[shut.other], none if shut.over_length_mm is None else shut.over_length_mm,
              none if shut.over_height_mm is None else shut.over_height_mm) for shut in deck.shuts], -1, 4),
        share=_whole([[share.get(slot.name, 0) for slot in deck.slots] for share in shares], -1, len(deck.slots)),
        sum_g=_whole([total.max_kg * 1000 for total in deck.mass_sums], -1),
        gap=deck.gap_mm,
        clearance=deck.least_clearance_mm,
        payload=deck.payload_kg,
        loaded_height=deck.height_mm,
    )  # fmt: skip


#: What of a car decides where it can stand: length, width, height, mass, ground clearance.
Size = tuple[int, int, int, int, int]


def size_of(car: Car) -> Size:
    """Return the size class of a car; cars of one class are interchangeable on a deck.  Unknown clearance counts as clear."""
    clearance = NO_LIMIT if car.ground_clearance_mm is None else car.ground_clearance_mm
    return (car.length_mm, car.width_mm, car.height_mm, car.mass_kg, clearance)


def size_array(sizes: list[Size]) -> Whole:
    """Return sizes as rows of five."""
    return np.array(sizes, dtype=np.int64).reshape(-1, 5)
