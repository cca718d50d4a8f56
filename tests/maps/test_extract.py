"""Reading an OpenStreetMap extract: classes, directions and signs hold, and a bad file is told plainly."""

import doctest
import sys
from datetime import date
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("osmium")
sys.path.insert(0, str(Path(__file__).parent))

from make_extract import write_grid, write_town

from maps import extract, extract_tags
from maps.roads import RoadClass, in_use, read
from maps.travel import path, travel_tables
from planner.faults import NoRoad, PlannerError
from planner.model.crews import VehicleClass
from planner.model.places import Place, PlaceId

CAR, HEAVY = VehicleClass.CAR, VehicleClass.GOODS_HEAVY


def point(lng, lat, name="here"):
    return Place(place_id=PlaceId(name), name=name, lng=lng, lat=lat)


@pytest.fixture(scope="module")
def town(tmp_path_factory):
    folder = tmp_path_factory.mktemp("town")
    write_town(folder / "town.osm.pbf")
    extract.import_extract(folder / "town.osm.pbf", folder / "town.roads.npz")
    assert [each.name for each in folder.iterdir() if "part" in each.name] == []
    return read(folder / "town.roads.npz")


def test_tags_are_read_as_they_are_meant():
    assert doctest.testmod(extract_tags).failed == 0


@pytest.mark.parametrize(("tags", "kind", "ways"), [
    ({"highway": "motorway"}, RoadClass.MOTORWAY, 1), ({"highway": "trunk"}, RoadClass.SINGLE, 0),
    ({"highway": "trunk", "oneway": "yes"}, RoadClass.DUAL, 1), ({"highway": "primary", "junction": "roundabout"}, RoadClass.SINGLE, 1),
    ({"highway": "residential", "oneway": "-1"}, RoadClass.MINOR, -1), ({"highway": "footway"}, None, 0), ({"highway": "service"}, None, 0),
    ({"highway": "primary", "access": "no", "motor_vehicle": "yes"}, RoadClass.SINGLE, 0), ({"highway": "primary", "motor_vehicle": "private"}, None, 0),
    ({"route": "ferry"}, RoadClass.FERRY, 0), ({"route": "ferry", "motor_vehicle": "no"}, None, 0), ({"route": "bus"}, None, 0),
])
def test_classes_and_directions(tags, kind, ways):
    assert extract_tags.road_class(tags) == kind
    assert extract_tags.direction(tags) == ways


def test_only_what_may_be_driven_is_in_the_network(town):
    assert town.names.count("A999") == 1
    assert "Town ferry" in town.names
    assert len(town.rank) == town.num_nodes
    assert sorted(town.rank) == list(range(town.num_nodes))
    # Way 9 stands by itself; 7 and 8 are not for cars: no edge leaves the square's diagonal or the lonely pair.
    assert not ((np.abs(town.node_lng + 1.45) < 1e-3) & (np.abs(town.node_lat - 52.01) < 1e-3)).any()


def test_one_way_streets_hold_both_ways_of_saying_it(town):
    south_east, north_east, north_west = point(-1.44, 52.00, "SE"), point(-1.44, 52.03, "NE"), point(-1.50, 52.03, "NW")
    assert path(south_east, north_east, network=town).metres == pytest.approx(3336, rel=0.02)
    assert path(north_east, north_west, network=town).metres == pytest.approx(4105, rel=0.02)
    assert path(north_west, north_east, network=town).metres > 9000  # way 3 runs against its drawing, so the long way round


def test_a_tall_or_heavy_vehicle_is_kept_off_and_told_when_that_was_the_only_road(town):
    south_west, south_east = point(-1.50, 52.00, "SW"), point(-1.44, 52.00, "SE")
    assert path(south_west, south_east, network=town, height_mm=3400).metres == pytest.approx(4110, rel=0.02)
    with pytest.raises(NoRoad, match="No way from SW to SE"):
        path(south_west, south_east, network=town, height_mm=3600)
    north_west = point(-1.50, 52.03, "NW")
    assert path(north_west, south_west, network=town).metres == pytest.approx(3336, rel=0.02)
    with pytest.raises(NoRoad):
        path(north_west, south_west, HEAVY, network=town)


def test_a_signed_speed_is_kept_to(town):
    edge = int(np.flatnonzero(town.limit_kmh == 80)[0])
    assert town.road_class[edge] == RoadClass.DUAL
    found = path(point(-1.44, 52.00), point(-1.44, 52.03), network=town)
    assert found.seconds >= 3336 / 80 * 3.6 - 1


def test_a_ferry_takes_its_time_and_check_in(town):
    found = path(point(-1.44, 52.00, "SE"), point(-1.39, 52.00, "isle"), network=town)
    assert found.ferry_seconds == 20 * 60 + extract_tags.CHECK_IN_S
    held, _ = travel_tables([point(-1.44, 52.00), point(-1.39, 52.00)], [CAR], day=date(2026, 3, 2), network=town)
    assert (held[CAR].metres[0, 1], held[CAR].seconds[0, 1]) == (found.metres, found.seconds)


@pytest.mark.parametrize("content", [b"", b"id,from,to\n1,2,3\n", b"\x00\x00\x00\x0dgarbage" * 50])
def test_a_damaged_file_is_told_plainly_and_leaves_nothing(tmp_path, content):
    bad = tmp_path / "bad.osm.pbf"
    bad.write_bytes(content)
    with pytest.raises(PlannerError, match=r"bad\.osm\.pbf"):
        extract.import_extract(bad, tmp_path / "out.npz")
    assert [each.name for each in tmp_path.iterdir()] == ["bad.osm.pbf"]


def test_a_cut_off_file_is_told_plainly(tmp_path):
    whole = tmp_path / "whole.osm.pbf"
    write_grid(whole, 20_000)
    cut = tmp_path / "cut.osm.pbf"
    cut.write_bytes(whole.read_bytes()[: whole.stat().st_size * 2 // 3])
    with pytest.raises(PlannerError, match="cannot be read"):
        extract.import_extract(cut, tmp_path / "out.npz")
    assert not (tmp_path / "out.npz").exists()


def test_a_missing_file_and_one_without_roads(tmp_path):
    with pytest.raises(PlannerError, match="no such file"):
        extract.import_extract(tmp_path / "none.osm.pbf", tmp_path / "out.npz")


def test_a_ferry_with_a_stop_takes_no_longer_than_the_whole_of_it(tmp_path):
    import osmium
    from make_extract import node, way

    with osmium.SimpleWriter(str(tmp_path / "stop.osm.pbf"), overwrite=True) as out:
        for number, lng in enumerate((-1.50, -1.49, -1.48, -1.45), start=1):
            out.add_node(node(number, lng, 52.0))
        out.add_node(node(5, -1.48, 52.01))
        out.add_way(way(1, [1, 2], highway="residential"))
        out.add_way(way(2, [2, 3, 4], route="ferry", duration="01:00"))
        out.add_way(way(3, [3, 5], highway="residential"))
    network = extract.import_extract(tmp_path / "stop.osm.pbf", tmp_path / "stop.npz")
    hops = network.ferry_s[network.road_class == RoadClass.FERRY]
    assert hops.tolist() == [1350, 4050]  # an hour and half an hour of check-in, by the metres of each hop


def test_a_place_that_cannot_be_written_is_told_before_anything_is_read(tmp_path, monkeypatch):
    write_town(tmp_path / "town.osm.pbf")
    monkeypatch.setattr(extract, "read_ways", lambda *_, **__: pytest.fail("it was read"))
    for out, says in ((tmp_path, "is a folder"), (tmp_path / "town.osm.pbf", "the extract itself"), (tmp_path / "none" / "a.npz", "cannot be written")):
        with pytest.raises(PlannerError, match=says):
            extract.import_extract(tmp_path / "town.osm.pbf", out)


def test_what_a_stopped_import_left_behind_may_be_damaged(tmp_path):
    write_town(tmp_path / "town.osm.pbf")
    stat = (tmp_path / "town.osm.pbf").stat()
    (tmp_path / f".town.npz.{stat.st_size}-{int(stat.st_mtime)}.part.npz").write_bytes(b"PK\x03\x04 cut off")
    assert extract.import_extract(tmp_path / "town.osm.pbf", tmp_path / "town.npz").num_edges == 30


def test_a_stopped_import_goes_on_where_it_was(tmp_path, monkeypatch):
    write_grid(tmp_path / "grid.osm.pbf", 5_000)
    monkeypatch.setattr(extract, "to_network", lambda _: (_ for _ in ()).throw(KeyboardInterrupt))
    with pytest.raises(KeyboardInterrupt):
        extract.import_extract(tmp_path / "grid.osm.pbf", tmp_path / "out.npz")
    monkeypatch.undo()
    told = []
    extract.import_extract(tmp_path / "grid.osm.pbf", tmp_path / "out.npz", progress=told.append)
    assert told[0].startswith("Going on")
    assert sorted(each.name for each in tmp_path.iterdir()) == ["grid.osm.pbf", "out.npz"]


def test_a_grid_keeps_its_junctions_and_its_lengths(tmp_path):
    write_grid(tmp_path / "grid.osm.pbf", 20_000)
    network = extract.import_extract(tmp_path / "grid.osm.pbf", tmp_path / "out.npz")
    side = round((20_000 / 23) ** 0.5)
    assert network.num_nodes == side * side
    assert network.num_edges == 2 * side * (side - 1)
    along_a_meridian = 5.0 / side * 111_195  # metres a degree on a sphere of 6371.0088 km
    upright = np.abs(network.node_lng[network.tail] - network.node_lng[network.head]) < 1e-9
    assert network.metres[upright].mean() == pytest.approx(along_a_meridian, rel=1e-3)


def test_the_environment_names_the_network_in_use(tmp_path, monkeypatch):
    write_grid(tmp_path / "grid.osm.pbf", 5_000)
    network = extract.import_extract(tmp_path / "grid.osm.pbf", tmp_path / "out.npz")
    monkeypatch.setenv("HOMELEG_ROADS", str(tmp_path / "out.npz"))
    assert in_use().num_edges == network.num_edges
    monkeypatch.setenv("HOMELEG_ROADS", str(tmp_path / "grid.osm.pbf"))
    with pytest.raises(PlannerError, match="roads import"):
        in_use()


def test_a_door_far_outside_the_extract_has_no_way(town):
    """Plymouth is 300 km from the town: no small road leads there."""
    plymouth, here = point(-4.14, 50.37, "Plymouth"), point(-1.5, 52.0, "town")
    with pytest.raises(NoRoad):
        path(plymouth, here, network=town)
    held, _ = travel_tables([plymouth, here], [CAR], day=date(2026, 3, 2), network=town)
    assert (held[CAR].metres[0, 1], held[CAR].seconds[1, 0], held[CAR].metres[1, 1]) == (-1, -1, 0)


def test_a_known_ferry_of_an_extract_says_that_it_is_booked(tmp_path):
    import osmium
    from make_extract import node, way

    with osmium.SimpleWriter(str(tmp_path / "wight.osm.pbf"), overwrite=True) as out:
        for number, place in enumerate(((-1.41, 50.90), (-1.405, 50.896), (-1.291, 50.757), (-1.29, 50.75)), start=1):
            out.add_node(node(number, *place))
        out.add_way(way(1, [1, 2], highway="primary"))
        out.add_way(way(2, [3, 2], route="ferry", duration="01:00"))
        out.add_way(way(3, [3, 4], highway="primary"))
    network = extract.import_extract(tmp_path / "wight.osm.pbf", tmp_path / "wight.npz")
    found = path(point(-1.41, 50.90, "Southampton"), point(-1.29, 50.75, "Cowes"), day=date(2026, 3, 2), network=read(tmp_path / "wight.npz"))
    assert [(charge.key, charge.must_book) for charge in found.charges] == [("ferry-southampton-cowes", True)]
    assert network.charge[network.road_class != RoadClass.FERRY].max() == -1
