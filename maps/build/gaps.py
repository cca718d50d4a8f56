"""
Closes the gaps of the source: bridges and tunnels from a curated table, and road ends that face each other by a scan.

The scan joins a dead end to a node ahead of it when the way round is out of all proportion; a join over tidal water is
made by the curated table alone.
"""

import csv
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from maps.build.classes import TWIN, Samples, twin_share
from maps.build.source_roads import RawRoads
from maps.national_grid import from_lng_lat
from maps.water import crossing, over_water
from planner.units import METRES_A_MILE


@dataclass(frozen=True, kw_only=True, slots=True)
class Link:
    """A link to add between two nodes of the raw roads."""

    tail: int
    head: int
    road_class: str
    name: str
    reason: str
    via: tuple[tuple[float, float], ...] = ()  # lng, lat of points on the way
    miles: float | None = None  # how long all links of its name and reason are together, where that is known


NODE_WITHIN_M = 800  # a curated end takes a node so near
EDGE_WITHIN_M = 1200  # failing that, it joins an edge so near between its ends
#: The source draws a long single carriageway as one straight line: it is joined from a part of its length, at most so far.
BULGE, BULGE_WITHIN_M = 0.25, 2500
PIECE_WITHIN_M = 15_000  # a piece by itself joins another so near
FACING_WITHIN_M = 6000  # a dead end joins a node ahead so near
ROUND_TRIP = 3.5  # where the way round is longer than straight across by this factor


def curated(path: Path, roads: RawRoads, motorway: npt.NDArray[np.bool_] | None = None) -> tuple[RawRoads, list[Link]]:
    """
    Return the links of the curated table, and the roads with what the links need.

    An end takes the nearest node; where none is near it cuts the nearest edge in two, and where no edge is near either, or
    water lies between, it stands for itself.  Edges that are known as ``motorway`` are never cut: a road meets a motorway at
    its junctions.  Links that follow each other along one road take the place of any edge
    between two ends of theirs.
    """
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    ends = np.array([[float(row[f"{end}_{axis}"]) for axis in ("lng", "lat")] for row in rows for end in ("from", "to")])
    _, first = np.unique(ends, axis=0, return_index=True)
    node_at: dict[tuple[float, float], int] = {}
    xy, reach_m = roads.xy, _reach_m(roads)
    if motorway is not None:
        reach_m[motorway] = -np.inf
    for lng, lat in ends[np.sort(first)]:
        roads, xy, reach_m, node_at[float(lng), float(lat)] = _with_node(roads, xy, reach_m, float(lng), float(lat))
    nodes = [node_at[float(lng), float(lat)] for lng, lat in ends]
    links = [
        Link(
            tail=nodes[2 * number],
            head=nodes[2 * number + 1],
            road_class=row["class"],
            name=row["name"],
            reason=row["reason"],
            via=tuple((float(point.split()[0]), float(point.split()[1])) for point in row["via"].split(";") if point),
            miles=float(row["miles"]) if row["miles"] else None,
        )
        for number, row in enumerate(rows)
    ]
    return _without(_replaced(links), roads), links


def known_lengths(links: list[Link], of_link: npt.NDArray[np.int64], metres: npt.NDArray[np.float64]) -> None:
    """Make the edges of links whose miles are known so long together; ``metres`` are those of the links' edges."""
    road = {(link.name, link.reason): number for number, link in enumerate(links) if link.miles}
    member = np.array([road.get((links[number].name, links[number].reason), -1) for number in of_link], dtype=np.int64)
    for number in road.values():
        metres[member == number] *= (links[number].miles or 0.0) * METRES_A_MILE / metres[member == number].sum()


def _replaced(links: list[Link]) -> set[frozenset[int]]:
    """Return the pairs of nodes between which links, one or several along one road, take the place of an edge."""
    pairs: set[frozenset[int]] = set()
    start = 0
    for number, link in enumerate(links):
        before = links[number - 1] if number else link
        if number and (link.tail, link.name, link.reason) != (before.head, before.name, before.reason):
            start = number
        pairs |= {frozenset((links[first].tail, link.head)) for first in range(start, number)}
        if link.via:
            pairs.add(frozenset((link.tail, link.head)))
    return pairs


def _without(pairs: set[frozenset[int]], roads: RawRoads) -> RawRoads:
    """Return the roads without the edges that join one of the pairs of nodes."""
    keep = np.array(
        [frozenset((int(tail), int(head))) not in pairs for tail, head in zip(roads.tail, roads.head, strict=True)], dtype=bool
    )
    return replace(roads, tail=roads.tail[keep], head=roads.head[keep], source_m=roads.source_m[keep])


def _reach_m(roads: RawRoads) -> npt.NDArray[np.float64]:
    """Return from how far each edge may be joined: twin carriageways, motorways among them, only by what is beside them."""
    is_twin = twin_share(Samples(roads)) > TWIN
    bulge = np.clip(BULGE * roads.straight_m(), EDGE_WITHIN_M, BULGE_WITHIN_M)
    return np.where(is_twin, EDGE_WITHIN_M, bulge)


def _with_node(
    roads: RawRoads, xy: npt.NDArray[np.float64], reach_m: npt.NDArray[np.float64], lng: float, lat: float
) -> tuple[RawRoads, npt.NDArray[np.float64], npt.NDArray[np.float64], int]:
    """Return roads with a node at a point, or near it where they have one, their ``xy`` and reach, and the node's number."""
    here = np.stack(from_lng_lat(np.array([lng]), np.array([lat])), 1)[0]
    apart = np.hypot(*(xy - here).T)
    if apart.min() <= NODE_WITHIN_M:
        return roads, xy, reach_m, int(apart.argmin())
    node = len(roads.lng)
    grown = replace(roads, lng=np.r_[roads.lng, lng], lat=np.r_[roads.lat, lat])
    start, run = xy[roads.tail], xy[roads.head] - xy[roads.tail]
    share = np.clip(((here - start) * run).sum(axis=1) / np.maximum((run**2).sum(axis=1), 1e-9), 0, 1)
    off = np.where(np.isneginf(reach_m), np.inf, np.hypot(*(start + run * share[:, None] - here).T))
    edge = int(off.argmin())
    foot = start[edge] + run[edge] * share[edge]
    all_xy = np.vstack([xy, here])
    if off[edge] > reach_m[edge] or over_water(here, foot[None])[0]:
        return grown, all_xy, reach_m, node
    tail, head, part = int(roads.tail[edge]), int(roads.head[edge]), float(share[edge])
    whole, least = roads.source_m[edge], np.hypot(*(xy[[tail, head]] - here).T)
    return replace(
        grown,
        tail=np.r_[np.delete(roads.tail, edge), tail, node],
        head=np.r_[np.delete(roads.head, edge), node, head],
        source_m=np.r_[np.delete(roads.source_m, edge), np.maximum([whole * part, whole * (1 - part)], least)],
    ), all_xy, np.r_[np.delete(reach_m, edge), EDGE_WITHIN_M, EDGE_WITHIN_M], node


def bridge_parts(roads: RawRoads, *, water: npt.NDArray[np.float64]) -> list[Link]:
    """Return links that join each separate piece of the network to the nearest other one on the same side of the water."""
    count, xy = len(roads.lng), roads.xy
    links: list[Link] = []
    tail, head = roads.tail, roads.head
    for _ in range(6):
        graph = csr_matrix((np.ones(len(tail)), (tail, head)), (count, count))
        num_parts, part = connected_components(graph, directed=False)
        size = np.bincount(part)
        touched = np.bincount(np.r_[tail, head], minlength=count) > 0
        main = int(size.argmax())
        added: list[tuple[int, int]] = []
        for piece in range(num_parts):
            inside, outside = np.flatnonzero(part == piece), np.flatnonzero((part != piece) & touched)
            if piece == main or not touched[inside].all():
                continue
            apart, near = cKDTree(xy[outside]).query(xy[inside], k=6, distance_upper_bound=PIECE_WITHIN_M)
            order = np.argsort(apart, axis=None)
            for flat in order[np.isfinite(apart.ravel()[order])][:60]:
                a, b = int(inside[flat // 6]), int(outside[near.ravel()[flat]])
                if not crosses(np.array([xy[a], xy[b]]), water):
                    added.append((a, b))
                    break
        if not added:
            break
        links += [Link(tail=a, head=b, road_class="minor", name="", reason="a piece of the network by itself") for a, b in added]
        tail, head = np.r_[tail, [a for a, _ in added]], np.r_[head, [b for _, b in added]]
    return links


def scan(roads: RawRoads, *, water: npt.NDArray[np.float64]) -> list[Link]:
    """
    Return links that join dead ends to what faces them.

    ``water`` holds segments ``(k, 2, 2)`` in grid metres that no such link may cross.
    """
    xy, count = roads.xy, len(roads.lng)
    degree = np.bincount(np.r_[roads.tail, roads.head], minlength=count)
    ends = np.flatnonzero(degree == 1)
    graph = csr_matrix((roads.source_m, (roads.tail, roads.head)), (count, count))
    came_from = np.zeros(count, dtype=np.int64)
    came_from[roads.tail], came_from[roads.head] = roads.head, roads.tail
    tree = cKDTree(xy)
    ways = dijkstra(graph, directed=False, indices=ends, limit=FACING_WITHIN_M * 8)
    links: dict[tuple[int, int], Link] = {}
    for row, end in enumerate(ends):
        ahead = xy[end] - xy[came_from[end]]
        best: tuple[float, int] | None = None
        for node in tree.query_ball_point(xy[end], FACING_WITHIN_M):
            step = xy[node] - xy[end]
            apart = float(np.hypot(*step))
            if apart < 1 or ways[row, node] < max(ROUND_TRIP * apart, 2500):
                continue
            turn = float(ahead @ step / (np.hypot(*ahead) * apart + 1e-9))
            if turn < 0 and apart > 600:  # what lies behind a dead end is not what it led to
                continue
            if crosses(np.array([xy[end], xy[node]]), water):
                continue
            price = apart * (1.4 - 0.4 * turn) * (1.0 if degree[node] == 1 else 1.5)
            if best is None or price < best[0]:
                best = (price, node)
        if best:
            pair = (min(int(end), best[1]), max(int(end), best[1]))
            apart = float(np.hypot(*(xy[pair[0]] - xy[pair[1]])))
            links[pair] = Link(
                tail=pair[0],
                head=pair[1],
                road_class="",
                name="",
                reason=f"road ends {apart / 1000:.1f} km apart, {ways[row, best[1]] / 1000:.0f} km by the way round",
            )
    return list(links.values())


def crosses(segment: npt.NDArray[np.float64], others: npt.NDArray[np.float64]) -> bool:
    """Return whether a segment, shape ``(2, 2)``, crosses any of ``others``, shape ``(k, 2, 2)``."""
    return bool(len(others)) and bool(crossing(segment[None], others).any())


def add(roads: RawRoads, links: list[Link]) -> tuple[RawRoads, npt.NDArray[np.int64]]:
    """Return the roads with the links added, straight from point to point, and the link that each new edge belongs to."""
    lng, lat = list(roads.lng), list(roads.lat)
    tail, head, of_link = [], [], []
    for number, link in enumerate(links):
        chain = [link.tail]
        for point in link.via:
            chain.append(len(lng))
            lng.append(point[0])
            lat.append(point[1])
        chain.append(link.head)
        tail += chain[:-1]
        head += chain[1:]
        of_link += [number] * (len(chain) - 1)
    joined = RawRoads(
        lng=np.array(lng),
        lat=np.array(lat),
        tail=np.r_[roads.tail, np.array(tail, dtype=np.int64)],
        head=np.r_[roads.head, np.array(head, dtype=np.int64)],
        source_m=np.r_[roads.source_m, np.zeros(len(tail))],
    )
    added = np.arange(len(roads.tail), len(joined.tail))
    joined.source_m[added] = np.maximum(joined.straight_m()[added], 50)
    return joined, np.array(of_link, dtype=np.int64)
