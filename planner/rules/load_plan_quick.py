"""
The quick test of a load: what must hold at least, in a few microseconds, before the exact search is asked.

Every test here is necessary and none sufficient: a load that fails it is impossible, a load that passes may still be.
"""

from collections.abc import Collection
from functools import lru_cache
from typing import NamedTuple

from planner.model.decks import Deck
from planner.rules.load_plan_arrays import Size


class QuickLimits(NamedTuple):
    """
    The sums that a compiled label search may keep as it goes.

    Each car aboard adds 1 to the count, its mass to the kilograms and ``length_mm + gap_mm`` to the length; the load is
    impossible as soon as a sum passes its limit.  The tuples are the slots' own limits, largest first: the k-th longest
    (tallest, heaviest) car aboard must be within the k-th.
    """

    slots: int
    payload_kg: int
    length_mm: int
    gap_mm: int
    lengths_mm: tuple[int, ...]
    heights_mm: tuple[int, ...]
    masses_kg: tuple[int, ...]


@lru_cache(maxsize=1024)
def quick_limits(deck: Deck) -> QuickLimits:
    """Return the sums of a deck; a slot that is on no level adds its own length."""
    level_names = {level.name for level in deck.levels}
    length = sum(level.whole_mm + deck.gap_mm for level in deck.levels)
    length += sum(slot.length_mm + deck.gap_mm for slot in deck.slots if slot.level not in level_names)
    return QuickLimits(
        slots=len(deck.slots),
        payload_kg=deck.payload_kg,
        length_mm=length,
        gap_mm=deck.gap_mm,
        lengths_mm=tuple(sorted((slot.length_mm for slot in deck.slots), reverse=True)),
        heights_mm=tuple(sorted((min(slot.height_mm, deck.height_mm - slot.base_mm) for slot in deck.slots), reverse=True)),
        masses_kg=tuple(sorted((slot.mass_kg for slot in deck.slots), reverse=True)),
    )


def sizes_fit_quickly(deck: Deck, sizes: Collection[Size]) -> bool:
    """Return False only if cars of these sizes can never stand on the deck together."""
    limits = quick_limits(deck)
    lengths, masses, heights = ([size[part] for size in sizes] for part in (0, 3, 2))
    if len(sizes) > limits.slots or sum(masses) > limits.payload_kg:
        return False
    if sum(lengths) + limits.gap_mm * len(sizes) > limits.length_mm:
        return False
    return all(
        value <= limit
        for values, most in ((lengths, limits.lengths_mm), (masses, limits.masses_kg), (heights, limits.heights_mm))
        for value, limit in zip(sorted(values, reverse=True), most, strict=False)
    )
