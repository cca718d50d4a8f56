"""
Infers the minor roads that the source leaves out, from where people live.

The source has main roads only, in meshes of 5 to 30 km.  Between them postcodes say where people live, and people live
along roads: neighbours in a triangulation of settlements and junctions are taken as joined by a minor road when
postcodes stand all along the way and no tidal water or long lake lies between.  A link is kept only where the network so
far would go well round about, so that few carry much.
"""

import numpy as np
import numpy.typing as npt
from numba import njit
from scipy.spatial import Delaunay, cKDTree

from maps.build.source_roads import RawRoads
from maps.national_grid import to_lng_lat
from maps.postcodes import table
from maps.roads import RoadClass
from maps.water import crossing

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

CELL_M = 3000  # one settlement a square of this side
SPLIT_M = 4000  # main roads may be left at points so far apart
LONGEST_M = 9000
BARE_M = 1500  # the longest stretch without a postcode near it
WINDING = 1.26  # driven metres of a minor road for each straight metre between settlements
ROUND_ABOUT = 1.25  # a link is kept where the network so far is longer by this factor


def settlements() -> Floats:
    """Return one lived-in point for each square, where most of its postcodes are."""
    held = table()
    east, north = held.easting.astype(np.int64), held.northing.astype(np.int64)
    fine = (east // 500) * 10_000 + north // 500
    _, inverse, count = np.unique(fine, return_inverse=True, return_counts=True)
    square = (east // CELL_M) * 10_000 + north // CELL_M
    order = np.lexsort((fine, -count[inverse], square))
    first = order[np.r_[True, square[order][1:] != square[order][:-1]]]
    chosen = np.isin(fine, fine[first])
    _, group = np.unique(fine[chosen], return_inverse=True)
    size = np.bincount(group)
    return np.stack([np.bincount(group, east[chosen]) / size, np.bincount(group, north[chosen]) / size], axis=1)


def split(roads: RawRoads, road_class: Ints, metres: Floats, names: list[str]) -> tuple[RawRoads, Ints, Floats, list[str]]:
    """Return the roads with long edges, motorways apart, cut so that minor roads can meet them on the way."""
    straight = roads.straight_m()
    pieces = np.where(road_class == RoadClass.MOTORWAY, 1, np.maximum(1, np.round(straight / SPLIT_M))).astype(np.int64)
    edge = np.repeat(np.arange(len(pieces)), pieces)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    new_at = len(roads.lng) + np.cumsum(np.maximum(pieces - 1, 0)) - np.maximum(pieces - 1, 0)
    tail = np.where(place == 0, roads.tail[edge], new_at[edge] + place - 1)
    head = np.where(place == pieces[edge] - 1, roads.head[edge], new_at[edge] + place)
    inner = place > 0
    share = (place / pieces[edge])[inner]
    lng = roads.lng[roads.tail[edge[inner]]] * (1 - share) + roads.lng[roads.head[edge[inner]]] * share
    lat = roads.lat[roads.tail[edge[inner]]] * (1 - share) + roads.lat[roads.head[edge[inner]]] * share
    cut = RawRoads(
        lng=np.r_[roads.lng, lng], lat=np.r_[roads.lat, lat], tail=tail, head=head, source_m=roads.source_m[edge] / pieces[edge]
    )
    return cut, road_class[edge], metres[edge] / pieces[edge], [names[each] for each in edge]


def lived_along(segments: Floats, bare_m: float) -> Bools:
    """Return which segments ``(n, 2, 2)`` have postcodes all along, save for stretches of at most ``bare_m``."""
    held = table()
    near = np.zeros((1402, 2602), dtype=bool)
    for east in (-1, 0, 1):
        for north in (-1, 0, 1):
            near[held.easting // 500 + 1 + east, held.northing // 500 + 1 + north] = True
    steps = 37
    share = (np.arange(steps) + 0.5) / steps
    points = segments[:, 0, None] + (segments[:, 1] - segments[:, 0])[:, None] * share[None, :, None]
    bare = ~near[np.clip(points[..., 0] // 500 + 1, 0, 1401).astype(int), np.clip(points[..., 1] // 500 + 1, 0, 2601).astype(int)]
    run, longest = np.zeros(len(segments)), np.zeros(len(segments))
    for column in range(steps):
        run = np.where(bare[:, column], run + 1, 0)
        longest = np.maximum(longest, run)
    length = np.hypot(*(segments[:, 1] - segments[:, 0]).T)
    return np.asarray(longest * length / steps <= bare_m)


@njit(cache=True)
def spanner(count, tail, head, metres, new_tail, new_head, new_m, factor):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201, C901
    """Return which of the new edges, shortest first, leave their ends too far apart in the network grown so far."""
    total = len(tail) + len(new_tail)
    first = np.full(count, -1, np.int64)
    following = np.full(2 * total, -1, np.int64)
    to = np.empty(2 * total, np.int64)
    far = np.empty(2 * total, np.float64)
    filled = 0
    for edge in range(len(tail)):
        for a, b in ((tail[edge], head[edge]), (head[edge], tail[edge])):
            to[filled], far[filled], following[filled] = b, metres[edge], first[a]
            first[a] = filled
            filled += 1
    keep = np.zeros(len(new_tail), np.bool_)
    dist = np.full(count, np.inf)
    seen = np.empty(count, np.int64)
    done = np.zeros(count, np.bool_)
    for edge in range(len(new_tail)):
        limit = factor * new_m[edge]
        source, target = new_tail[edge], new_head[edge]
        num_seen = 1
        seen[0] = source
        dist[source] = 0.0
        while True:
            best, node = limit, np.int64(-1)
            for k in range(num_seen):
                if not done[seen[k]] and dist[seen[k]] <= best:
                    best, node = dist[seen[k]], seen[k]
            if node < 0 or node == target:
                break
            done[node] = True
            arc = first[node]
            while arc >= 0:
                if dist[to[arc]] == np.inf:
                    seen[num_seen] = to[arc]
                    num_seen += 1
                dist[to[arc]] = min(dist[to[arc]], best + far[arc])
                arc = following[arc]
        keep[edge] = dist[target] > limit
        for k in range(num_seen):
            dist[seen[k]] = np.inf
            done[seen[k]] = False
        if keep[edge]:
            for a, b in ((source, target), (target, source)):
                to[filled], far[filled], following[filled] = b, new_m[edge], first[a]
                first[a] = filled
                filled += 1
    return keep


def next_to_each_other(xy: Floats) -> Ints:
    """Return the pairs of points ``(n, 2)`` that a triangulation joins, ``(k, 2)`` rows of them in order."""
    triangles = Delaunay(xy).simplices
    pairs = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [0, 2]]])
    return np.unique(np.sort(pairs, axis=1), axis=0).astype(np.int64)


def infer(
    roads: RawRoads, road_class: Ints, metres: Floats, names: list[str], water: Floats
) -> tuple[RawRoads, Ints, Floats, list[str]]:
    """Return the roads, cut by :func:`split`, with inferred minor roads added after them."""
    places = settlements()
    old = len(roads.lng)
    on_motorway = np.ones(old, dtype=bool)
    other = road_class != RoadClass.MOTORWAY
    on_motorway[roads.tail[other]] = on_motorway[roads.head[other]] = False
    # A settlement on a main road joins it there; only those off it need a point of their own.
    _, apart = cKDTree(roads.xy[~on_motorway]).query(places)[::-1]
    places = places[apart > 900]
    xy = np.concatenate([roads.xy, places])
    used = np.flatnonzero(np.r_[~on_motorway, np.ones(len(places), dtype=bool)])
    pairs = used[next_to_each_other(xy[used])]
    segments = np.stack([xy[pairs[:, 0]], xy[pairs[:, 1]]], axis=1)
    straight = np.hypot(*(segments[:, 1] - segments[:, 0]).T)
    good = (straight > 300) & (straight < LONGEST_M) & lived_along(segments, BARE_M)
    pairs, segments, straight = pairs[good], segments[good], straight[good]
    wet = np.concatenate([crossing(segments[at : at + 2000], water).any(axis=1) for at in range(0, len(segments), 2000)])
    pairs, straight = pairs[~wet], straight[~wet]
    order = np.argsort(straight)
    pairs, length = pairs[order], straight[order] * WINDING
    keep = spanner(len(xy), roads.tail, roads.head, metres, pairs[:, 0], pairs[:, 1], length, ROUND_ABOUT)
    pairs, length = pairs[keep], length[keep]
    lng, lat = to_lng_lat(places[:, 0], places[:, 1])
    grown = RawRoads(
        lng=np.r_[roads.lng, lng],
        lat=np.r_[roads.lat, lat],
        tail=np.r_[roads.tail, pairs[:, 0]],
        head=np.r_[roads.head, pairs[:, 1]],
        source_m=np.r_[roads.source_m, length],
    )
    kind = np.full(len(pairs), RoadClass.MINOR, dtype=np.int64)
    return grown, np.r_[road_class, kind], np.r_[metres, length], names + [""] * len(pairs)
