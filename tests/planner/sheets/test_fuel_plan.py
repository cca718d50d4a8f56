"""The fuel plan: what a run takes and where it has to fill up, against sums made by hand."""

from dataclasses import replace

import pytest

from planner.model.cars import Fuel
from planner.model.crews import DriverId
from planner.model.fuel import tank_litres
from planner.runs.driven_legs import driven_legs
from planner.sheets.fuel_plan import fuel_plan
from planner.sheets.words import words
from tests.sheet_days import a_day, hired_run, plate_run, transporter_run

# Straight lines times 1.2 from the tables of the day: Daventry - Kettering - Glossop - Daventry, and Daventry - Cardiff.
ROUND_KM, CARDIFF_KM = 380.8, 194.84


def said(day, run):
    return fuel_plan(day, run, words())


def with_truck(**more):
    day = a_day()
    return replace(day, transporters=(replace(day.transporters[0], **more),))


def with_car(**more):
    day = a_day()
    moves = (day.moves[0], replace(day.moves[1], car=replace(day.moves[1].car, **more)), *day.moves[2:])
    return replace(day, moves=moves)


def test_the_kilometres_of_the_sums_are_those_of_the_tables():
    assert sum(leg.metres for leg in driven_legs(a_day(), transporter_run())) == pytest.approx(ROUND_KM * 1000, rel=0.002)
    assert driven_legs(a_day(), plate_run())[0].metres == pytest.approx(CARDIFF_KM * 1000, rel=0.002)


def test_a_tank_that_is_enough_needs_no_stop():
    # 380.8 km at 20 l on 100 km are 76.2 l; four fifths of 100 l are 80
    (says,) = said(with_truck(litres_per_100km=20, tank_litres=100), transporter_run())
    assert says == "Diesel: 237 miles, about 77 l; it holds 100 l. Leave full; no stop."


def test_a_tank_that_is_not_enough_says_before_which_mile_and_on_which_leg():
    # four fifths of 80 l are 64, which last 320 km = 198.8 miles; the last leg, to Daventry, begins at 228 km
    (says,) = said(with_truck(litres_per_100km=20, tank_litres=80), transporter_run())
    assert "Leave full; fill up before 195 miles, on the way to Daventry preparation centre." in says
    assert "No time is planned for that." in says


def test_a_tank_nobody_stated_is_usual_for_the_mass_and_says_so():
    assert "it holds 120 l (usual for its mass)" in said(a_day(), transporter_run())[0]
    truck = a_day().transporters[0]
    sizes = [tank_litres(replace(truck, gross_kg=kg)) for kg in (3500, 7500, 18_000, 44_000)]
    assert sizes == sorted(set(sizes))


def test_an_electric_transporter_counts_kilowatt_hours():
    (says,) = said(with_truck(litres_per_100km=60, tank_litres=300, is_electric=True), transporter_run())
    assert says == "Electric: 237 miles, about 229 kWh; it holds 300 kWh. Leave full; no stop."  # 380.8 x 0.6 = 228.5


@pytest.mark.parametrize(
    ("range_miles", "says"),
    [
        (None, "EV70 ZZZ, Electric: 121 miles, about 43 kWh. Leave only when the display shows 155 miles or more."),  # 121 / 0.8 = 151
        (160, "EV70 ZZZ, Electric: 121 miles of a range of 160, about 43 kWh; no stop."),  # four fifths are 128
        (140, "Fill or charge before leaving, or stop before 110 miles."),  # four fifths are 112
    ],
)
def test_an_electric_car_on_plates_is_held_against_its_range(range_miles, says):
    # 194.84 km at 0.220656 kWh (data book, May 2023) are 42.99 kWh
    first = said(with_car(range_m=None if range_miles is None else round(range_miles * 1609.344)), plate_run())[0]
    assert says in first
    assert first.endswith("Charge at start: ____ %.")


def test_every_vehicle_of_a_run_has_its_line_a_support_car_too_and_a_hired_carrier_none():
    run = plate_run()
    followed = replace(run, itinerary=replace(run.itinerary, support_driver=DriverId("T1")))
    assert [says.split(":")[0] for says in said(with_car(fuel=Fuel.HYBRID), followed)] == [
        "EV70 ZZZ, Hybrid", "Support car, Petrol", "OLD1PX, Petrol",
    ]  # fmt: skip
    assert said(a_day(), hired_run()) == ()
