"""Streets: from the middle of a town to the main roads at its edge, one in each direction, and what kinds of road allow."""

import numpy as np
import pytest

from maps.build import streets
from maps.build.network import A_ROAD_KMH, B_ROAD_KMH, MAIN_ROAD_KMH, allowed_kmh
from maps.build.source_roads import RawRoads
from maps.national_grid import from_lng_lat, to_lng_lat
from maps.roads import RoadClass, built_in

NO_WATER = np.zeros((0, 2, 2))


@pytest.fixture
def ring():
    """Return a ring of main roads, four junctions, 1.8 km round the middle of Market Harborough, which the source leaves alone."""
    middle = np.array(from_lng_lat(np.array([-0.921]), np.array([52.478]))).T[0]
    around = middle + 1800 * np.array([[1, 0], [0, 1], [-1, 0], [0, -1]])
    lng, lat = to_lng_lat(around[:, 0], around[:, 1])
    tail = np.arange(4)
    return RawRoads(lng=lng, lat=lat, tail=tail, head=np.roll(tail, -1), source_m=np.full(4, 2800.0))


def test_a_town_has_streets_to_the_roads_round_it(ring):
    kind, metres = np.full(4, RoadClass.SINGLE, dtype=np.int64), ring.source_m.copy()
    grown, kinds, lengths, names = streets.infer(ring, kind, metres, ["A6"] * 4, NO_WATER)
    added = np.arange(4, len(grown.tail))
    assert len(added) >= 2
    (middle,) = set(grown.tail[added])
    assert middle >= 4
    assert set(grown.head[added]) <= {0, 1, 2, 3}
    assert (kinds[added] == RoadClass.SINGLE).all()
    assert lengths[added] == pytest.approx(1800 * streets.RULE.winding, rel=0.2)
    assert names[4:] == [""] * len(added)


def test_the_largest_towns_come_first_and_reach_farthest():
    middles, reach_m = streets.towns()
    assert len(middles) > 1000
    assert (np.diff(reach_m) <= 0).all()
    assert reach_m[0] == streets.FARTHEST_M


def test_single_carriageways_allow_what_their_kind_does():
    """The file that comes with the project holds what the builder says of its names."""
    network = built_in()
    told = allowed_kmh(network)
    assert (told == network.limit_kmh).all()
    single = network.road_class == RoadClass.SINGLE
    assert not told[~single].any()
    of = {name: set(told[single & (network.name == number)]) for number, name in enumerate(network.names)}
    assert of["A9"] == {0}
    assert of["A17"] == {MAIN_ROAD_KMH}
    assert of["B4494"] == {B_ROAD_KMH}
    assert of[""] == {A_ROAD_KMH}
