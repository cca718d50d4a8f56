"""
Why a load is impossible: the limit that binds, with the numbers.

Simple counts come first.  Where none of them decides, one kind of limit after the other is eased until the cars fit; the
smallest easing that helps is what is short.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from planner.model.cars import Car
from planner.model.decks import Deck, Slot
from planner.rules.load_plan_arrays import DeckArrays, Whole, deck_arrays, size_array, size_of
from planner.rules.load_plan_standing import stand_together


@dataclass(frozen=True, kw_only=True, slots=True)
class NoLoad:
    """Why no load plan exists: the limit in a word or two, the sentence, and the stage (from 0) at which it binds."""

    limit: str
    says: str
    stage: int = 0
    keys: tuple[str, ...] = ()
    short_by: int | None = None  # millimetres, kilograms or slots that are missing
    unit: str = ""


def first_reason(deck: Deck, keys: Sequence[str], cars: Sequence[Car], aboard: Sequence[Sequence[int]],
                 says: Sequence[str]) -> NoLoad:  # fmt: skip
    """Return why the cars aboard after some stage cannot stand together; the first such stage counts."""
    arrays = deck_arrays(deck)
    for car, key in zip(cars, keys, strict=True):
        if reason := _alone(deck, key, car):
            return reason
    for stage, row in enumerate(aboard):
        if row and not stand_together(arrays, size_array([size_of(cars[car]) for car in row])):
            where = f" after {says[stage]}" if says[stage] else f" after stage {stage + 1}"
            named = {keys[car]: cars[car] for car in row}
            return _simple_sum(deck, named, stage, where) or _eased(deck, named, stage, where)
    raise ValueError("Expected a load that is impossible, got one that is not.")


def _alone(deck: Deck, key: str, car: Car) -> NoLoad | None:
    """Return why a car fits no slot even alone."""
    what = f"{car.make_model} {key}".strip()
    if car.mass_kg > deck.payload_kg:
        return _over(deck, car.mass_kg, what, 0, (key,), "weighs")
    if car.ground_clearance_mm is not None and car.ground_clearance_mm < deck.least_clearance_mm:
        short = deck.least_clearance_mm - car.ground_clearance_mm
        sentence = (f"{what} clears the ground by {car.ground_clearance_mm} mm; the ramp of {deck.name} asks for "
                    f"{deck.least_clearance_mm} mm, {short} mm more. Use longer ramps, or another transporter.")  # fmt: skip
        return NoLoad(limit="ground clearance", says=sentence, keys=(key,), short_by=short, unit="mm")
    figures = (
        ("length", "long", car.length_mm, [slot.length_mm for slot in deck.slots]),
        ("width", "wide", car.width_mm, [slot.width_mm for slot in deck.slots]),
        ("height", "tall", car.height_mm, [min(slot.height_mm, deck.height_mm - slot.base_mm) for slot in deck.slots]),
    )
    for limit, adjective, value, most in figures:
        if value > max(most):
            sentence = (f"{what} is {value:,} mm {adjective}; no slot of {deck.name} takes more than {max(most):,} mm. "
                        f"It is {value - max(most):,} mm too {adjective}.")  # fmt: skip
            return NoLoad(limit=f"slot {limit}", says=sentence, keys=(key,), short_by=value - max(most), unit="mm")
    heaviest = max(slot.mass_kg for slot in deck.slots)
    if car.mass_kg > heaviest:
        sentence = (f"{what} weighs {car.mass_kg:,} kg; no slot of {deck.name} takes more than {heaviest:,} kg. "
                    f"It is {car.mass_kg - heaviest:,} kg too heavy.")  # fmt: skip
        return NoLoad(limit="slot mass", says=sentence, keys=(key,), short_by=car.mass_kg - heaviest, unit="kg")
    if stand_together(deck_arrays(deck), size_array([size_of(car)])):
        return None
    why = "; ".join(f"{slot.name} {_slot_says(deck, slot, car)}" for slot in deck.slots)
    return NoLoad(limit="slot size", says=f"{what} fits no slot of {deck.name}: {why}.", keys=(key,))


def _slot_says(deck: Deck, slot: Slot, car: Car) -> str:
    """Return the first thing that keeps a car out of a slot, with the number."""
    level = deck.level_of.get(slot.level)
    overs = [
        (car.length_mm - min(slot.length_mm, level.whole_mm if level else slot.length_mm), "is {} mm too short"),
        (car.width_mm - slot.width_mm, "is {} mm too narrow"),
        (car.height_mm - min(slot.height_mm, deck.height_mm - slot.base_mm), "is {} mm too low"),
        (car.mass_kg - slot.mass_kg, "is {} kg too weak"),
    ]
    for total in deck.mass_sums:
        grams = car.mass_kg * dict(total.shares).get(slot.name, 0)
        overs.append((-(-grams // 1000) - total.max_kg, f"puts {{}} kg too much on the {total.name}"))
    return next((words.format(f"{over:,}") for over, words in overs if over > 0), "")


def _over(deck: Deck, mass_kg: int, what: str, stage: int, keys: tuple[str, ...], verb: str) -> NoLoad:
    over = mass_kg - deck.payload_kg
    sentence = (f"{what} {verb} {mass_kg:,} kg; {deck.name} may carry {deck.payload_kg:,} kg (payload). "
                f"That is {over:,} kg too much.")  # fmt: skip
    return NoLoad(limit="payload", says=sentence, stage=stage, keys=keys, short_by=over, unit="kg")


def _simple_sum(deck: Deck, cars: dict[str, Car], stage: int, where: str) -> NoLoad | None:
    """Return the plain count or sum that is passed, if one is."""
    keys = tuple(cars)
    if len(cars) > len(deck.slots):
        over = len(cars) - len(deck.slots)
        sentence = f"{len(cars)} cars are aboard{where}; {deck.name} has {len(deck.slots)} slots, {over} too few."
        return NoLoad(limit="slots", says=sentence, stage=stage, keys=keys, short_by=over, unit="slots")
    mass_kg = sum(car.mass_kg for car in cars.values())
    if mass_kg > deck.payload_kg:
        return _over(deck, mass_kg, f"The cars aboard{where} ({', '.join(cars)})", stage, keys, "weigh")
    if deck.levels and all(slot.level in deck.level_of for slot in deck.slots):
        needed = sum(car.length_mm + deck.gap_mm for car in cars.values())
        given = sum(level.whole_mm + deck.gap_mm for level in deck.levels)
        if needed > given:
            sentence = (f"The cars aboard{where} need {needed:,} mm with {deck.gap_mm} mm between them; all levels of "
                        f"{deck.name} together have {given:,} mm. That is {needed - given:,} mm too long.")  # fmt: skip
            return NoLoad(limit="level length", says=sentence, stage=stage, keys=keys, short_by=needed - given, unit="mm")
    return None


@dataclass(frozen=True, kw_only=True, slots=True)
class _Easing:
    """One kind of limit that can be eased by so many of its unit, or one limit of a kind with its figure."""

    limit: str
    unit: str
    eased: Callable[[DeckArrays, int], DeckArrays]
    kind: str = ""  # for one limit: the kind that it is of
    figure: int = 0


#: Limits in the order in which they are eased.
EASINGS = (
    _Easing(limit="level length", unit="mm", eased=lambda deck, by: deck._replace(level_mm=deck.level_mm + by)),
    _Easing(limit="loaded height", unit="mm", eased=lambda deck, by: deck._replace(loaded_height=deck.loaded_height + by)),
    _Easing(limit="lift of the upper slots", unit="mm", eased=lambda deck, by: deck._replace(highest=deck.highest + by)),
    _Easing(limit="slot height", unit="mm", eased=lambda deck, by: deck._replace(height=deck.height + by)),
    _Easing(limit="slot length", unit="mm", eased=lambda deck, by: deck._replace(length=deck.length + by)),
    _Easing(limit="slot width", unit="mm", eased=lambda deck, by: deck._replace(width=deck.width + by)),
    _Easing(limit="slot mass", unit="kg", eased=lambda deck, by: deck._replace(mass=deck.mass + by)),
    _Easing(limit="axle or deck mass", unit="kg", eased=lambda deck, by: deck._replace(sum_g=deck.sum_g + 1000 * by)),
    _Easing(limit="slots shut by long or tall cars", unit="mm",
            eased=lambda deck, by: deck._replace(shut=deck.shut + np.array([0, 0, by, by]))),
    _Easing(limit="height over one another", unit="mm", eased=lambda deck, by: deck._replace(
        height=deck.height + by, highest=deck.highest + by, loaded_height=deck.loaded_height + by)),
)  # fmt: skip
ENOUGH = 20_000


def _easings(deck: Deck) -> tuple[_Easing, ...]:
    """Return what can be eased on a deck: each level and each mass sum by its name, before all of them together."""

    def level(row: int) -> Callable[[DeckArrays, int], DeckArrays]:
        return lambda arrays, by: arrays._replace(level_mm=_raised(arrays.level_mm, row, by))

    def total(row: int) -> Callable[[DeckArrays, int], DeckArrays]:
        return lambda arrays, by: arrays._replace(sum_g=_raised(arrays.sum_g, row, 1000 * by))

    levels = [_Easing(limit=f"length of level {one.name}", unit="mm", eased=level(row), kind="level length", figure=one.whole_mm)
              for row, one in enumerate(deck.levels)]  # fmt: skip
    sums = [_Easing(limit=f"mass on {one.name}", unit="kg", eased=total(row), kind="axle or deck mass", figure=one.max_kg)
            for row, one in enumerate(deck.mass_sums)]  # fmt: skip
    return (*levels, *sums, *EASINGS)


def _raised(limits: Whole, row: int, by: int) -> Whole:
    more = limits.copy()
    more[row] += by
    return more


def _eased(deck: Deck, cars: dict[str, Car], stage: int, where: str) -> NoLoad:
    """Return which one kind of limit, eased by how little, would let the cars fit."""
    arrays, rows = deck_arrays(deck), size_array([size_of(car) for car in cars.values()])
    helps = [one for one in _easings(deck) if stand_together(one.eased(arrays, ENOUGH), rows)]
    aboard = f"The cars aboard{where} ({', '.join(cars)}) cannot stand together on {deck.name}"
    if not helps:
        sentence = f"{aboard}: lengths, heights and masses bind at once. Take one car less."
        return NoLoad(limit="several limits", says=sentence, stage=stage, keys=tuple(cars))
    least = sorted(((_least_easing(arrays, rows, one.eased), one) for one in helps), key=lambda row: row[0])
    by, first = least[0]
    sentence = f"{aboard}: {first.limit} binds, short by {by:,} {first.unit}{_of(first)}."
    told = _each_sum(deck, rows, by) if first.limit == "axle or deck mass" else ""
    others = "; or ".join(f"{more:,} {one.unit} more {one.limit}{_of(one)}" for more, one in least[1:]
                          if not any(other.kind == one.limit and less <= more for less, other in least))  # fmt: skip
    if others:
        told += f" It would also be enough to have {others}."
    return NoLoad(limit=first.limit, says=sentence + told, stage=stage, keys=tuple(cars), short_by=by, unit=first.unit)


def _of(easing: _Easing) -> str:
    return f" (of {easing.figure:,} {easing.unit})" if easing.figure else ""


def _each_sum(deck: Deck, rows: Whole, by: int) -> str:
    """Return by how much each mass sum is passed when all may be by so many kilograms, each of them by as little as can be."""
    arrays = deck_arrays(deck)
    eased, parts = arrays._replace(sum_g=arrays.sum_g + 1000 * by), []
    for row, total in enumerate(deck.mass_sums):
        def tightened(at: DeckArrays, more: int, row: int = row) -> DeckArrays:
            return at._replace(sum_g=_raised(at.sum_g, row, int(arrays.sum_g[row] - at.sum_g[row]) + 1000 * more))

        needed = 0 if stand_together(tightened(eased, 0), rows) else _least_easing(eased, rows, tightened, low=0, high=by)
        eased = tightened(eased, needed)
        if needed:
            parts.append(f"{needed:,} kg more than {total.max_kg:,} kg on {total.name}")
    return f" The best load puts {' and '.join(parts)}."


def _least_easing(
    arrays: DeckArrays, rows: Whole, ease: Callable[[DeckArrays, int], DeckArrays], low: int = 0, high: int = ENOUGH
) -> int:  # fmt: skip
    """Return the least easing that helps; ``low`` does not, ``high`` does."""
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if stand_together(ease(arrays, middle), rows) else (middle, high)
    return high
