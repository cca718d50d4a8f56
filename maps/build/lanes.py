"""
Infers the minor roads that the source leaves out, from where people live.

The source has main roads only, in meshes of 5 to 30 km.  Between them postcodes say where people live, and people live
along roads: neighbours in a triangulation of settlements and junctions are taken as joined by a minor road when
postcodes stand all along the way and no tidal water or long lake lies between.  A link is kept only where the network so
far would go well round about, so that few carry much.
"""

import numpy as np
import numpy.typing as npt
from scipy.spatial import Delaunay, cKDTree

from maps.build.laying import Rule, laid
from maps.build.source_roads import RawRoads
from maps.postcodes import table
from maps.roads import RoadClass

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

CELL_M = 3000  # one settlement a square of this side
SPLIT_M = 4000  # main roads may be left at points so far apart
RULE = Rule(
    road_class=RoadClass.MINOR, least_m=300, longest_m=9000, bare_m=1500, winding=1.26, round_about=1.25
)  # fmt: skip


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
    return laid(roads, road_class, metres, names, points=places, pairs=pairs, water=water, rule=RULE)
