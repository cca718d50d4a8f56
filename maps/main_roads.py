"""
Main roads: motorways and dual carriageways of a network as few long lines, to be drawn beneath the runs.

Edges that meet end to end become one line; two carriageways side by side are drawn once.
"""

from collections import defaultdict
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from maps.lines import thinned

if TYPE_CHECKING:
    from maps.roads import RoadNetwork
    from planner.sheets.tracks import Line

TOLERANCE_DEG = 0.006  # about 500 m: the map shows a country, not a street
SHORTEST_DEG = 0.03  # shorter stretches are junctions and by-passes


@lru_cache(maxsize=2)
def main_roads(network: "RoadNetwork") -> "tuple[Line, ...]":
    """Return the lines (lng, lat), rounded to 100 m; none where the network has no such road."""
    from maps.roads import RoadClass

    wanted = np.flatnonzero((network.road_class == RoadClass.MOTORWAY) | (network.road_class == RoadClass.DUAL))
    ends = sorted({tuple(sorted((int(network.tail[edge]), int(network.head[edge])))) for edge in wanted})
    lines = []
    for chain in chains([(a, b) for a, b in ends]):
        line = [(round(float(network.node_lng[node]), 3), round(float(network.node_lat[node]), 3)) for node in chain]
        if abs(line[0][0] - line[-1][0]) + abs(line[0][1] - line[-1][1]) > SHORTEST_DEG:
            lines.append(tuple(thinned(line, TOLERANCE_DEG)))
    return tuple(lines)


def chains(pairs: list[tuple[int, int]]) -> list[list[int]]:
    """
    Return pairs of nodes joined into walks that use each pair once and end where the way forks or stops.

    >>> chains([(1, 2), (2, 3), (3, 4), (3, 5)])
    [[1, 2, 3], [3, 4], [3, 5]]
    """
    beside: dict[int, list[int]] = defaultdict(list)
    for a, b in pairs:
        beside[a].append(b)
        beside[b].append(a)
    left = {frozenset(pair) for pair in pairs if pair[0] != pair[1]}
    forks = [node for node in sorted(beside) if len(beside[node]) != 2]
    starts = [(start, then) for start in (*forks, *sorted(beside)) for then in beside[start]]  # rings come last
    return [_walk(start, then, beside, left) for start, then in starts if frozenset((start, then)) in left]


def _walk(start: int, then: int, beside: dict[int, list[int]], left: set[frozenset[int]]) -> list[int]:
    walk = [start]
    while frozenset((walk[-1], then)) in left:
        left.remove(frozenset((walk[-1], then)))
        walk.append(then)
        onward = [node for node in beside[then] if frozenset((then, node)) in left]
        if len(beside[then]) != 2 or not onward:
            break
        then = onward[0]
    return walk
