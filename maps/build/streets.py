"""
Infers the streets from the middle of a town to the main roads at its edge, which the source leaves out.

Where a main road goes round a town, the old road still leads in from each end of the by-pass.  From the middle of every
town a street is taken to lead to the points at its edge from which main roads go out, in all directions, where houses
stand all along the way and the network so far would go well round about.
"""

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from maps.build.laying import Rule, laid
from maps.build.source_roads import RawRoads
from maps.national_grid import from_lng_lat
from maps.packaged import packaged_rows
from maps.roads import RoadClass

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

FROM_PEOPLE = 2000  # smaller places have lanes alone
PEOPLE_A_KM2 = 2500  # how close the people of a town live, for its radius
EDGE_M, FARTHEST_M = 700, 5500  # a by-pass goes so far from the houses; a city's streets are followed so far
MIDDLE_M = 500  # a junction so near the middle of a town stands for it
APART = np.cos(np.radians(30.0))  # streets lead in directions so far from each other
RULE = Rule(
    road_class=RoadClass.SINGLE, least_m=100, longest_m=np.inf, bare_m=700, winding=1.13, round_about=1.15
)  # fmt: skip


def towns() -> tuple[Floats, Floats]:
    """Return the middle of each town in grid metres, the largest first, and how far from it its edge lies."""
    rows = [row for row in packaged_rows("place_names.csv") if row["district"] and int(row["people"]) >= FROM_PEOPLE]
    rows.sort(key=lambda row: -int(row["people"]))
    people = np.array([int(row["people"]) for row in rows], dtype=np.float64)
    at = from_lng_lat(np.array([float(row["lng"]) for row in rows]), np.array([float(row["lat"]) for row in rows]))
    radius = np.sqrt(people / PEOPLE_A_KM2 / np.pi) * 1000 + EDGE_M
    return np.stack(at, axis=1), np.minimum(radius, FARTHEST_M)


def _ways_out(middle: Floats, reach_m: float, xy: Floats, near: Ints) -> list[int]:
    """Return which of the junctions near a town lie at its edge, one for each direction, those nearest to the edge first."""
    step = xy[near] - middle
    apart = np.hypot(*step.T)
    at_edge = np.flatnonzero((apart > 0.5 * reach_m) & (apart > MIDDLE_M))
    chosen: list[int] = []
    for row in at_edge[np.argsort(np.abs(apart[at_edge] - reach_m))]:
        unit = step[row] / apart[row]
        if all(unit @ step[other] / apart[other] < APART for other in chosen):
            chosen.append(int(row))
    return [int(near[row]) for row in chosen]


def infer(
    roads: RawRoads, road_class: Ints, metres: Floats, names: list[str], water: Floats
) -> tuple[RawRoads, Ints, Floats, list[str]]:
    """
    Return the roads, cut by :func:`maps.build.lanes.split`, with inferred streets added after them.

    The middle of each town becomes a point, whether streets reach it or not: lanes may meet there.
    """
    xy, old = roads.xy, len(roads.lng)
    main = np.zeros(old, dtype=bool)
    on_main = road_class != RoadClass.MOTORWAY
    main[roads.tail[on_main]] = main[roads.head[on_main]] = True
    joinable = np.flatnonzero(main)
    tree = cKDTree(xy[joinable])
    middles: list[Floats] = []
    tail: list[int] = []
    head: list[int] = []
    for middle, reach_m in zip(*towns(), strict=True):
        apart, nearest = tree.query(middle)
        node = int(joinable[nearest])
        if apart > MIDDLE_M:
            node = old + len(middles)
            middles.append(middle)
        near = joinable[tree.query_ball_point(middle, 1.4 * reach_m)]
        ways = _ways_out(middle, reach_m, xy, near)
        if node >= old and apart < 1.4 * reach_m:
            ways.append(int(joinable[nearest]))
        tail += [node] * len(ways)
        head += ways
    points, pairs = np.array(middles).reshape(-1, 2), np.array([tail, head], dtype=np.int64).T
    return laid(roads, road_class, metres, names, points=points, pairs=pairs, water=water, rule=RULE)
