"""Curated links: where their ends join the roads, what they take the place of, and what a main road's towns count as."""

import numpy as np
import pytest

from maps.build.gaps import add, curated, known_lengths
from maps.build.settings import over_hills, past_towns
from maps.build.source_roads import RawRoads
from maps.roads import Setting

HEAD = "from_lng,from_lat,to_lng,to_lat,via,class,name,miles,reason\n"


@pytest.fixture
def roads():
    """Return two edges of some 14 km in a row, west to east, with junctions 0, 1 and 2."""
    return RawRoads(
        lng=np.array([-2.4, -2.2, -2.0]),
        lat=np.full(3, 52.0),
        tail=np.array([0, 1]),
        head=np.array([1, 2]),
        source_m=np.array([14_000.0, 15_000.0]),
    )


def links_of(tmp_path, roads, *rows):
    path = tmp_path / "links.csv"
    path.write_text(HEAD + "".join(f"{row}\n" for row in rows), encoding="utf-8")
    return curated(path, roads)


def edges(roads):
    return {frozenset((int(tail), int(head))) for tail, head in zip(roads.tail, roads.head, strict=True)}


def test_an_end_near_a_junction_takes_it(tmp_path, roads):
    grown, (link,) = links_of(tmp_path, roads, "-2.401,52.001,-2.1,52.2,,single,B1,,missing")
    assert link.tail == 0
    assert len(grown.lng) == 4


def test_an_end_beside_a_long_edge_cuts_it_where_it_meets_it(tmp_path, roads):
    grown, (link,) = links_of(tmp_path, roads, "-2.35,52.005,-2.35,52.2,,single,B1,,missing")
    assert edges(grown) == {frozenset((0, link.tail)), frozenset((link.tail, 1)), frozenset((1, 2))}
    assert grown.source_m.sum() == pytest.approx(29_000)
    assert grown.source_m.min() == pytest.approx(3_500, rel=0.01)


def test_an_end_joins_a_long_single_carriageway_from_farther_off(tmp_path, roads):
    """The source draws it straight: the road itself bulges towards the village."""
    grown, (link,) = links_of(tmp_path, roads, "-2.3,52.02,-2.3,52.2,,single,B1,,missing")
    assert edges(grown) == {frozenset((0, link.tail)), frozenset((link.tail, 1)), frozenset((1, 2))}


def test_a_motorway_is_never_cut(tmp_path, roads):
    path = tmp_path / "links.csv"
    path.write_text(HEAD + "-2.35,52.005,-2.35,52.2,,single,B1,,missing\n", encoding="utf-8")
    grown, _ = curated(path, roads, np.array([True, False]))
    assert edges(grown) == edges(roads)


def test_an_end_far_from_everything_stands_for_itself(tmp_path, roads):
    grown, (link,) = links_of(tmp_path, roads, "-2.4,52.0,-2.3,52.3,,minor,B2,,missing")
    assert edges(grown) == edges(roads)
    assert link.head == 3


def test_rows_of_one_road_take_the_place_of_the_edge_from_its_start_to_its_end(tmp_path, roads):
    """The source draws a straight line where the road goes round by a town."""
    rows = ("-2.4,52.0,-2.3,52.1,,single,A1,,by the town", "-2.3,52.1,-2.2,52.0,,single,A1,,by the town")
    grown, links = links_of(tmp_path, roads, *rows)
    assert edges(grown) == {frozenset((1, 2))}
    whole, _ = add(grown, links)
    assert frozenset((0, 1)) not in edges(whole)
    assert len(whole.tail) == 3


def test_rows_of_two_roads_leave_the_edge(tmp_path, roads):
    rows = ("-2.4,52.0,-2.3,52.1,,single,A1,,by the town", "-2.3,52.1,-2.2,52.0,,single,A2,,another road")
    grown, _ = links_of(tmp_path, roads, *rows)
    assert frozenset((0, 1)) in edges(grown)


def test_a_road_that_goes_round_its_towns_meets_them_one_setting_lighter():
    percent = np.array([[10, 20, 30, 35, 5, 0], [10, 20, 30, 35, 5, 0]], dtype=np.uint8)
    moved = past_towns(percent, np.array([True, False]))
    assert moved[0, [Setting.OPEN, Setting.VILLAGE, Setting.TOWN, Setting.CITY, Setting.HILL]].tolist() == [30, 30, 0, 35, 5]
    assert moved[1].tolist() == percent[1].tolist()


def test_a_road_that_keeps_its_speed_over_the_hills_counts_them_as_open_country():
    percent = np.array([[10, 20, 0, 0, 70, 0], [10, 20, 0, 0, 70, 0]], dtype=np.uint8)
    moved = over_hills(percent, np.array([True, False]))
    assert moved[0, [Setting.OPEN, Setting.VILLAGE, Setting.HILL]].tolist() == [80, 20, 0]
    assert moved[1].tolist() == percent[1].tolist()


def test_a_road_of_known_length_is_so_long_over_all_its_rows(tmp_path, roads):
    rows = (
        "-2.4,52.0,-2.3,52.1,,single,A1,25,by the town", "-2.3,52.1,-2.2,52.0,,single,A1,,by the town",
        "-2.2,52.0,-2.1,52.1,,single,A2,,missing",
    )  # fmt: skip
    grown, links = links_of(tmp_path, roads, *rows)
    whole, of_link = add(grown, links)
    metres = whole.source_m[len(grown.tail) :].copy()
    last = metres[of_link == 2].sum()
    known_lengths(links, of_link, metres)
    assert metres[of_link < 2].sum() == pytest.approx(25 * 1609.344)
    assert metres[of_link == 2].sum() == last
