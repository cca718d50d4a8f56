"""
The load: where each car stands on the deck after every visit, checked slot by slot where the day knows the deck.

Limits are those of :mod:`planner.model.decks`: a slot's own sizes and mass, the length a level shares, heights of cars
over one another, slots shut by a long or tall car, sums of mass on axles or levels, payload, ground clearance on the
ramp.  At a visit everything that moves comes off before anything goes on, each car only past clear slots; a car that is
not said to be moved stays where it stood.
"""

from collections import Counter
from collections.abc import Mapping

from planner.model.cars import Car
from planner.model.day import Day
from planner.model.decks import Deck
from planner.model.moves import MoveId
from planner.runs.referee.breach import Notebook, Rule
from planner.runs.run import Run, Visit

Standing = dict[MoveId, str]


def check_load(day: Day, run: Run, notes: Notebook) -> None:
    """Note every breach of the deck's limits; nothing where the day knows no deck and the run speaks of none."""
    assert run.itinerary.transporter is not None
    transporter = day.transporter_of[run.itinerary.transporter]
    deck = day.decks.get(transporter.deck)
    if deck is None:
        if any(visit.slots or visit.moved for visit in run.visits):
            notes.note(Rule.DECK, transporter.deck, f"cars stand in slots, yet no deck of {transporter.name} is known")
        return
    deck = deck.with_payload(transporter.payload_kg)
    before: Standing = {}
    for number, visit in enumerate(run.visits):
        where = f"visit {number + 1} at {visit.place}"
        now = dict(visit.slots)
        if _standing(deck, visit, now, where, notes):
            _moving(deck, visit, before, now, where, notes)
            cars = {slot: day.move_of[move].car for move, slot in now.items()}
            _limits(deck, cars, where, notes)
            _height(day, deck, cars, where, notes)
        before = now


def _standing(deck: Deck, visit: Visit, now: Standing, where: str, notes: Notebook) -> bool:
    """Each car aboard stands in one slot of the deck, alone."""
    found = len(notes.found)
    moves = [move for move, _ in visit.slots]
    if sorted(moves) != sorted(visit.aboard_after):
        notes.note(Rule.DECK, where, "other cars stand in slots than are aboard", found=", ".join(moves) or "none",
                   expected=", ".join(visit.aboard_after) or "none")  # fmt: skip
    for slot, times in Counter(now.values()).items():
        if slot not in deck.slot_of:
            notes.note(Rule.DECK, where, f"{deck.name} has no slot {slot}")
        if times > 1:
            notes.note(Rule.DECK, where, f"{times} cars stand in slot {slot}")
    return len(notes.found) == found


def _moving(deck: Deck, visit: Visit, before: Standing, now: Standing, where: str, notes: Notebook) -> None:
    """Who is moved was aboard and stays; who is not keeps its slot; nobody drives through a car that stays."""
    moved = set(visit.moved)
    for move in visit.moved:
        if move not in before or move not in now or visit.moved.count(move) > 1:
            notes.note(Rule.DECK, where, f"{move} is moved out of the way and back, yet does not stay aboard")
    stays = {move: slot for move, slot in now.items() if move in before and move not in moved}
    for move, slot in stays.items():
        if before[move] != slot:
            notes.note(Rule.DECK, where, f"{move} changes its slot without being moved", expected=before[move], found=slot)
    held = {before[move]: move for move in stays}
    passing = [(move, before[move], "off") for move in before if move not in stays]
    passing += [(move, slot, "on") for move, slot in now.items() if move not in stays]
    for move, slot, way in passing:
        for other in deck.slot_of[slot].blocked_by if slot in deck.slot_of else ():
            if other in held:
                notes.note(Rule.DECK, where, f"{move} cannot be driven {way} slot {slot}: {held[other]} stands in slot {other}")


def _limits(deck: Deck, cars: Mapping[str, Car], where: str, notes: Notebook) -> None:
    def at_most(what: str, limit: float, found: float, unit: str) -> None:
        if found > limit:
            notes.note(Rule.DECK, where, what, expected=f"at most {limit:g} {unit}", found=f"{found:g} {unit}")

    for name, car in cars.items():
        slot = deck.slot_of[name]
        at_most(f"{car.registration} is too long for slot {name}", slot.length_mm, car.length_mm, "mm")
        at_most(f"{car.registration} is too wide for slot {name}", slot.width_mm, car.width_mm, "mm")
        at_most(f"{car.registration} is too tall for slot {name}", slot.height_mm, car.height_mm, "mm")
        at_most(f"{car.registration} is too heavy for slot {name}", slot.mass_kg, car.mass_kg, "kg")
        if car.ground_clearance_mm is not None and car.ground_clearance_mm < deck.least_clearance_mm:
            notes.note(Rule.DECK, where, f"{car.registration} is too low for the ramp", found=f"{car.ground_clearance_mm} mm",
                       expected=f"at least {deck.least_clearance_mm} mm")  # fmt: skip
    for level in deck.levels:
        row = [car for name, car in cars.items() if deck.slot_of[name].level == level.name]
        needed_mm = sum(car.length_mm for car in row) + deck.gap_mm * max(0, len(row) - 1)
        at_most(f"the cars on level {level.name} are too long together", level.whole_mm, needed_mm, "mm")
    for shut in deck.shuts:
        if shut.slot in cars and shut.other in cars and _shuts(shut.over_length_mm, shut.over_height_mm, cars[shut.slot]):
            notes.note(Rule.DECK, where, f"slot {shut.other} is shut by the car in slot {shut.slot}")
    for total in deck.mass_sums:
        thousandths = sum(share * cars[name].mass_kg for name, share in total.shares if name in cars)
        at_most(f"too much mass on {total.name}", total.max_kg, thousandths / 1000, "kg")
    at_most("the cars weigh more than the payload", deck.payload_kg, sum(car.mass_kg for car in cars.values()), "kg")
    for name, wheels_mm in wheels(deck, cars).items():
        slot = deck.slot_of[name]
        at_most(f"slot {name} cannot be lifted that high", max(slot.base_mm, slot.raised_mm), wheels_mm, "mm")
        at_most(f"the vehicle is too tall with slot {name}", deck.height_mm, wheels_mm + cars[name].height_mm, "mm")


def _height(day: Day, deck: Deck, cars: Mapping[str, Car], where: str, notes: Notebook) -> None:
    """The loaded vehicle stays below what the policy allows on the route."""
    tops = [wheels_mm + cars[name].height_mm for name, wheels_mm in wheels(deck, cars).items()]
    highest_mm = max([deck.empty_height_mm, *tops])
    if highest_mm > day.policy.route_height_mm:
        notes.note(Rule.HEIGHT, where, "the loaded vehicle is too tall for the route", found=f"{highest_mm} mm",
                   expected=f"at most {day.policy.route_height_mm} mm")  # fmt: skip


def _shuts(over_length_mm: int | None, over_height_mm: int | None, car: Car) -> bool:
    is_long = over_length_mm is not None and car.length_mm > over_length_mm
    return is_long or (over_height_mm is not None and car.height_mm > over_height_mm)


def wheels(deck: Deck, cars: Mapping[str, Car]) -> dict[str, int]:
    """Return how high each car's wheels stand: at the slot's lowest, or lifted clear of the cars below."""
    heights = {name: deck.slot_of[name].base_mm for name in cars}
    for stack in deck.stacks:
        if stack.above in cars and stack.below in cars:
            clear_mm = deck.slot_of[stack.below].base_mm + cars[stack.below].height_mm + stack.platform_mm
            heights[stack.above] = max(heights[stack.above], clear_mm)
    return heights
