"""
Lays inferred roads beside those of the source: straight ones, where people live all along and no water lies between.

Of the roads that are offered, the shortest first, one is kept only where the network so far would go well round about.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numba import njit

from maps.build.source_roads import RawRoads
from maps.national_grid import to_lng_lat
from maps.postcodes import table
from maps.roads import RoadClass
from maps.water import crossing

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, slots=True)
class Rule:
    """Which roads are laid: between how many straight metres, and what is known of them."""

    road_class: RoadClass
    least_m: float
    longest_m: float
    bare_m: float  # the longest stretch without a postcode near it
    winding: float  # driven metres for each straight metre
    round_about: float  # a road is kept where the network so far is longer by this factor


def laid(
    roads: RawRoads, road_class: Ints, metres: Floats, names: list[str], *, points: Floats, pairs: Ints, water: Floats,
    rule: Rule,
) -> tuple[RawRoads, Ints, Floats, list[str]]:  # fmt: skip
    """
    Return the roads with further points and the roads laid between them added at the end.

    Parameters
    ----------
    roads, road_class, metres, names
        What is there, each edge with its class, driven metres and name.
    points
        Further points in grid metres, a row each; all become points, whether roads reach them or not.
    pairs
        Ends of the roads that are offered: rows of two numbers of points, the further ones counted on.
    water
        Lines that no road is laid across.
    rule
        Which of them are laid.

    """
    xy = np.concatenate([roads.xy, points])
    segments = xy[pairs]
    straight = np.hypot(*(segments[:, 1] - segments[:, 0]).T)
    good = (straight > rule.least_m) & (straight < rule.longest_m) & lived_along(segments, rule.bare_m)
    pairs, segments, straight = pairs[good], segments[good], straight[good]
    wet = np.concatenate([crossing(segments[at : at + 2000], water).any(axis=1) for at in range(0, len(segments), 2000)])
    pairs, straight = pairs[~wet], straight[~wet]
    order = np.argsort(straight)
    pairs, length = pairs[order], straight[order] * rule.winding
    keep = _spanner(len(xy), roads.tail, roads.head, metres, pairs[:, 0], pairs[:, 1], length, rule.round_about)
    pairs, length = pairs[keep], length[keep]
    lng, lat = to_lng_lat(points[:, 0], points[:, 1])
    grown = RawRoads(
        lng=np.r_[roads.lng, lng],
        lat=np.r_[roads.lat, lat],
        tail=np.r_[roads.tail, pairs[:, 0]],
        head=np.r_[roads.head, pairs[:, 1]],
        source_m=np.r_[roads.source_m, length],
    )
    kind = np.full(len(pairs), rule.road_class, dtype=np.int64)
    return grown, np.r_[road_class, kind], np.r_[metres, length], names + [""] * len(pairs)


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
def _spanner(count, tail, head, metres, new_tail, new_head, new_m, factor):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202, C901
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
