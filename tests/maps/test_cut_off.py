"""Cut off: no way leads to an island without a ferry that a car drives on, the others keep theirs."""

import numpy as np
import pytest

from maps.cut_off import cut_off
from maps.gazetteer import locate
from maps.told_pairs import by_car
from maps.travel import path
from planner.faults import NoRoad


@pytest.mark.parametrize("postcode", ["EX39 2LY", "ZE2 9JU", "PH42 4RL", "PH41 4PH"])  # Lundy, Fair Isle, Eigg, Knoydart
def test_nobody_drives_to_a_place_that_is_cut_off(postcode):
    with pytest.raises(NoRoad):
        path(locate(postcode), locate("B1 1AA"))
    metres = by_car([locate(each) for each in ("B1 1AA", postcode, "OX1 1AA")]).metres
    assert metres[0, 1] == metres[1, 0] == metres[1, 2] == -1
    assert metres[0, 2] > 0
    assert metres[1, 1] == 0


@pytest.mark.parametrize(("postcode", "ferry"), [  # Coll, Tiree, Jura, Colonsay
    ("PA78 6TB", "Coll"), ("PA77 6UP", "Tiree"), ("PA60 7XQ", "Islay"), ("PA61 7YS", "Colonsay"),
])
def test_islands_with_a_ferry_are_reached_by_their_own(postcode, ferry):
    assert any(ferry in charge.name for charge in path(locate("PA34 4AA"), locate(postcode)).charges)


def test_the_mainland_beside_an_island_is_not_cut_off():
    """Fionnphort, Mallaig, Tenby, Hartland and Sandbanks."""
    lng = np.array([-5.365 - 1.0, -5.83, -4.70, -4.48, -1.94])
    lat = np.array([56.325, 57.005, 51.672, 50.995, 50.688])
    assert not cut_off(lng, lat).any()
