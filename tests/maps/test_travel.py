"""Travel: tables and paths agree, fast paths equal slow ones, and what cannot be reached says so."""

from datetime import date

import networkx as nx
import numpy as np
import pytest

from maps.gazetteer import locate
from maps.roads import RoadClass, RoadNetwork, blank, built_in
from maps.travel import arcs_of, path, travel_tables
from planner.faults import NoRoad, UnknownPlace
from planner.model.crews import VehicleClass
from planner.model.places import Place, PlaceId
from planner.units import miles

DAY = date(2026, 3, 3)
CAR = VehicleClass.CAR


def point(lng, lat, name="here"):
    return Place(place_id=PlaceId(name), name=name, lng=lng, lat=lat)


@pytest.fixture(scope="module")
def towns():
    return [locate(text) for text in ("SO14 0YG", "LS1 4DY", "EH1 1YZ", "TR1 2EY", "PO30 1UD", "KW1 4AA", "CF10 1EP", "HS1 2AD", "CM1 1GU")]


@pytest.fixture(scope="module")
def tables(towns):
    return travel_tables(towns, list(VehicleClass), day=DAY)


def test_a_table_is_whole_and_sane(tables, towns):
    held, charges = tables
    for table in held.values():
        assert (np.diag(table.seconds) == 0).all()
        off = ~np.eye(len(towns), dtype=bool)
        assert (table.metres[off] > 0).all()
        assert (table.seconds[off] > 0).all()
        assert (table.ferry_seconds <= table.seconds).all()
        assert int(table.charge_mask.max()) < 1 << len(charges)
    assert (held[VehicleClass.GOODS_HEAVY].seconds >= held[CAR].seconds).all()


def test_only_the_islands_need_a_ferry(tables, towns):
    held, charges = tables
    aboard = held[CAR].ferry_seconds > 0
    on_island = np.array([place.name in ("PO30 1UD", "HS1 2AD") for place in towns])
    assert (aboard == (on_island[:, None] | on_island[None, :]) & ~np.eye(len(towns), dtype=bool)).all()
    assert {charge.kind.value for charge in charges} >= {"ferry"}


def test_path_and_table_are_one_and_the_same(tables, towns):
    held, charges = tables
    for row, origin in enumerate(towns[:4]):
        for column, destination in enumerate(towns):
            if row == column:
                continue
            found = path(origin, destination)
            assert (found.metres, found.seconds, found.ferry_seconds) == (
                held[CAR].metres[row, column], held[CAR].seconds[row, column], held[CAR].ferry_seconds[row, column])
            mask = int(held[CAR].charge_mask[row, column])
            assert {charge.key for charge in found.charges} == {charge.key for bit, charge in enumerate(charges) if mask >> bit & 1}
            assert found.line.shape[1] == 2
            assert found.line[0] == pytest.approx([origin.lng, origin.lat])
            assert found.line[-1] == pytest.approx([destination.lng, destination.lat])


def test_no_path_is_shorter_than_the_straight_line(tables, towns):
    """The straight line on the earth's ellipsoid by geopy (an independent library)."""
    from geopy.distance import geodesic

    held, _ = tables
    for row, origin in enumerate(towns):
        for column, destination in enumerate(towns):
            straight = geodesic((origin.lat, origin.lng), (destination.lat, destination.lng)).meters
            assert held[CAR].metres[row, column] >= 0.98 * straight


def small_network():
    """A square of four junctions with one diagonal, one way, and an island nobody reaches."""
    edges = [(0, 1, 4000), (1, 2, 3000), (2, 3, 4000), (3, 0, 3000), (0, 2, 5200), (4, 5, 1000)]
    rest = blank(len(edges))
    rest["one_way"][4] = True
    return RoadNetwork(
        node_lng=np.array([-1.5, -1.44, -1.44, -1.5, -1.30, -1.29]), node_lat=np.array([52.0, 52.0, 52.03, 52.03, 52.0, 52.0]),
        tail=np.array([a for a, _, _ in edges], np.int32), head=np.array([b for _, b, _ in edges], np.int32),
        metres=np.array([m for _, _, m in edges], np.int32), road_class=np.full(len(edges), RoadClass.SINGLE, np.uint8), **rest)


def test_one_way_holds_and_the_unreachable_says_so():
    network = small_network()
    a, c, island = point(-1.5, 52.0, "A"), point(-1.44, 52.03, "C"), point(-1.295, 52.0, "island")
    there, back = path(a, c, network=network), path(c, a, network=network)
    assert there.metres == pytest.approx(5200, abs=60)
    assert back.metres == pytest.approx(7000, abs=60)
    with pytest.raises(NoRoad, match="No way from A to island"):
        path(a, island, network=network)
    with pytest.raises(NoRoad, match="no road or ferry of the network joins them"):  # its height is not to blame
        path(a, island, network=network, height_mm=4500)
    held, _ = travel_tables([a, c, island], [CAR], day=DAY, network=network)
    assert held[CAR].metres[0, 2] == held[CAR].seconds[2, 1] == -1


def test_fast_paths_equal_networkx_on_the_same_graph():
    """networkx (an independent library) on the arcs of the national network, node to node."""
    from maps.travel_kernel import search

    network = built_in()
    arcs = arcs_of(network, CAR)
    graph = nx.DiGraph()
    for tail, head, ms in zip(arcs.came_from, arcs.to, arcs.ms, strict=True):
        if not graph.has_edge(int(tail), int(head)) or graph[int(tail)][int(head)]["ms"] > ms:
            graph.add_edge(int(tail), int(head), ms=int(ms))
    source = 100
    theirs = nx.single_source_dijkstra_path_length(graph, source, weight="ms")
    count = network.num_nodes
    ms, metres, came_by = (np.empty(count, np.int64) for _ in range(3))
    heap = np.empty(len(arcs.to) + 16, np.int64)
    wanted = np.ones(count, np.bool_)
    search(arcs.at, arcs.to, arcs.ms, arcs.metres, np.array([source]), np.array([0]), np.array([0]), wanted, count, ms, metres, came_by, heap)
    for node in range(0, count, 7):
        assert ms[node] == theirs.get(node, 1 << 40)


@pytest.mark.parametrize(("pair", "road_miles"), [
    # Printed mileage charts, from memory: fastest main road, centre to centre.  Cardiff to Llandudno is by the A470, where the
    # coast road by the M4 and M5 is as quick.
    (("London", "Birmingham"), 118), (("Manchester", "Carlisle"), 119), (("Edinburgh", "Dundee"), 62), (("Cardiff", "Llandudno"), 180),
    (("Glasgow", "Fort William"), 104), (("Inverness", "Thurso"), 110), (("Birmingham", "Norwich"), 160), (("London", "Plymouth"), 238),
    (("Bristol", "Cardiff"), 45),
])
def test_city_pairs_come_near_the_printed_charts(pair, road_miles):
    found = path(*(locate(name) for name in pair))
    assert miles(found.metres) == pytest.approx(road_miles, rel=0.07)


def test_the_sea_is_no_place_to_start():
    with pytest.raises(UnknownPlace):
        travel_tables([point(2.5, 53.5, "at sea"), point(-1.4, 50.9)], [CAR], day=DAY)


def test_no_places_no_table_and_one_place_a_zero():
    held, charges = travel_tables([], [CAR], day=DAY)
    assert held[CAR].metres.shape == (0, 0)
    assert charges == ()
    held, _ = travel_tables([point(-1.4, 50.9)], [CAR], day=DAY)
    assert held[CAR].seconds.tolist() == [[0]]


def test_a_place_twice_is_no_trouble():
    place = locate("LS1 4DY")
    held, _ = travel_tables([place, place], [CAR], day=DAY)
    assert held[CAR].seconds.tolist() == held[CAR].metres.tolist() == [[0, 0], [0, 0]]


def test_whole_degrees_are_degrees():
    """A plan read from JSON may say 52 for 52.0."""
    whole, broken = [point(-1, 52), point(-2, 52)], [point(-1.0, 52.0), point(-2.0, 52.0)]
    held, same = travel_tables(whole, [CAR], day=DAY)[0][CAR], travel_tables(broken, [CAR], day=DAY)[0][CAR]
    assert (held.metres == same.metres).all()
    assert miles(int(held.metres[0, 1])) < 80
