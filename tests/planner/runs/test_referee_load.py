"""On random stages of the example decks the planner of loads and the referee's own reading of the deck agree."""

import random
from itertools import permutations

import pytest

from planner.model.cars import Car, Registration
from planner.model.crews import TransporterId
from planner.model.decks import library
from planner.model.moves import Move, MoveId, MoveKind
from planner.rules.load_plan import LoadPlan, Stage, plan_load
from planner.runs.referee.breach import Notebook
from planner.runs.referee.load import check_load
from planner.runs.run import Itinerary, Run, RunId, Stop, Visit
from tests.planner.runs.refereed import legal_day, of_day
from tests.planner.runs.worked_day import AYR, YARD

DECKS = ("two-car-7500", "four-car-rigid", "five-car-rigid")


def random_stages(rng: random.Random, slots: int) -> tuple[Stage, ...]:
    """Cars of all sizes come on and go off in any order; some stay to the end."""
    cars = [
        Car(registration=Registration(f"CAR{number}"), make_model="Ardent", mass_kg=rng.randint(900, 2400),
            length_mm=rng.randint(3400, 5000), height_mm=rng.randint(1400, 2000),
            ground_clearance_mm=rng.choice([None, None, 85, 120, 160]))
        for number in range(rng.randint(1, slots + 2))
    ]  # fmt: skip
    waiting, aboard, stages = [(str(car.registration), car) for car in cars], [], []
    while waiting:
        off = tuple(key for key in aboard if rng.random() < 0.4)
        aboard = [key for key in aboard if key not in off]
        on = tuple(waiting[: rng.randint(0, slots - len(aboard))])
        waiting = waiting[len(on) :]
        aboard += [key for key, _ in on]
        stages.append(Stage(off=off, on=on))
    return (*stages, Stage(off=tuple(aboard)))


def breaches(deck: str, payload_kg: int, stages: tuple[Stage, ...], slots, moved) -> list[str]:
    """Return what the referee says to these slots and moved cars, stage by stage."""
    cars = {key: car for stage in stages for key, car in stage.on}
    moves = tuple(Move(move_id=MoveId(key), kind=MoveKind.DELIVERY, car=car, origin=YARD, destination=AYR) for key, car in cars.items())
    day = of_day(legal_day(moves=moves, decks=library()), "transporters", "T1", deck=deck, payload_kg=payload_kg)
    visits, aboard = [], ()
    for stage, where, shifted in zip(stages, slots, moved, strict=True):
        takes = tuple(key for key, _ in stage.on)
        aboard = (*(key for key in aboard if key not in stage.off), *takes)
        visits.append(Visit(place=YARD, arrive_min=0, start_min=0, end_min=0, window=None, leaves=stage.off, takes=takes,
                            aboard_after=aboard, leg_metres=0, leg_min=0, leg_by="", slots=tuple(where.items()), moved=tuple(shifted)))  # fmt: skip
    itinerary = Itinerary(driver="D2", transporter=TransporterId("T1"), stops=(Stop(place=YARD),))
    notes = Notebook()
    check_load(day, Run(run_id=RunId("R"), itinerary=itinerary, book="", activities=(), visits=tuple(visits), costs=()), notes)
    return [str(breach) for breach in notes.found]


@pytest.mark.parametrize("seed", range(40))
def test_every_load_plan_passes(seed):
    rng = random.Random(seed)
    for _ in range(15):
        deck = library()[rng.choice(DECKS)]
        stages = random_stages(rng, len(deck.slots))
        found = plan_load(deck, stages, reshuffle_min=15)
        if isinstance(found, LoadPlan):
            slots = [stage.slot_of for stage in found.stages]
            assert breaches(deck.name, deck.payload_kg, stages, slots, [stage.moved for stage in found.stages]) == []


@pytest.mark.parametrize("seed", range(15))
def test_where_no_load_exists_every_arrangement_is_a_breach(seed):
    """One stage, every way to put its cars into slots."""
    rng = random.Random(seed)
    deck = library()[rng.choice(DECKS[:2])]
    for _ in range(12):
        stages = random_stages(rng, len(deck.slots))[:1]
        keys = [key for key, _ in stages[0].on]
        names = [slot.name for slot in deck.slots]
        legal = [
            row for row in permutations(names, len(keys))
            if not breaches(deck.name, deck.payload_kg, stages, [dict(zip(keys, row, strict=True))], [()])
        ]  # fmt: skip
        assert bool(legal) is isinstance(plan_load(deck, stages, reshuffle_min=15), LoadPlan)
