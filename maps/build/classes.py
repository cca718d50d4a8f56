"""
Tags edges with a road class: a carriageway with a near-parallel twin is dual, a curated table says which are motorways.

A motorway is followed through the network from one curated point to the next along twin carriageways, and both of its
carriageways are tagged.
"""

import csv
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree

from maps.build.source_roads import RawRoads
from maps.national_grid import from_lng_lat
from maps.roads import RoadClass

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

#: A dual carriageway that no table names has a junction more often than this; longer twins are two roads side by side.
LONGEST_DUAL_M = 6000
#: From which share of an edge with a twin beside it counts as one of two carriageways.
TWIN = 0.6
#: An edge of a motorway lies no farther from the line of the curated table.
STRAYED_M = 6000


class Samples:
    """Points every few hundred metres along all edges, with the edge and its direction."""

    def __init__(self, roads: RawRoads, step_m: float = 400.0) -> None:
        xy = roads.xy
        start, run = xy[roads.tail], xy[roads.head] - xy[roads.tail]
        self.length = np.hypot(*run.T)
        self.count = np.maximum(2, np.ceil(self.length / step_m).astype(int))
        self.edge = np.repeat(np.arange(len(self.count)), self.count)
        first = np.repeat(np.cumsum(self.count) - self.count, self.count)
        share = (np.arange(len(self.edge)) - first + 0.5) / self.count[self.edge]
        self.point = start[self.edge] + run[self.edge] * share[:, None]
        self.unit = run / np.maximum(self.length, 1)[:, None]


def twin_share(samples: Samples) -> Floats:
    """Return the share of each edge, 0 to 1, beside which another edge runs in nearly the same direction."""
    edge, point, unit, length = samples.edge, samples.point, samples.unit, samples.length
    reach = np.clip(120 + 0.02 * length, 150, 400)
    beside = np.zeros(len(point), dtype=bool)
    _, neighbours = cKDTree(point).query(point, k=12, distance_upper_bound=400)
    for column in range(1, 12):
        held = neighbours[:, column] < len(point)
        other = np.where(held, neighbours[:, column], 0)
        mate = edge[other]
        gap = point[other] - point
        along = np.abs((unit[edge] * unit[mate]).sum(axis=1))
        across = np.abs(gap[:, 0] * unit[edge][:, 1] - gap[:, 1] * unit[edge][:, 0])
        alike = length[mate] > 0.3 * length[edge]
        beside |= held & (mate != edge) & (along > 0.985) & (across > 15) & (across < reach[edge]) & alike
    return np.asarray(np.bincount(edge, beside, len(samples.count)) / samples.count)


@dataclass(frozen=True, kw_only=True, slots=True)
class Route:
    """One row of the curated table: a road's number, its class, and points along it in grid metres."""

    name: str
    road_class: RoadClass
    points: Floats


def read_routes(path: Path) -> list[Route]:
    """Return the curated routes."""
    routes = []
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            points = np.array([point.split() for point in row["line"].split(";")], dtype=np.float64)
            at = np.stack(from_lng_lat(points[:, 0], points[:, 1]), axis=1)
            routes.append(Route(name=row["name"], road_class=RoadClass[row["class"].upper()], points=at))
    return routes


def follow(routes: list[Route], roads: RawRoads, samples: Samples, twin: Floats) -> Ints:
    """
    Return for each edge the number of the curated route it belongs to, -1 for none.

    Of all nodes near each curated point the ones are taken that make the whole chain shortest, being off the point
    counted double.  Where a node has twin carriageways around it the way is cheaper, more so for motorways.
    """
    xy, count = roads.xy, len(roads.lng)
    tree = cKDTree(xy)
    near_twin = np.zeros(count)
    for ends in (roads.tail, roads.head):
        np.maximum.at(near_twin, ends, twin)
    ends_twin = (near_twin[roads.tail] + near_twin[roads.head]) / 2
    edge_of: dict[tuple[int, int], int] = {}
    for edge in np.argsort(-samples.length):
        edge_of[int(roads.tail[edge]), int(roads.head[edge])] = edge_of[int(roads.head[edge]), int(roads.tail[edge])] = int(edge)
    route_of = np.full(len(roads.tail), -1, dtype=np.int64)
    for number, route in enumerate(routes):
        dislike = {RoadClass.MOTORWAY: 0.25, RoadClass.DUAL: 0.2}.get(route.road_class, 0.0)
        price = samples.length * (1 + dislike * (1 - ends_twin)) + 20
        graph = coo_matrix(
            (np.r_[price, price], (np.r_[roads.tail, roads.head], np.r_[roads.head, roads.tail])), (count, count)
        ).tocsr()
        for edge in _chain(graph, route.points, tree, xy, edge_of):
            if route_of[edge] < 0:
                route_of[edge] = number
    return route_of


def _chain(graph: Any, points: Floats, tree: cKDTree, xy: Floats, edge_of: dict[tuple[int, int], int]) -> list[int]:
    """Return the edges of the cheapest chain through nodes near the points."""
    away, near = tree.query(points, k=40)
    # A point on a long edge has no junction near it: the chain must not be drawn aside to one.
    kept = (away[:, 2] < 2000) | (np.arange(len(points)) == 0) | (np.arange(len(points)) == len(points) - 1)
    points, near = points[kept], near[kept]
    cost = 2 * np.hypot(*(xy[near[0]] - points[0]).T)
    steps = []
    for some, onward, point in zip(near[:-1], near[1:], points[1:], strict=True):
        ways, before = dijkstra(graph, directed=True, indices=some, return_predecessors=True, limit=150_000)
        total = cost[:, None] + ways[:, onward] + 2 * np.hypot(*(xy[onward] - point).T)[None]
        steps.append((some, onward, before, total.argmin(axis=0)))
        cost = total.min(axis=0)
    if not np.isfinite(cost).any():
        return []
    edges, last = [], int(cost.argmin())
    for some, onward, before, best in reversed(steps):
        first, node = int(best[last]), int(onward[last])
        while node != some[first]:
            previous = int(before[first, node])
            edges.append(edge_of[previous, node])
            node = previous
        last = first
    return edges


def _with_mates(route: Ints, samples: Samples, twin: Floats) -> Ints:
    """Return the routes with the other carriageway of each tagged edge tagged too."""
    tagged = np.flatnonzero(route[samples.edge] >= 0)
    if not len(tagged):
        return route
    tree = cKDTree(samples.point[tagged])
    rest = np.flatnonzero((route[samples.edge] < 0) & (twin[samples.edge] > 0.5))
    apart, near = tree.query(samples.point[rest], distance_upper_bound=700)
    held = np.isfinite(apart)
    rest, mate = rest[held], samples.edge[tagged[near[held]]]
    reach = np.clip(150 + 0.03 * samples.length[samples.edge[rest]], 200, 700)
    along = np.abs((samples.unit[samples.edge[rest]] * samples.unit[mate]).sum(axis=1))
    good = (along > 0.97) & (apart[held] < reach)
    share = np.bincount(samples.edge[rest[good]], minlength=len(route)) / samples.count
    first_mate = np.full(len(route), -1)
    first_mate[samples.edge[rest[good]]] = mate[good]
    grown = route.copy()
    chosen = (route < 0) & (share > 0.6) & (first_mate >= 0)
    grown[chosen] = route[first_mate[chosen]]
    return grown


def motorways(roads: RawRoads, main_roads: Path) -> npt.NDArray[np.bool_]:
    """
    Return which edges of the source are motorways of the curated table.

    Before links close its gaps a chain may go far round by other roads: what lies away from the route's line is none.
    """
    samples = Samples(roads)
    twin = twin_share(samples)
    routes = [route for route in read_routes(main_roads) if route.road_class == RoadClass.MOTORWAY]
    route_of = _with_mates(follow(routes, roads, samples, twin), samples, twin)
    middle = (roads.xy[roads.tail] + roads.xy[roads.head]) / 2
    found = np.zeros(len(route_of), dtype=np.bool_)
    for number, route in enumerate(routes):
        along = np.flatnonzero(route_of == number)
        found[along] = _apart_m(middle[along], route.points) < STRAYED_M
    return found


def _apart_m(points: Floats, line: Floats) -> Floats:
    """Return how far each point lies from a line of points."""
    apart = np.full(len(points), np.inf)
    for start, end in pairwise(line):
        run = end - start
        share = np.clip((points - start) @ run / (run @ run), 0, 1)
        apart = np.minimum(apart, np.hypot(*(start + share[:, None] * run - points).T))
    return apart


def classify(roads: RawRoads, main_roads: Path) -> tuple[Ints, list[str]]:
    """Return the :class:`RoadClass` of each edge and its name ("" for none)."""
    samples = Samples(roads)
    twin = twin_share(samples)
    routes = read_routes(main_roads)
    route = _with_mates(follow(routes, roads, samples, twin), samples, twin)
    classes = np.array([each.road_class for each in routes])
    is_dual = (twin > TWIN) & ((samples.length < LONGEST_DUAL_M) | (route >= 0))
    road_class = np.where(is_dual, RoadClass.DUAL, RoadClass.SINGLE).astype(np.int64)
    road_class[route >= 0] = np.minimum(road_class[route >= 0], classes[route[route >= 0]])
    return road_class, [routes[row].name if row >= 0 else "" for row in route]
