"""Rides home by train, coach and taxi: arithmetic worked by hand, and what the office knows better."""

import numpy as np
import pytest

from planner.model.crews import VehicleClass
from planner.model.places import Place
from planner.model.policy import Policy
from planner.model.rides import RideOverride, district, ride_table
from planner.model.travel import TravelTable

POLICY = Policy(ride_fixed_min=40, ride_kmh=75.0, ride_fixed_pence=1200, ride_pence_per_km=14.0, ride_shortest_m=3000)
PLACES = tuple(Place(place_id=code, name=code, lng=0, lat=52, postcode=code) for code in ("DH1 3EL", "NN11 8QL", "DH1 4AA", "TR18 2SU"))


def car(metres, ferry=0):
    metres = np.array(metres, dtype=np.int32)
    return TravelTable(vehicle_class=VehicleClass.CAR, metres=metres, seconds=np.where(metres < 0, -1, metres // 20).astype(np.int32),
                       charge_mask=np.zeros(metres.shape, np.int64), ferry_seconds=np.full(metres.shape, ferry, np.int32))


@pytest.mark.parametrize(("metres", "minutes", "pence"), [
    (100_000, 120, 2600),  # 40 + 100 km / 75 km/h = 40 + 80 min; 1200 + 100 x 14 p
    (100_001, 121, 2600),  # any part of a minute counts; 1400.014 p rounds down
    (3_000, 40, 1200),     # near enough to walk or take a taxi
    (3_001, 43, 1242),     # 2.4 min counts as 3; 42.014 p
    (0, 0, 0),             # the neighbour at no distance
    (-1, -1, -1),          # no road leads there
])
def test_minutes_and_pence_by_hand(metres, minutes, pence):
    rides = ride_table(car([[0, metres], [metres, 0]]), POLICY)
    assert (rides.minutes[0, 1], rides.fare_pence[0, 1]) == (minutes, pence)
    assert (rides.minutes[0, 0], rides.fare_pence[0, 0]) == (0, 0)


def test_time_aboard_a_ferry_is_added():
    assert ride_table(car([[0, 75_000], [75_000, 0]], ferry=61), POLICY).minutes[0, 1] == 40 + 60 + 2


def test_an_override_holds_both_ways_between_all_places_of_the_two_districts_only():
    far = np.full((4, 4), 300_000, dtype=np.int32)
    np.fill_diagonal(far, 0)
    plain = ride_table(car(far), POLICY)
    rides = ride_table(car(far), POLICY, PLACES, [RideOverride(district="dh1", other_district="NN11", minutes=205, fare_pence=7450)])
    changed = rides.minutes != plain.minutes
    assert {tuple(map(int, pair)) for pair in np.argwhere(changed)} == {(0, 1), (1, 0), (2, 1), (1, 2)}
    assert set(rides.minutes[changed]) == {205}
    assert set(rides.fare_pence[changed]) == {7450}


def test_an_override_makes_no_road_where_none_leads():
    rides = ride_table(car([[0, -1], [-1, 0]]), POLICY, PLACES[:2], [RideOverride(district="DH1", other_district="NN11", minutes=5, fare_pence=5)])
    assert rides.minutes.tolist() == [[0, -1], [-1, 0]]


@pytest.mark.parametrize(("text", "outward"), [("DH1 3EL", "DH1"), ("ec1a1bb", "EC1A"), ("W1A 0AX", "W1A"), ("DH1", "DH1"), ("", "")])
def test_the_district_is_the_outward_part(text, outward):
    assert district(text) == outward
