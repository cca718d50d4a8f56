"""The straight line, against a published worked example, and the road against it."""

import pytest

from maps.straight_line import circuity, straight_metres
from planner.model.places import Place, PlaceId


def place(lat, lng):
    return Place(place_id=PlaceId("p"), name="p", lat=lat, lng=lng)


def test_a_published_worked_example():
    # Land's End to John o' Groats, 968.9 km by Vincenty's formula in a widely printed worked example (from memory):
    # 50 03 59 N 5 42 53 W to 58 38 38 N 3 04 12 W, given there as 969.954 km on the ellipsoid.
    start, end = place(50 + 3 / 60 + 59 / 3600, -(5 + 42 / 60 + 53 / 3600)), place(58 + 38 / 60 + 38 / 3600, -(3 + 4 / 60 + 12 / 3600))
    assert straight_metres(start, end) == pytest.approx(969_954, abs=5)


def test_the_road_is_so_many_times_as_long():
    assert circuity(place(52, -1), place(52, -1), 0) is None
    far = place(52.5, -1)
    assert circuity(place(52, -1), far, 2 * straight_metres(place(52, -1), far)) == pytest.approx(2)
