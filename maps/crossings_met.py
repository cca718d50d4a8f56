"""Which tolls, zones and ferries each edge of a network meets, and which zones a place lies in."""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from maps.crossings import Crossing, bit_of, crossings
from maps.roads import RoadNetwork
from planner.model.travel import ChargeKind

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
LOW_BITS = 62  # so many bits fit one signed number with room to spare; the rest go into a second


@lru_cache(maxsize=4)
def met(network: RoadNetwork) -> tuple[Ints, Ints, Ints, Ints]:
    """
    Return bit masks for travel along each edge and against it: ``low``, ``high``, and both again the other way.

    A zone counts where the middle of any of the edge's straight pieces lies in it.
    """
    masks = np.zeros((2, 2, network.num_edges), dtype=np.int64)  # direction, half of the mask, edge

    def put(edges: Ints, bit: int, directions: tuple[int, ...]) -> None:
        half, place = divmod(bit, LOW_BITS)
        for direction in directions:
            masks[direction, half, edges] |= np.int64(1) << place

    for index, key in enumerate(network.charge_keys):
        if key in bit_of():
            put(np.flatnonzero(network.charge == index), bit_of()[key], (0, 1))
    edge, start, stop = _pieces(network)
    for bit, crossing in enumerate(crossings()):
        if crossing.kind is ChargeKind.TOLL:
            hit = _through(crossing, start, stop)
            if crossing.road:
                hit &= _named(network, (crossing.road,))[edge]
            if crossing.one_way:
                pays = _heads(crossing.one_way, start, stop)
                put(edge[hit & pays], bit, (0,))
                put(edge[hit & ~pays], bit, (1,))
            else:
                put(edge[hit], bit, (0, 1))
        elif crossing.kind is ChargeKind.ZONE:
            within = inside((start + stop) / 2, np.array(crossing.area))
            put(edge[within & ~_named(network, crossing.not_on)[edge]], bit, (0, 1))
    return masks[0, 0], masks[0, 1], masks[1, 0], masks[1, 1]


def _pieces(network: RoadNetwork) -> tuple[Ints, Floats, Floats]:
    """Return the straight pieces of all edges: edge, start and stop, lng and lat."""
    inner = np.diff(network.shape_at)
    edge = np.repeat(np.arange(network.num_edges), inner + 1)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(inner + 1) - (inner + 1), inner + 1)
    shape = network.shape if len(network.shape) else np.zeros((1, 2))
    at = network.shape_at[edge] + place
    before = shape[np.clip(at - 1, 0, len(shape) - 1)]
    after = shape[np.clip(at, 0, len(shape) - 1)]
    tail = np.stack([network.node_lng[network.tail[edge]], network.node_lat[network.tail[edge]]], axis=1)
    head = np.stack([network.node_lng[network.head[edge]], network.node_lat[network.head[edge]]], axis=1)
    start = np.where((place == 0)[:, None], tail, before)
    stop = np.where((place == inner[edge])[:, None], head, after)
    return edge, start, stop


def _named(network: RoadNetwork, names: Sequence[str]) -> Bools:
    """Return which edges bear one of some names."""
    return np.isin(network.name, [at for at, name in enumerate(network.names) if name in names])


def _heads(way: str, start: Floats, stop: Floats) -> Bools:
    """Return which pieces lead ``way``: east, north or south."""
    axis, sign = {"east": (0, 1), "north": (1, 1), "south": (1, -1)}[way]
    return np.asarray(sign * (stop[:, axis] - start[:, axis]) > 0)


def _through(crossing: Crossing, start: Floats, stop: Floats) -> Bools:
    """Return which pieces cross any stretch of a gate."""

    def side(p: Floats, q: Floats, r: Floats) -> Floats:
        return np.asarray((q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1]) - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0]))

    hit = np.zeros(len(start), dtype=bool)
    for a, b in pairwise(np.array(crossing.gate)):
        hit |= (side(a, b, start) * side(a, b, stop) < 0) & (side(start, stop, a) * side(start, stop, b) < 0)
    return hit


def inside(points: Floats, area: Floats) -> Bools:
    """Return which points ``(n, 2)`` lie in an outline ``(k, 2)``, by how often a ray to the east leaves it."""
    found = np.zeros(len(points), dtype=bool)
    near = np.flatnonzero(((points >= area.min(axis=0)) & (points <= area.max(axis=0))).all(axis=1))
    if not len(near):
        return found
    x, y = points[near, 0], points[near, 1]
    odd = np.zeros(len(near), dtype=bool)
    for (x1, y1), (x2, y2) in zip(area, np.roll(area, -1, axis=0), strict=True):
        spans = (y1 > y) != (y2 > y)
        odd ^= spans & (x < (x2 - x1) * (y - y1) / (y2 - y1 if y2 != y1 else 1e-12) + x1)
    found[near] = odd
    return found


def zones_at(lng: Floats, lat: Floats) -> tuple[Ints, Ints]:
    """Return the two halves of the mask of zones in which places lie."""
    low, high = np.zeros(len(lng), dtype=np.int64), np.zeros(len(lng), dtype=np.int64)
    points = np.stack([np.asarray(lng), np.asarray(lat)], axis=1).reshape(-1, 2)
    for bit, crossing in enumerate(crossings()):
        if crossing.kind is ChargeKind.ZONE:
            half, place = divmod(bit, LOW_BITS)
            (high if half else low)[inside(points, np.array(crossing.area))] |= np.int64(1) << place
    return low, high


def bits_met(halves: Iterable[tuple[Ints, Ints]]) -> list[int]:
    """Return the bits that any of some tables of masks (their low and high halves) have set, ascending."""
    low = high = 0
    for lows, highs in halves:
        low |= int(np.bitwise_or.reduce(lows, axis=None)) if lows.size else 0
        high |= int(np.bitwise_or.reduce(highs, axis=None)) if highs.size else 0
    return [bit for bit in range(len(crossings())) if (low >> bit if bit < LOW_BITS else high >> (bit - LOW_BITS)) & 1]


def packed(low: Ints, high: Ints, bits: Sequence[int]) -> Ints:
    """Return masks in which bit ``k`` stands for ``bits[k]``."""
    mask = np.zeros(low.shape, dtype=np.int64)
    for place, bit in enumerate(bits):
        held = low >> bit if bit < LOW_BITS else high >> (bit - LOW_BITS)
        mask |= (held & 1) << place
    return mask
