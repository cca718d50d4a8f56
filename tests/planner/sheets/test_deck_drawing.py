"""The deck picture shows every car once, numbered as loaded, inside its frame, in black and white."""

import random
import re
import xml.etree.ElementTree as ET

import pytest

from planner.model.cars import Car
from planner.model.decks import library
from planner.rules.load_plan import LoadPlan, Stage, plan_load
from planner.sheets.deck_drawing import draw_deck, draw_run
from planner.sheets.load_ticks import platform_notes, tick_list

SVG = "{http://www.w3.org/2000/svg}"


def loaded(deck, seed=1):
    rng = random.Random(seed)
    while True:
        cars = {f"C{number}": Car(registration=f"C{number}", make_model="Corvid", mass_kg=1200, length_mm=rng.choice([3700, 3900, 4000]),
                                  height_mm=rng.choice([1450, 1500])) for number in range(len(deck.slots))}  # fmt: skip
        plan = plan_load(deck, [Stage(on=tuple(cars.items()), says="A & B <yard>"), Stage(off=("C0",), says="door")], reshuffle_min=15)
        if isinstance(plan, LoadPlan):
            return cars, plan


@pytest.mark.parametrize("deck", library().values(), ids=list(library()))
def test_every_car_is_drawn_once_numbered_in_loading_order(deck):
    cars, plan = loaded(deck)
    root = ET.fromstring(draw_deck(deck, plan.stages[0], cars, route_height_mm=4950))
    words = [text.text for text in root.iter(f"{SVG}text")]
    for number, (key, slot) in enumerate(plan.stages[0].placed, start=1):
        assert words.count(key) == 1
        row = words.index(key)
        assert words[row - 2: row + 1] == [str(number), slot, key]
    assert "A & B <yard>" in words
    assert "route limit 4.95 m" in words
    after = ET.fromstring(draw_deck(deck, plan.stages[1], cars))
    gone = [text.text for text in after.iter(f"{SVG}text")]
    assert "C0" not in gone
    assert f"{plan.stages[0].slot_of['C0']} empty" in gone


@pytest.mark.parametrize("deck", library().values(), ids=list(library()))
def test_nothing_stands_outside_the_frame(deck):
    cars, plan = loaded(deck)
    root = ET.fromstring(draw_deck(deck, plan.stages[0], cars))
    left, top, width, height = map(int, root.get("viewBox").split())
    for text in root.iter(f"{SVG}text"):
        assert left <= int(text.get("x")) <= left + width
        assert top <= int(text.get("y")) <= top + height
    for path in root.iter(f"{SVG}path"):
        for x, y in re.findall(r"[ML](-?\d+) (-?\d+)", path.get("d")):
            assert left <= int(x) <= left + width
            assert top <= int(y) <= top + height


def test_only_black_white_and_grey_are_used():
    deck = library()["five-car-rigid"]
    cars, plan = loaded(deck)
    for colour in re.findall(r"#[0-9a-f]{3,6}\b", draw_deck(deck, plan.stages[0], cars)):
        parts = colour[1:] if len(colour) == 4 else colour[1:3] + colour[3:5] + colour[5:7]
        assert len(set(parts)) == 1


def test_cars_moved_at_a_stop_are_hatched():
    deck = library()["two-car-7500"]
    cars = {key: Car(registration=key, make_model="Corvid", mass_kg=1200, length_mm=4000, height_mm=1500) for key in ("d1", "d2", "p1")}
    stages = [Stage(on=(("d1", cars["d1"]), ("d2", cars["d2"]))), Stage(off=("d1",), on=(("p1", cars["p1"]),)), Stage(off=("d2",))]
    plan = plan_load(deck, stages, reshuffle_min=15)
    assert plan.reshuffles == 1
    pictures = [ET.fromstring(draw_deck(deck, stage, cars)) for stage in plan.stages]
    hatched = [[path.get("fill") for path in picture.iter(f"{SVG}path")].count("url(#moved)") for picture in pictures]
    assert hatched == [len(stage.moved) for stage in plan.stages]
    explained = [[text.text for text in picture.iter(f"{SVG}text")].count("hatched: out of the way and back here") for picture in pictures]
    assert explained == [1 if stage.moved else 0 for stage in plan.stages]
    whole = ET.fromstring(draw_run(plan, cars))
    assert len(whole.findall(f"{SVG}svg")) == 3


def test_an_empty_platform_is_drawn_clear_of_the_car_below():
    """By hand: 850 + 1,500 + 200 = 2,550, against 2,400 let down; the line is drawn 7 cm below the wheels' height."""
    deck = library()["two-car-7500"]
    cars = {"a": Car(registration="a", make_model="Corvid", mass_kg=1200, length_mm=5300, height_mm=1500)}  # too long for above
    picture = draw_deck(deck, plan_load(deck, [Stage(on=tuple(cars.items()))], reshuffle_min=15).stages[0], cars)
    heights = {int(line.get("y1")) for line in ET.fromstring(picture).iter(f"{SVG}line")}
    assert -255 + 7 in heights
    assert -240 + 7 not in heights


def test_a_platform_that_does_not_lift_clear_of_a_van_is_not_drawn_through_it():
    """By hand: 950 + 2,000 + 200 = 3,150 over the van in L2, where U2 lifts to 2,950; over L1 without a car it is not in the way."""
    deck = library()["four-car-rigid"]
    van = Car(registration="van", make_model="Corvid", mass_kg=1900, length_mm=4950, height_mm=2000)  # too long for all but L2
    stage = plan_load(deck, [Stage(on=(("van", van),))], reshuffle_min=15).stages[0]
    assert stage.placed == (("van", "L2"),)
    assert stage.too_low == (("U2", "van"),)
    assert platform_notes(stage) == ("U2: no car on it; its platform does not lift clear of van: lay it out of the way, or do not load so",)
    assert platform_notes(stage)[0] in tick_list(deck, stage, {"van": 1900})
    root = ET.fromstring(draw_deck(deck, stage, {"van": van}))
    words = {text.text: int(text.get("y")) for text in root.iter(f"{SVG}text")}
    assert words["U2 empty"] < -(950 + 2000) // 10
    upper = [line for line in root.iter(f"{SVG}line") if line.get("stroke-width") == "9" and int(line.get("y1")) < -200]
    assert [int(line.get("x1")) for line in upper] == [60]  # U1 alone
