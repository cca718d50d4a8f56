"""Arcs: the network as one class of vehicle may drive it, and where places enter and leave it."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from maps.crossings import crossings
from maps.crossings_met import LOW_BITS, met
from maps.roads import RoadNetwork, name_of
from maps.speeds import edge_ms
from maps.travel_joins import Joins
from maps.travel_store import kept
from planner.model.crews import VehicleClass
from planner.model.travel import ChargeKind

Ints = npt.NDArray[np.int64]


#: The mass a class stands for where signs bar heavier vehicles.
MASS_KG = {VehicleClass.CAR: 2000, VehicleClass.GOODS_3500: 3500, VehicleClass.GOODS_7500: 7500, VehicleClass.GOODS_HEAVY: 26_000}


VERSION = 1  # of what is kept: raise it when the reckoning changes

#: What a metre more is worth in milliseconds (5 seconds a mile): of two ways that take as long, drivers take the shorter.
MS_A_METRE = 3


def weighed(ms: Ints, metres: Ints) -> Ints:
    """Return what ways are compared by: milliseconds, and a little for every metre."""
    return ms + MS_A_METRE * metres


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Arcs:
    """
    Arcs out of node ``v`` are ``at[v]`` to ``at[v + 1]``; ``low`` and ``high`` are the masks of what an arc meets.

    ``edge_ms`` is by edge, -1 for those that the vehicle may not use.
    """

    at: Ints
    to: Ints
    came_from: Ints
    ms: Ints
    metres: Ints
    ferry_s: Ints
    low: Ints
    high: Ints
    edge: Ints
    edge_ms: Ints


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Ends:
    """The joins as starts (leaving) or ends (arriving): node, milliseconds and metres, with the join each came from."""

    at: Ints
    node: Ints
    ms: Ints
    metres: Ints
    join: Ints


def toll_mask() -> tuple[int, int]:
    """Return the two halves of the mask of all tolls."""
    low = sum(1 << bit for bit, each in enumerate(crossings()) if each.kind is ChargeKind.TOLL and bit < LOW_BITS)
    high = sum(1 << (bit - LOW_BITS) for bit, each in enumerate(crossings()) if each.kind is ChargeKind.TOLL and bit >= LOW_BITS)
    return low, high


@lru_cache(maxsize=12)
def arcs_of(
    network: RoadNetwork,
    vehicle_class: VehicleClass,
    *,
    avoid_tolls: bool = False,
    height_mm: int = 0,
    width_mm: int = 0,
    mass_kg: int = 0,
) -> Arcs:
    """
    Return the arcs for a class of vehicle, both ways for each edge that is not one-way.

    ``height_mm``, ``width_mm`` and ``mass_kg`` leave out the edges signed for less; 0 asks for no check of height or
    width, and takes the class's own mass (3.5 t and less are not checked).
    """
    ms = edge_ms(network, vehicle_class)
    low, high, low_back, high_back = met(network)
    barred = _too_heavy(network, mass_kg or MASS_KG[vehicle_class])
    if height_mm:
        barred |= (network.max_height_mm > 0) & (network.max_height_mm < height_mm)
    if width_mm and len(network.max_width_mm):
        barred |= (network.max_width_mm > 0) & (network.max_width_mm < width_mm)
    there, back = ~barred, ~barred & ~network.one_way
    if avoid_tolls:
        toll_low, toll_high = toll_mask()
        there &= (low & toll_low == 0) & (high & toll_high == 0)
        back &= (low_back & toll_low == 0) & (high_back & toll_high == 0)
    ahead, against = np.flatnonzero(there), np.flatnonzero(back)
    edge = np.r_[ahead, against].astype(np.int64)
    tail = np.r_[network.tail[ahead], network.head[against]].astype(np.int64)
    head = np.r_[network.head[ahead], network.tail[against]].astype(np.int64)
    lows, highs = np.r_[low[ahead], low_back[against]], np.r_[high[ahead], high_back[against]]
    order = np.lexsort((head, tail))
    edge, tail, head = edge[order], tail[order], head[order]
    at = np.zeros(network.num_nodes + 1, dtype=np.int64)
    at[1:] = np.cumsum(np.bincount(tail, minlength=network.num_nodes))
    return Arcs(
        at=at,
        to=head,
        came_from=tail,
        ms=ms[edge],
        metres=network.metres[edge].astype(np.int64),
        ferry_s=network.ferry_s[edge].astype(np.int64),
        low=lows[order],
        high=highs[order],
        edge=edge,
        edge_ms=np.where(there, ms, -1),
    )


def _too_heavy(network: RoadNetwork, mass_kg: int) -> npt.NDArray[np.bool_]:
    return (network.max_mass_kg > 0) & (network.max_mass_kg < mass_kg)


@lru_cache(maxsize=12)
def open_ms(network: RoadNetwork, vehicle_class: VehicleClass) -> Ints:
    """Return the milliseconds of each edge for a class of vehicle, -1 for those that it may not use; kept between runs."""

    def made() -> Ints:
        return np.where(_too_heavy(network, MASS_KG[vehicle_class]), -1, edge_ms(network, vehicle_class))

    name = name_of(network)
    return kept(f"edges-{VERSION}-{name}-{vehicle_class}", made) if name else made()


def ends_of(network: RoadNetwork, joins: Joins, ms: Ints, *, leaving: bool) -> Ends:
    """Return where places enter the network, or leave it, with the part of the joined edge that is driven."""
    edge, share = joins.edge, joins.share
    both_ways = ~network.one_way[edge]
    ahead = np.ones(len(edge), dtype=bool)
    rows = np.arange(len(edge))
    # Leaving, the head lies ahead and the tail behind; arriving, one comes from the tail, or from the head when both ways.
    usable = ms[edge] >= 0
    to_head, to_tail = (ahead & usable, both_ways & usable) if leaving else (both_ways & usable, ahead & usable)
    row = np.r_[rows[to_head], rows[to_tail]]
    part = np.r_[(1 - share)[to_head], share[to_tail]]
    node = np.r_[network.head[edge][to_head], network.tail[edge][to_tail]].astype(np.int64)
    place = np.repeat(np.arange(len(joins.place_at) - 1), np.diff(joins.place_at))[row]
    order = np.argsort(place, kind="stable")
    row, part, node = row[order], part[order], node[order]
    at = np.zeros(len(joins.place_at), dtype=np.int64)
    at[1:] = np.cumsum(np.bincount(place, minlength=len(joins.place_at) - 1))
    along_ms = np.round(part * ms[edge[row]]).astype(np.int64)
    along_m = np.round(part * network.metres[edge[row]]).astype(np.int64)
    return Ends(at=at, node=node, join=row, ms=joins.away_ms[row] + along_ms, metres=joins.away_m[row] + along_m)
