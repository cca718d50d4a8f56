"""What a crew may take: one case for each reason to refuse, and the case beside it that passes."""

from dataclasses import replace

import pytest

from planner.model.crews import Transporter
from planner.runs.crew_fit import covers, refuse
from planner.runs.run import Itinerary, Stop
from tests.planner.runs.worked_day import AYR, BEE, FAR, YARD, worked_day

PLATE = Itinerary(driver="D1", stops=(Stop(place=YARD, takes=("M2",)), Stop(place=BEE, leaves=("M2",))))
CARRIED = replace(PLATE, driver="D2", transporter="T1")


def rule(day, itinerary):
    refusal = refuse(day, itinerary)
    return refusal.rule if refusal else None


def with_move(day, name, **changes):
    return replace(day, moves=tuple(replace(move, **changes) if move.move_id == name else move for move in day.moves))


def with_car(day, name, **changes):
    move = day.move_of[name]
    return with_move(day, name, car=replace(move.car, **changes))


@pytest.mark.parametrize("itinerary", [PLATE, CARRIED, Itinerary(driver=None, carrier="C1", stops=PLATE.stops)])
def test_a_plain_delivery_is_taken_by_each_kind_of_crew(itinerary):
    assert rule(worked_day(), itinerary) is None


@pytest.mark.parametrize(
    ("stops", "expected"),
    [
        ((Stop(place=YARD, takes=("M2",)),), "order of stops"),  # never left
        ((Stop(place=BEE, leaves=("M2",)), Stop(place=YARD, takes=("M2",))), "order of stops"),  # left before taken
        ((Stop(place=YARD, takes=("M2",)), Stop(place=AYR, leaves=("M2",))), "order of stops"),  # at another door
        ((Stop(place=FAR, takes=("M2",)), Stop(place=BEE, leaves=("M2",))), "order of stops"),  # does not stand there
        ((Stop(place=AYR, takes=("M3",)), Stop(place=YARD, leaves=("M3",))), "part-exchange"),  # without its delivery
        ((Stop(place=YARD, takes=("M1", "M2")), Stop(place=AYR, leaves=("M1",)), Stop(place=BEE, leaves=("M2",))), "plates"),
        ((Stop(place=YARD, takes=("M1",)), Stop(place=YARD, takes=("M2",)), Stop(place=AYR, leaves=("M1",)),
          Stop(place=BEE, leaves=("M2",))), "plates"),
    ],
)  # fmt: skip
def test_stops_that_make_no_sense_are_refused(stops, expected):
    assert rule(worked_day(), replace(PLATE, stops=stops)) == expected


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"may_be_driven": False}, "method"),
        ({"pinned_driver": "D3"}, "pin"),
        ({"pinned_transporter": "T1"}, "pin"),
    ],
)
def test_a_move_may_refuse_its_driver(change, expected):
    assert rule(with_move(worked_day(), "M2", **change), PLATE) == expected


def test_a_car_goes_no_farther_than_its_charge():
    day = worked_day()
    assert rule(with_car(day, "M2", range_m=20_000), PLATE) is None
    assert rule(with_car(day, "M2", range_m=19_999), PLATE) == "range"


def test_policy_limits_the_distance_and_the_number_of_driven_cars():
    day = worked_day()
    assert rule(replace(day, policy=replace(day.policy, driven_max_m=19_999)), PLATE) == "policy"
    assert rule(replace(day, policy=replace(day.policy, driven_moves_a_shift=0)), PLATE) == "policy"


def test_a_support_car_needs_a_second_driver_who_starts_with_the_first():
    day = worked_day()
    assert rule(day, replace(PLATE, support_driver="D3")) is None
    assert rule(day, replace(PLATE, support_driver="D1")) == "crew"
    assert rule(replace(day, policy=replace(day.policy, support_car_allowed=False)), replace(PLATE, support_driver="D3")) == "policy"


def test_payload_is_refused_with_the_figures():
    day = with_car(worked_day(), "M2", mass_kg=3001)
    refusal = refuse(day, CARRIED)
    assert refusal is not None
    assert refusal.rule == "payload"
    assert "3001 kg" in refusal.says
    assert "3000 kg" in refusal.says


def test_a_large_transporter_stays_away_from_a_narrow_door():
    day = with_move(worked_day(), "M2", no_large_vehicle=True)
    assert rule(day, CARRIED) is None  # 7.5 t is not large
    big = replace(day.transporters[0], gross_kg=18_000)
    driver = replace(day.driver_of["D2"], licences=frozenset({"C"}))
    day = replace(day, transporters=(big,), drivers=(driver,))
    assert rule(day, CARRIED) == "access"


def test_a_hired_carrier_keeps_its_limits():
    day = worked_day()
    hired = Itinerary(driver=None, carrier="C1", stops=PLATE.stops)
    for change in ({"max_miles": 12}, {"max_mass_kg": 1199}, {"kinds": frozenset()}):
        assert rule(replace(day, carriers=(replace(day.carriers[0], **change),)), hired) == "hired carrier"


# gov.uk "Driving licence categories"; the zero-emission B limit of 4,250 kg is in force since 10 June 2025.
@pytest.mark.parametrize(
    ("gross_kg", "trailer_kg", "is_electric", "needed"),
    [
        (3500, 0, False, "B"), (3501, 0, False, "C1"), (4250, 0, True, "B"), (4250, 0, False, "C1"), (4251, 0, True, "C1"),
        (7500, 0, False, "C1"), (7500, 751, False, "C1E"), (7501, 0, False, "C"), (18000, 750, False, "C"),
        (18000, 751, False, "CE"),
    ],
)  # fmt: skip
def test_the_licence_follows_from_the_masses(gross_kg, trailer_kg, is_electric, needed):
    transporter = Transporter(transporter_id="T", name="T", registration="T", base=YARD, deck="", gross_kg=gross_kg,
                              payload_kg=1, slots=1, trailer_kg=trailer_kg, is_electric=is_electric)  # fmt: skip
    assert transporter.licence == needed


def test_a_higher_category_covers_a_lower_one():
    assert covers(frozenset({"CE"}), "C1E")
    assert not covers(frozenset({"C1E"}), "C")
    assert not covers(frozenset({"C"}), "C1E")
