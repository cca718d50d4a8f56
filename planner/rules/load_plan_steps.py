"""
The steps of a load plan: what is driven off, moved and driven on at each stop, and what the vehicle then weighs and measures.

Within a stop everything comes off before anything goes on, and every car only when the slots it has to pass are clear.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from planner.model.cars import Car
from planner.model.decks import Deck


class StepKind(StrEnum):
    """What is done with one car."""

    OFF = "drive off"
    ASIDE = "move out of the way"
    BACK = "put back"
    ON = "drive on"


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One car driven off or on; ``slot`` is where it stood or will stand."""

    kind: StepKind
    key: str
    slot: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Overhang:
    """How far the cars of a level stand out over its ends together; the rear end takes what it may first."""

    level: str
    front_mm: int
    rear_mm: int


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadedStage:
    """
    The deck when a stop is done.

    ``placed`` gives key and slot in the order in which the cars went on.  ``wheels_mm`` are the heights at which their
    wheels stand, lifted slots included, in the same order.  ``minutes`` are those of the cars moved out and back.
    ``too_low`` gives slots without a car over cars that their platforms do not clear at their highest, and those cars.
    """

    says: str
    steps: tuple[Step, ...]
    placed: tuple[tuple[str, str], ...]
    wheels_mm: tuple[int, ...]
    moved: tuple[str, ...]
    minutes: int
    cars_kg: int
    gross_kg: int
    height_mm: int
    overhangs: tuple[Overhang, ...] = ()
    too_low: tuple[tuple[str, str], ...] = ()
    sums_kg: tuple[tuple[str, int, int], ...] = ()  # name, kilograms of cars on it, its limit

    @property
    def slot_of(self) -> dict[str, str]:
        """Slot of each car aboard."""
        return dict(self.placed)


def loaded_stages(
    deck: Deck, stops: Sequence[tuple[str, tuple[str, ...]]], cars: Mapping[str, Car], slots: Sequence[Mapping[str, int]],
    moved: Sequence[Sequence[str]], reshuffle_min: int,
) -> tuple[LoadedStage, ...]:  # fmt: skip
    """Return every stage with its steps; ``stops`` are words and keys going off, ``slots`` rows of the deck by key."""
    done = []
    order: list[tuple[str, str]] = []
    for (says, off), row, aside in zip(stops, slots, moved, strict=True):
        now = {key: deck.slots[slot].name for key, slot in row.items()}
        was = dict(order)
        leaving = _off_in_turn(deck, {key: was[key] for key in (*off, *aside)})
        coming = _on_in_turn(deck, {key: slot for key, slot in now.items() if key not in was or key in aside})
        order = [(key, slot) for key, slot in order if key not in leaving] + list(coming.items())
        steps = [Step(kind=StepKind.ASIDE if key in aside else StepKind.OFF, key=key, slot=slot) for key, slot in leaving.items()]
        steps += [Step(kind=StepKind.BACK if key in aside else StepKind.ON, key=key, slot=slot) for key, slot in coming.items()]
        done.append(_measured(deck, says, order, cars, steps, tuple(aside), reshuffle_min))
    return tuple(done)


def _off_in_turn(deck: Deck, leaving: dict[str, str]) -> dict[str, str]:
    """Return the cars in an order in which each finds its way clear of those still to leave."""
    rest, turn = dict(leaving), {}
    while rest:
        key = next(key for key, slot in rest.items() if not set(deck.slot_of[slot].blocked_by) & set(rest.values()))
        turn[key] = rest.pop(key)
    return turn


def _on_in_turn(deck: Deck, coming: dict[str, str]) -> dict[str, str]:
    """Return the cars in an order in which each finds its way clear of those already on."""
    return dict(reversed(_off_in_turn(deck, dict(sorted(coming.items(), key=lambda pair: deck.slot_index[pair[1]]))).items()))


def _measured(
    deck: Deck, says: str, order: list[tuple[str, str]], cars: Mapping[str, Car], steps: list[Step], aside: tuple[str, ...],
    reshuffle_min: int,
) -> LoadedStage:  # fmt: skip
    stands = {slot: cars[key] for key, slot in order}
    wheels = wheel_heights(deck, stands)
    mass_kg = sum(car.mass_kg for car in stands.values())
    return LoadedStage(
        says=says,
        steps=tuple(steps),
        placed=tuple(order),
        wheels_mm=tuple(wheels[slot] for _, slot in order),
        moved=aside,
        minutes=reshuffle_min * len(aside),
        cars_kg=mass_kg,
        gross_kg=deck.unladen_kg + mass_kg,
        height_mm=max([deck.empty_height_mm, *(wheels[slot] + car.height_mm for slot, car in stands.items())]),
        overhangs=tuple(_overhangs(deck, stands)),
        too_low=tuple(_too_low(deck, {slot: (key, cars[key]) for key, slot in order})),
        sums_kg=tuple(
            (total.name, -(-sum(share * stands[slot].mass_kg for slot, share in total.shares if slot in stands) // 1000),
             total.max_kg) for total in deck.mass_sums),
    )  # fmt: skip


def wheel_heights(deck: Deck, stands: Mapping[str, Car]) -> dict[str, int]:
    """Return how high each car's wheels stand, its slot lifted no more than the car below asks for; millimetres by slot."""
    heights = {slot: deck.slot_of[slot].base_mm for slot in stands}
    for stack in deck.stacks:
        if stack.above in stands and stack.below in stands:
            needed = deck.slot_of[stack.below].base_mm + stands[stack.below].height_mm + stack.platform_mm
            heights[stack.above] = max(heights[stack.above], needed)
    return heights


def _overhangs(deck: Deck, stands: Mapping[str, Car]) -> Iterable[Overhang]:
    for level in deck.levels:
        lengths = [car.length_mm for slot, car in stands.items() if deck.slot_of[slot].level == level.name]
        out = sum(lengths) + deck.gap_mm * (len(lengths) - 1) - level.length_mm
        if lengths and out > 0:
            rear = min(out, level.rear_mm)
            yield Overhang(level=level.name, front_mm=out - rear, rear_mm=rear)


def _too_low(deck: Deck, stands: Mapping[str, tuple[str, Car]]) -> Iterable[tuple[str, str]]:
    for stack in deck.stacks:
        if stack.below in stands and stack.above not in stands:
            key, car = stands[stack.below]
            if deck.slot_of[stack.below].base_mm + car.height_mm + stack.platform_mm > deck.slot_of[stack.above].highest_mm:
                yield stack.above, key
