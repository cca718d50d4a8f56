"""Cars sold for a later day go ahead to the compound nearest their buyer where that pays, and only there."""

from dataclasses import replace
from datetime import date
from math import asin, cos, radians, sin, sqrt

import pytest

from planner.desk.transfers_ahead import without_idle
from planner.model.moves import MoveKind
from planner.runs.referee import check_plan
from planner.search.solve import solve
from tests.planner.desk.small_folder import faults, order, read
from tests.stand_in_geography import locate

COMPOUNDS = [{"compound": "Yard", "postcode": "NN11 8QL"}, {"compound": "Depot", "postcode": "DL3 7QQ"}]
DOOR = "DL3 7QX"
POLICY = "day = 2026-11-26\nahead_pence_per_km = {}"


def later(**changes):
    return order(**{"order": "A2", "registration": "Q2", "promised": "2026-11-27", "postcode": DOOR} | changes)


def stand_in_km(one, other):
    """Haversine by hand on geopy's mean radius."""
    (a, b), (c, d) = ((radians(place.lat), radians(place.lng)) for place in (one, other))
    return 2 * 6371.009 * asin(sqrt(sin((c - a) / 2) ** 2 + cos(a) * cos(c) * sin((d - b) / 2) ** 2))


@pytest.fixture(autouse=True)
def depot_is_nearer(monkeypatch):
    """The stand-in's points are chance; here the second compound and both doors lie some 100 km east of the first."""
    yard = locate("NN11 8QL")
    east = {"DL3 7QQ": 1.4, DOOR: 1.45, "LA9 4PU": 1.5}

    def near(text):
        place = locate(text)
        return replace(place, lng=yard.lng + east[place.postcode], lat=yard.lat) if place.postcode in east else place

    monkeypatch.setattr("tests.planner.desk.small_folder.locate", near)


def test_the_price_is_what_the_delivery_would_save():
    day = read(orders=[later()], compounds=COMPOUNDS, policy=POLICY.format(50))
    (move,) = day.moves
    assert (move.kind, move.move_id, move.origin, move.destination, move.order) == (
        MoveKind.TRANSFER, "A2.AHEAD", "Yard", "Depot", None)
    yard, depot = (day.place_of[name] for name in ("Yard", "Depot"))
    door = replace(depot, lng=depot.lng + 0.05)
    assert move.stays_behind_pence == round(50 * (stand_in_km(yard, door) - stand_in_km(depot, door)))


@pytest.mark.parametrize("changes", [
    {"promised": "2026-12-02"}, {"gate_valet": "no"}, {"stands_at": "Depot"}, {"promised": "2026-11-26", "postcode": "LA9 4PU"},
])
def test_nothing_is_offered_where_nothing_is_to_be_gained(changes):
    day = read(orders=[later(**changes)], compounds=COMPOUNDS, policy=POLICY.format(50))
    assert "A2.AHEAD" not in day.move_of


def test_nothing_is_offered_where_the_policy_pays_nothing():
    assert read(orders=[later()], compounds=COMPOUNDS, policy=POLICY.format(0)).moves == ()


@pytest.mark.parametrize(("rate", "goes"), [(500, True), (5, False)])
def test_a_car_goes_ahead_only_where_that_pays(rate, goes):
    day = read(orders=[order(), later()], compounds=COMPOUNDS, policy=POLICY.format(rate))
    assert {move.move_id for move in day.moves} == {"A1", "A2.AHEAD"}
    smaller, plan = without_idle(day, solve(day, seconds=10))
    assert check_plan(smaller, plan) == ()
    assert plan.bound is not None
    assert plan.bound.pence <= plan.cost_pence
    assert ("A2.AHEAD" in {move for run in plan.runs for move in run.itinerary.moves}) == goes
    assert ("A2.AHEAD" in smaller.move_of) == goes
    assert any("A2 is for a later day and goes ahead to Depot" in note for note in smaller.notes) == goes
    assert all(left.move != "A2.AHEAD" for left in plan.not_placed)
    assert smaller.clock.day == date(2026, 11, 26)


def test_the_ending_is_kept():
    assert [fault[2] for fault in faults(orders=[order(order="B.ahead")])] == ["order"]
