"""The ladder against scipy's plain search: milliseconds, metres, ferries and charges of every pair."""

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from maps.crossings import bit_of
from maps.roads import RoadClass, RoadNetwork, blank, built_in
from maps.roads_order import order
from maps.travel_arcs import arcs_of, ends_of, weighed
from maps.travel_joins import join
from maps.travel_kernel import search
from maps.travel_ladder import build, tables, weigh
from planner.model.crews import VehicleClass

CAR = VehicleClass.CAR


def grid(side, seed):
    """A town of ``side`` by ``side`` junctions with uneven blocks, some one-way streets and one ferry."""
    rng = np.random.default_rng(seed)
    node = np.arange(side * side).reshape(side, side)
    tail = np.r_[node[:, :-1].ravel(), node[:-1].ravel()]
    head = np.r_[node[:, 1:].ravel(), node[1:].ravel()]
    rest = blank(len(tail))
    rest["one_way"] = rng.random(len(tail)) < 0.25
    rest["charge"][5] = 0
    rest["ferry_s"][5] = 300
    road_class = rng.integers(0, 4, len(tail)).astype(np.uint8)
    road_class[5] = RoadClass.FERRY
    east, north = np.meshgrid(np.arange(side), np.arange(side))
    return RoadNetwork(
        node_lng=-1.5 + 0.01 * east.ravel() + rng.uniform(0, 0.003, side * side), node_lat=52.0 + 0.006 * north.ravel(),
        tail=tail.astype(np.int32), head=head.astype(np.int32), metres=rng.integers(300, 900, len(tail)).astype(np.int32),
        road_class=road_class, charge_keys=("ferry-corran",), **rest)


@pytest.mark.parametrize("seed", range(5))
def test_every_pair_of_a_town_equals_scipy(seed):
    network = grid(9, seed)
    arcs = arcs_of(network, CAR)
    rank = order(network)
    assert sorted(rank) == list(range(network.num_nodes))
    ladder = build(rank, network.tail.astype(np.int64), network.head.astype(np.int64))
    count = network.num_nodes
    every = np.arange(count)

    class Whole:
        at, node, ms, metres = np.arange(count + 1), every, np.zeros(count, np.int64), np.zeros(count, np.int64)

    rungs = weigh(ladder, arcs)
    ms, metres, ferry, low, high = tables(ladder, rungs, Whole, Whole, threads=2)
    packed = csr_matrix(((weighed(arcs.ms, arcs.metres) * 2.0**23 + arcs.metres), (arcs.came_from, arcs.to)), shape=(count, count))
    theirs = dijkstra(packed, indices=every)
    reached = np.isfinite(theirs)
    assert (reached == (ms >= 0)).all()
    assert (weighed(ms, metres)[reached] == np.floor(theirs[reached] / 2**23)).all()
    assert (metres[reached] == theirs[reached] % 2**23).all()
    bit = bit_of()["ferry-corran"]
    aboard = (high >> (bit - 62) & 1 if bit >= 62 else low >> bit & 1).astype(bool)
    assert (aboard == (ferry > 0)).all()
    assert set(np.unique(ferry)) <= {0, 300, 600}
    least = weighed(ms, metres) * 2**23 + metres
    for climb, told in ((rungs.up, least), (rungs.down, least.T)):  # what is left of the rungs are best paths, every one
        low_end, node_of = np.repeat(every, np.diff(climb.at)), np.argsort(ladder.rank)
        assert (told[node_of[low_end], node_of[climb.to]] == climb.packed).all()
        assert len(climb.to) < len(ladder.to)


def test_the_national_network_equals_the_plain_search():
    network = built_in()
    rng = np.random.default_rng(3)
    lng, lat = np.array([-0.1, -1.9, -3.2, -4.2, 0.5, -2.9]), np.array([51.5, 52.5, 55.9, 57.5, 52.2, 51.6])
    del rng
    arcs = arcs_of(network, CAR)
    joins = join(network, lng, lat)
    leave, arrive = (ends_of(network, joins, arcs.edge_ms, leaving=leaving) for leaving in (True, False))
    ladder = build(network.rank.astype(np.int64), network.tail.astype(np.int64), network.head.astype(np.int64))
    ms, metres, *_ = tables(ladder, weigh(ladder, arcs), leave, arrive, threads=1)
    for source in range(len(lng)):
        span = slice(leave.at[source], leave.at[source + 1])
        best, far, came_by = (np.empty(network.num_nodes, np.int64) for _ in range(3))
        heap = np.empty(len(arcs.to) + 64, np.int64)
        search(arcs.at, arcs.to, weighed(arcs.ms, arcs.metres), arcs.metres, leave.node[span],
               weighed(leave.ms, leave.metres)[span], leave.metres[span],
               np.ones(network.num_nodes, np.bool_), network.num_nodes, best, far, came_by, heap)
        for target in range(len(lng)):
            rows = slice(arrive.at[target], arrive.at[target + 1])
            total = (best[arrive.node[rows]] + weighed(arrive.ms, arrive.metres)[rows]) * 2**23 + far[arrive.node[rows]] + arrive.metres[rows]
            assert weighed(ms, metres)[source, target] == total.min() // 2**23
            assert metres[source, target] == total.min() % 2**23
