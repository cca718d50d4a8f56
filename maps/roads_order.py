"""
An order of the junctions by which fast searches climb: halves of the country first, then halves of the halves.

Nested dissection by straight cuts in four directions: the junctions next to the thinnest cut come last in the order, then
the two sides are cut in the same way.  The order depends on the shape of the network alone, not on speeds.  After
Dibbelt, Strasser and Wagner, "Customizable contraction hierarchies", 2016, with straight cuts for their separators.
"""

import numpy as np
import numpy.typing as npt

from maps.roads import RoadNetwork

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

SMALL = 24  # parts of so few junctions are not cut further
LEAN = (0.35, 0.5, 0.65)  # where along the direction a cut is tried


def order(network: RoadNetwork) -> Ints:
    """Return the rank of each node: 0 is contracted first, the last separators come at the top."""
    xy = np.stack([network.node_lng * np.cos(np.radians(54.0)), network.node_lat], axis=1)
    links = np.stack([network.tail, network.head], axis=1).astype(np.int64)
    links = links[links[:, 0] != links[:, 1]]
    rank = np.full(network.num_nodes, -1, dtype=np.int64)
    top = network.num_nodes
    side = np.zeros(network.num_nodes, dtype=np.int8)
    stack: list[tuple[Ints, Ints]] = [(np.arange(network.num_nodes, dtype=np.int64), links)]
    while stack:
        nodes, inner = stack.pop()
        if len(nodes) <= SMALL or not len(inner):
            top -= len(nodes)
            rank[nodes] = top + np.arange(len(nodes))
            continue
        cut = _thinnest(nodes, inner, xy, side)
        top -= len(cut)
        rank[cut] = top + np.arange(len(cut))
        side[cut] = 2
        ends = side[inner]
        stack.extend((nodes[side[nodes] == half], inner[(ends[:, 0] == half) & (ends[:, 1] == half)]) for half in (0, 1))
    return rank


def _thinnest(nodes: Ints, inner: Ints, xy: Floats, side: npt.NDArray[np.int8]) -> Ints:
    """Return the separator of the best straight cut and leave the sides of all ``nodes`` in ``side``."""
    best: tuple[float, Ints, Ints] | None = None
    for turn in np.radians([0.0, 45.0, 90.0, 135.0]):
        along = xy[nodes] @ np.array([np.cos(turn), np.sin(turn)])
        by_place = np.argsort(along, kind="stable")
        for lean in LEAN:
            low = nodes[by_place[: int(lean * len(nodes))]]
            side[nodes] = 1
            side[low] = 0
            crossed = inner[side[inner[:, 0]] != side[inner[:, 1]]]
            first = np.where(side[crossed[:, 0]] == 0, crossed[:, 0], crossed[:, 1])
            second = np.where(side[crossed[:, 0]] == 0, crossed[:, 1], crossed[:, 0])
            cut = min((np.unique(first), np.unique(second)), key=len)
            price = len(cut) / (0.15 + min(lean, 1 - lean))
            if best is None or price < best[0]:
                best = (price, cut, low)
    assert best is not None
    side[nodes] = 1
    side[best[2]] = 0
    return best[1]
