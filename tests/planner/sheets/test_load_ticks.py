"""What the driver ticks: the standards' figures in words, heights of the bridges."""

from dataclasses import replace

from planner.model.cars import Car
from planner.model.decks import library
from planner.rules.load_plan import Stage, plan_load
from planner.rules.load_plan_steps import Overhang
from planner.sheets.load_ticks import height_note, low_bridge_warning, overhang_notes, sign_text, tick_list


def test_heights_are_rounded_up_as_a_driver_must_take_them():
    """16 ft 3 in is 4,953 mm and 16 ft 6 in is 5,029 mm (12 x 25.4 to the foot)."""
    assert sign_text(4953) == "4.96 m (16 ft 3 in)"
    assert sign_text(4954) == "4.96 m (16 ft 4 in)"
    assert sign_text(5029) == "5.03 m (16 ft 6 in)"


def test_low_bridges_are_warned_of():
    """Bridges under 16 ft 6 in (5.03 m) are signed (gov.uk); a route's own limit comes first."""
    assert low_bridge_warning(4950, 4950) is None
    assert "51 mm above the 4.95 m of this route" in low_bridge_warning(5001, 4950)
    assert low_bridge_warning(5030, 6000) is None
    assert "carry no sign" in low_bridge_warning(5031, 6000)
    assert height_note(3000) is None
    assert height_note(3010) == "Set the cab height notice to 3.01 m (9 ft 11 in)"


def test_what_stands_out_is_marked():
    """Construction and Use Regulations 1986, schedule 12: 1 m and 2 m at the rear (from memory), 3.05 m without notice."""
    plan = plan_load(library()["one-car-7500"], [Stage(says="empty")], reshuffle_min=15)
    notes = {
        out: overhang_notes(replace(plan.stages[0], overhangs=(Overhang(level="upper", front_mm=0, rear_mm=out),)))
        for out in (1000, 1001, 2001, 3051)
    }
    assert notes[1000] == ()
    assert "clearly visible" in notes[1001][0]
    assert "end marker" in notes[2001][0]
    assert "notice to the police" in notes[3051][0]


def test_the_tick_list_names_every_car_and_the_cab_notice():
    deck = library()["two-car-7500"]
    cars = {key: Car(registration=key, make_model="Corvid", mass_kg=1400, length_mm=4100, height_mm=1500) for key in "ab"}
    stages = plan_load(deck, [Stage(on=tuple(cars.items())), Stage(off=("a",)), Stage(off=("b",))], reshuffle_min=15).stages
    ticks = tick_list(deck, stages[0], {key: car.mass_kg for key, car in cars.items()})
    assert any(line.startswith("L1 a:") and "hold 11.0 kN forward" in line for line in ticks)  # 1,400 x 9.81 x 0.8
    assert "Mass by the papers 7,300 kg of 7,500 kg; weigh when in doubt" in ticks
    assert "Set the cab height notice to 4.05 m (13 ft 4 in)" in ticks  # 4,050 / 25.4 = 159.4 inches
    assert tick_list(deck, stages[2], {}) == ()
