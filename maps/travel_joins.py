"""
Joins places to the network: from a door over the small roads to points on several roads around it.

A place joins the nearest point of each of a few edges; the search then takes whichever serves the journey.  Motorways are
joined only through their junctions, ferries only at their quays.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from maps.crossings import crossings
from maps.crossings_met import LOW_BITS, met
from maps.cut_off import cut_off
from maps.national_grid import from_lng_lat
from maps.near_points import NearPoints
from maps.roads import RoadClass, RoadNetwork, name_of
from maps.roads_settings import surroundings
from maps.travel_store import fingerprint, kept
from maps.water import over_water
from planner.model.travel import ChargeKind

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

SAMPLE_M = 400.0
MOST_EDGES = 8
FARTHEST_M = 25_000.0  # no small road is longer: a door so far from every road lies outside the network
SQUARE_M = 2000.0
VERSION = 2  # of the points that are kept: raise it when their reckoning changes
#: Driven metres on small roads for each straight metre; and how fast, km/h by setting.
WINDING = 1.32
SMALL_ROAD_KMH = np.array([36.0, 33.0, 31.0, 24.0, 33.0, 18.0])
#: What each end of a way takes besides, by setting: lights, turnings and one-way streets about a door in a town.
AT_THE_DOOR_S = np.array([50.0, 125.0, 160.0, 180.0, 50.0, 180.0])


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class EdgePoints:
    """Points along all edges that may be joined, for finding the nearest; segments in grid metres."""

    near: NearPoints
    edge: Floats  # whole numbers
    start: Floats
    run: Floats
    share_from: Floats
    share_to: Floats


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Joins:
    """
    One row for each place and edge it joins: ``share`` is how far along the edge, ``away_m`` the small roads before it.

    Rows of place ``p`` are ``place_at[p]`` to ``place_at[p + 1]``.
    """

    place_at: Ints
    edge: Ints
    share: Floats
    away_m: Ints
    away_ms: Ints


@lru_cache(maxsize=4)
def edge_points(network: RoadNetwork) -> EdgePoints:
    """Return the joinable points of a network; kept between runs."""
    name = f"{VERSION}-{name_of(network) or _content(network)}"
    columns = kept(f"edge-points-{name}", lambda: _edge_points(network, _joinable(network)))
    points = columns[7:9].reshape(-1, 2)
    return EdgePoints(
        near=NearPoints.from_row(points, kept(f"edge-squares-{name}", lambda: NearPoints.of(points, SQUARE_M).as_row())),
        edge=columns[0], start=columns[1:3].T, run=columns[3:5].T, share_from=columns[5], share_to=columns[6],
    )  # fmt: skip


def _joinable(network: RoadNetwork) -> Ints:
    """Return the edges that may be joined."""
    is_through = (network.road_class == RoadClass.FERRY) | (network.road_class == RoadClass.MOTORWAY)
    return np.flatnonzero(~is_through & ~on_toll(network))


def _content(network: RoadNetwork) -> str:
    """Return a name for what the points hang on."""
    lines = (network.tail, network.head, network.node_lng, network.node_lat, network.shape_at, network.shape)
    return fingerprint(_joinable(network), *lines)


def _edge_points(network: RoadNetwork, keep: Ints) -> Floats:
    """Return edge, start, run, share from and to as seven rows, and in two more the points, one after another."""
    inner = np.diff(network.shape_at)[keep]
    point_edge = np.repeat(keep, inner + 2)
    at = np.repeat(np.cumsum(inner + 2) - (inner + 2), inner + 2)
    place = np.arange(len(point_edge)) - at
    last = np.repeat(inner + 1, inner + 2)
    inner_row = network.shape_at[point_edge] + np.clip(place - 1, 0, None)
    shape = network.shape if len(network.shape) else np.zeros((1, 2))
    inner_row = np.clip(inner_row, 0, len(shape) - 1)
    lng = np.where(
        place == 0,
        network.node_lng[network.tail[point_edge]],
        np.where(place == last, network.node_lng[network.head[point_edge]], shape[inner_row, 0]),
    )
    lat = np.where(
        place == 0,
        network.node_lat[network.tail[point_edge]],
        np.where(place == last, network.node_lat[network.head[point_edge]], shape[inner_row, 1]),
    )
    xy = np.stack(from_lng_lat(lng, lat), axis=1)
    goes_on = place < last
    start, run, edge = xy[goes_on], (np.roll(xy, -1, axis=0) - xy)[goes_on], point_edge[goes_on]
    length = np.hypot(*run.T)
    whole = np.bincount(edge, length, network.num_edges)
    before = np.cumsum(length) - length
    first = np.full(network.num_edges, np.inf)
    np.minimum.at(first, edge, before)
    share = (before - first[edge]) / np.maximum(whole[edge], 1e-9)
    share_to = np.minimum(share + length / np.maximum(whole[edge], 1e-9), 1.0)
    count = np.maximum(1, np.ceil(length / SAMPLE_M)).astype(np.int64)
    row = np.repeat(np.arange(len(count)), count)
    within = (np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count) + 0.5) / count[row]
    points = start[row] + run[row] * within[:, None]
    ends = edge[row].astype(np.float64), *start[row].T, *run[row].T, share[row], share_to[row]
    return np.stack([*ends, *points.reshape(2, -1)])


def on_toll(network: RoadNetwork) -> npt.NDArray[np.bool_]:
    """Return which edges pass a toll: nobody lives on a toll bridge."""
    low, high, low_back, high_back = met(network)
    found = np.zeros(network.num_edges, dtype=bool)
    for bit, crossing in enumerate(crossings()):
        if crossing.kind is ChargeKind.TOLL:
            half, place = divmod(bit, LOW_BITS)
            mask = (high | high_back) if half else (low | low_back)
            found |= (mask >> place & 1).astype(bool)
    return found


def join(network: RoadNetwork, lng: Floats, lat: Floats) -> Joins:
    """Return the joins of places to the network; every place gets one or more, but those cut off or outside it."""
    points = edge_points(network)
    xy = np.stack(from_lng_lat(lng, lat), axis=1)
    _, near = points.near.nearest(xy, 64)
    start, run, edge = points.start[near], points.run[near], points.edge[near].astype(np.int64)
    square = np.maximum((run**2).sum(axis=2), 1e-9)
    within = np.clip(((xy[:, None] - start) * run).sum(axis=2) / square, 0, 1)
    foot = start + run * within[..., None]
    apart = np.hypot(*np.moveaxis(xy[:, None] - foot, 2, 0))
    share = points.share_from[near] + within * (points.share_to[near] - points.share_from[near])
    setting, _, _ = surroundings().at(lng, lat)
    apart[cut_off(lng, lat) | (apart.min(axis=1) > FARTHEST_M)] = np.inf
    place_at, edges, shares, away = [0], [], [], []
    for row in range(len(xy)):
        order = np.argsort(apart[row], kind="stable")
        _, first = np.unique(edge[row, order], return_index=True)
        chosen = order[np.sort(first)][: 2 * MOST_EDGES]
        dry = ~over_water(xy[row], foot[row, chosen])
        chosen = chosen[dry if dry.any() else slice(None)][:MOST_EDGES]
        chosen = chosen[apart[row, chosen] <= np.nan_to_num(3 * apart[row, chosen[0]] + 1500, posinf=-1)]
        edges.append(edge[row, chosen])
        shares.append(share[row, chosen])
        away.append(apart[row, chosen])
        place_at.append(place_at[-1] + len(chosen))
    of_place = np.repeat(setting, np.diff(place_at))
    metres = np.concatenate(away) * WINDING
    return Joins(
        place_at=np.array(place_at),
        edge=np.concatenate(edges),
        share=np.concatenate(shares),
        away_m=np.round(metres).astype(np.int64),
        away_ms=np.round(metres * 3600 / SMALL_ROAD_KMH[of_place] + AT_THE_DOOR_S[of_place] * 1000).astype(np.int64),
    )
