"""
A deck: the loading surface of a transporter, slot by slot, with every limit a load has to keep.

Lengths and heights are millimetres, masses kilograms.  ``x_mm`` runs from the front bumper to the rear; heights are above
the road.

How the limits read
-------------------
- A slot takes one car, within its own length, width, height and mass.
- A *level* is a row of slots that share one length: cars and the gaps between them together, overhangs included.
- A *stack* is a slot over another.  The upper one is lifted until it clears the car below; the tall car below thus costs
  the car above headroom, and the lift ends at ``raised_mm``.  A platform without a car is taken to be laid out of the way of
  a taller car; where yours cannot be, give the slot below that ``height_mm``.
- A *shut* slot stays empty when a neighbour holds a long or a tall car.
- A *mass sum* bounds an axle group, a trailer or a level: each car counts by the share of its slot.
- ``blocked_by`` names the slots that must be clear while a car is driven on or off.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from graphlib import CycleError, TopologicalSorter

from planner.model.cars import Car


@dataclass(frozen=True, kw_only=True, slots=True)
class Slot:
    """One car's place.  ``base_mm`` is where its wheels stand at the lowest; it can be lifted to ``raised_mm``."""

    name: str
    level: str
    x_mm: int
    base_mm: int
    length_mm: int
    width_mm: int
    height_mm: int
    mass_kg: int
    raised_mm: int = 0  # 0: it does not move
    blocked_by: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for field in ("base_mm", "length_mm", "width_mm", "height_mm", "mass_kg"):
            if getattr(self, field) <= 0:
                raise ValueError(f"Expected {field} > 0 in slot {self.name}, got {getattr(self, field)}.")
        if 0 < self.raised_mm < self.base_mm:
            raise ValueError(f"Expected raised_mm >= base_mm ({self.base_mm}) in slot {self.name}, got {self.raised_mm}.")

    @property
    def highest_mm(self) -> int:
        """How high its wheels can stand."""
        return max(self.base_mm, self.raised_mm)


@dataclass(frozen=True, kw_only=True, slots=True)
class Level:
    """A row of slots sharing one length; ``front_mm`` and ``rear_mm`` are how far cars may stand out over its ends."""

    name: str
    length_mm: int
    front_mm: int = 0
    rear_mm: int = 0

    def __post_init__(self) -> None:
        if self.length_mm <= 0 or min(self.front_mm, self.rear_mm) < 0:
            raise ValueError(f"Expected a length > 0 and overhangs >= 0 on level {self.name}.")

    @property
    def whole_mm(self) -> int:
        """Length with both overhangs."""
        return self.length_mm + self.front_mm + self.rear_mm


@dataclass(frozen=True, kw_only=True, slots=True)
class Stack:
    """Slot ``above`` stands over slot ``below``; ``platform_mm`` is from the lower car's roof to the upper car's wheels."""

    above: str
    below: str
    platform_mm: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Shut:
    """Slot ``other`` stays empty when ``slot`` holds a car longer, or taller, than the figure; None: never for that."""

    slot: str
    other: str
    over_length_mm: int | None = None
    over_height_mm: int | None = None

    def holds_for(self, car: Car) -> bool:
        """Whether that car in ``slot`` keeps ``other`` empty."""
        long = self.over_length_mm is not None and car.length_mm > self.over_length_mm
        return long or (self.over_height_mm is not None and car.height_mm > self.over_height_mm)


@dataclass(frozen=True, kw_only=True, slots=True)
class MassSum:
    """The cars' share on an axle group, trailer or level; ``shares`` are thousandths of a car's mass by slot name."""

    name: str
    max_kg: int
    shares: tuple[tuple[str, int], ...]

    def __post_init__(self) -> None:
        if any(not 0 <= share <= 1000 for _, share in self.shares):
            raise ValueError(f"Expected shares of 0 to 1000 thousandths in {self.name}.")


@dataclass(frozen=True, kw_only=True)
class Deck:
    """
    One loading surface.  ``gross_kg`` is the motor vehicle's maximum mass, ``trailer_kg`` that of a trailer always drawn.

    ``height_mm`` is the tallest the loaded vehicle may be, ``empty_height_mm`` how tall it is anyway.
    ``least_clearance_mm`` is the ground clearance that the ramp asks for; a car whose clearance nobody gave counts as clear.
    """

    name: str
    says: str
    gross_kg: int
    payload_kg: int
    height_mm: int
    empty_height_mm: int
    length_mm: int
    slots: tuple[Slot, ...]
    levels: tuple[Level, ...] = ()
    stacks: tuple[Stack, ...] = ()
    shuts: tuple[Shut, ...] = ()
    mass_sums: tuple[MassSum, ...] = ()
    trailer_kg: int = 0
    gap_mm: int = 100
    least_clearance_mm: int = 0
    cab_mm: int = 2000
    axles_mm: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if faults := deck_faults(self):
            raise ValueError(" ".join(faults))

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        limits = (self.slots, self.levels, self.stacks, self.shuts, self.mass_sums)
        return hash((self.name, self.payload_kg, self.height_mm, limits))

    @cached_property
    def slot_index(self) -> dict[str, int]:
        """Position of each slot in ``slots``."""
        return {slot.name: row for row, slot in enumerate(self.slots)}

    @cached_property
    def slot_of(self) -> dict[str, Slot]:
        """Slots by name."""
        return {slot.name: slot for slot in self.slots}

    @cached_property
    def level_of(self) -> dict[str, Level]:
        """Levels by name."""
        return {level.name: level for level in self.levels}

    @property
    def unladen_kg(self) -> int:
        """Mass of the vehicle ready for the road, driver and fuel included, without a car."""
        return self.gross_kg + self.trailer_kg - self.payload_kg

    def with_payload(self, payload_kg: int) -> "Deck":
        """Return this deck on a vehicle whose plate leaves another payload; itself when that is the same."""
        return self if payload_kg == self.payload_kg else replace(self, payload_kg=payload_kg)

    def below(self, height_mm: int) -> "Deck":
        """Return this deck for a route on which the loaded vehicle may be no taller; itself when it never is."""
        return self if height_mm >= self.height_mm else replace(self, height_mm=height_mm)


def deck_faults(deck: Deck) -> tuple[str, ...]:
    """Return a sentence for everything in a deck that cannot be true together."""
    names = [slot.name for slot in deck.slots]
    faults = [f"Expected each slot once, got {name} twice." for name, times in Counter(names).items() if times > 1]
    faults += [f"Expected each level once, got {name} twice."
               for name, times in Counter(level.name for level in deck.levels).items() if times > 1]  # fmt: skip
    if not names:
        faults.append("Expected at least one slot, got none.")
    if not 0 < deck.payload_kg < deck.gross_kg + deck.trailer_kg:
        faults.append(f"Expected a payload between 0 and {deck.gross_kg + deck.trailer_kg} kg, got {deck.payload_kg}.")
    named = [(f"blocked_by of slot {slot.name}", slot.blocked_by) for slot in deck.slots]
    named += [("a stack", (stack.above, stack.below)) for stack in deck.stacks]
    named += [("a shut slot", (shut.slot, shut.other)) for shut in deck.shuts]
    named += [(f"mass sum {total.name}", tuple(name for name, _ in total.shares)) for total in deck.mass_sums]
    faults += [f"Expected names of slots in {where}, got {name}."
               for where, found in named for name in found if name not in names]  # fmt: skip
    levels = {level.name for level in deck.levels}
    faults += [f"Expected a level of the deck in slot {slot.name}, got {slot.level}."
               for slot in deck.slots if levels and slot.level not in levels]  # fmt: skip
    return (*faults, *_rings(deck))


def _rings(deck: Deck) -> Iterable[str]:
    try:
        tuple(TopologicalSorter({slot.name: slot.blocked_by for slot in deck.slots}).static_order())
    except CycleError as ring:
        yield f"Expected slots that can be cleared one after the other, got a ring: {' behind '.join(ring.args[1])}."
    for slot in sorted({stack.above for stack in deck.stacks} & {stack.below for stack in deck.stacks}):
        yield f"Expected slots two high at most, got {slot} both over and under another."
