"""The straight line, against a published worked example, and the road against it."""

import pytest

from maps.straight_line import circuity, straight_metres
from planner.model.places import Place, PlaceId


def place(lat, lng):
    return Place(place_id=PlaceId("p"), name="p", lat=lat, lng=lng)


def test_a_published_worked_example():
    # Land's End to John o' Groats, a widely printed worked example of Vincenty's formula (from memory): 50 03 58.76 N 5 42 53.10 W
    # to 58 38 38.48 N 3 04 12.34 W is 969,954.166 m.
    start = place(50 + 3 / 60 + 58.76 / 3600, -(5 + 42 / 60 + 53.10 / 3600))
    end = place(58 + 38 / 60 + 38.48 / 3600, -(3 + 4 / 60 + 12.34 / 3600))
    assert straight_metres(start, end) == 969_954


def test_the_road_is_so_many_times_as_long():
    assert circuity(place(52, -1), place(52, -1), 0) is None
    far = place(52.5, -1)
    assert circuity(place(52, -1), far, 2 * straight_metres(place(52, -1), far)) == pytest.approx(2)
