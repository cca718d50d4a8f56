"""
Travel: metres, seconds and charges between places, along the fastest path for each class of vehicle.

Seconds are those of an average working-day hour, whole and rounded up; metres and seconds belong to one and the same
path.  ``-1`` in a table means that no road or ferry leads there.
"""

import os
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from maps.crossings import ferries
from maps.roads import RoadClass, RoadNetwork, built_in
from maps.roads_settings import surroundings
from maps.speeds import edge_ms
from maps.travel_joins import Joins, join
from planner.faults import NoRoad, UnknownPlace
from planner.model.crews import VehicleClass
from planner.model.places import Place
from planner.model.travel import Charge, TravelTable

FARTHEST_FROM_PEOPLE_M = 12_000


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Arcs:
    """The network as one class of vehicle may use it: arcs out of node ``v`` are ``at[v]`` to ``at[v + 1]``."""

    at: npt.NDArray[np.int64]
    to: npt.NDArray[np.int64]
    came_from: npt.NDArray[np.int64]
    ms: npt.NDArray[np.int64]
    metres: npt.NDArray[np.int64]
    charge: npt.NDArray[np.int64]
    ferry_s: npt.NDArray[np.int64]
    edge: npt.NDArray[np.int64]
    edge_ms: npt.NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Ends:
    """The joins as starts (leaving) or ends (arriving): node, milliseconds and metres, with the join each came from."""

    at: npt.NDArray[np.int64]
    node: npt.NDArray[np.int64]
    ms: npt.NDArray[np.int64]
    metres: npt.NDArray[np.int64]
    join: npt.NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Path:
    """One journey; ``line`` is ``(k, 2)`` lng and lat; ``roads`` are the named roads in order with metres on each."""

    metres: int
    seconds: int
    ferry_seconds: int
    line: npt.NDArray[np.float64]
    roads: tuple[tuple[str, int], ...]
    charges: tuple[Charge, ...]


@lru_cache(maxsize=8)
def arcs_of(network: RoadNetwork, vehicle_class: VehicleClass) -> Arcs:
    """Return the arcs for a class of vehicle, both ways for each edge that is not one-way."""
    ms = edge_ms(network, vehicle_class)
    back = np.flatnonzero(~network.one_way)
    edge = np.r_[np.arange(network.num_edges), back].astype(np.int64)
    tail = np.r_[network.tail, network.head[back]].astype(np.int64)
    head = np.r_[network.head, network.tail[back]].astype(np.int64)
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
        edge=edge,
        charge=network.charge[edge].astype(np.int64),
        ferry_s=network.ferry_s[edge].astype(np.int64),
        edge_ms=ms,
    )


def ends_of(network: RoadNetwork, joins: Joins, ms: npt.NDArray[np.int64], *, leaving: bool) -> Ends:
    """Return where places enter the network, or leave it, with the part of the joined edge that is driven."""
    edge, share = joins.edge, joins.share
    along_m, along_ms = network.metres[edge], ms[edge]
    both_ways = ~network.one_way[edge]
    ahead = np.ones(len(edge), dtype=bool)
    rows = np.arange(len(edge))
    # Leaving, the head lies ahead and the tail behind; arriving, one comes from the tail, or from the head when both ways.
    to_head, to_tail = (ahead, both_ways) if leaving else (both_ways, ahead)
    row = np.r_[rows[to_head], rows[to_tail]]
    part = np.r_[(1 - share)[to_head], share[to_tail]]
    node = np.r_[network.head[edge][to_head], network.tail[edge][to_tail]].astype(np.int64)
    place = np.repeat(np.arange(len(joins.place_at) - 1), np.diff(joins.place_at))[row]
    order = np.argsort(place, kind="stable")
    row, part, node = row[order], part[order], node[order]
    at = np.zeros(len(joins.place_at), dtype=np.int64)
    at[1:] = np.cumsum(np.bincount(place, minlength=len(joins.place_at) - 1))
    return Ends(
        at=at,
        node=node,
        join=row,
        ms=joins.away_ms[row] + np.round(part * along_ms[row]).astype(np.int64),
        metres=joins.away_m[row] + np.round(part * along_m[row]).astype(np.int64),
    )


def check_on_land(places: Sequence[Place]) -> None:
    """
    Refuse places that lie in the sea, abroad or far from anybody.

    Raises
    ------
    UnknownPlace
        For the first such place.

    """
    if not places:
        return
    _, _, away = surroundings().at(np.array([place.lng for place in places]), np.array([place.lat for place in places]))
    for place, metres in zip(places, away, strict=True):
        if metres > FARTHEST_FROM_PEOPLE_M:
            raise UnknownPlace(place.name, reason=f"lies {metres / 1000:.0f} km from the nearest address of Great Britain")


def travel_tables(
    places: Sequence[Place],
    classes: Iterable[VehicleClass],
    *,
    day: date,
    network: RoadNetwork | None = None,
) -> tuple[dict[VehicleClass, TravelTable], tuple[Charge, ...]]:
    """
    Return a table for each class, in the order of ``places``, and the charges that any of their paths meet.

    Parameters
    ----------
    places
        Points; the same point twice is no trouble, and the way from a place to itself is 0.
    classes
        Those for which a table is wanted.
    day
        The date on which tolls, zones and ferries are priced.
    network
        The one that comes with the project when not given.

    Raises
    ------
    UnknownPlace
        If a place lies in the sea, abroad or far from anybody.

    """
    del day
    roads = network or built_in()
    check_on_land(places)
    raw = {each: _raw_table(roads, places, each) for each in dict.fromkeys(classes)}
    low = (
        int(np.bitwise_or.reduce([np.bitwise_or.reduce(table[3], axis=None) for table in raw.values()]))
        if raw and len(places)
        else 0
    )
    high = (
        int(np.bitwise_or.reduce([np.bitwise_or.reduce(table[4], axis=None) for table in raw.values()]))
        if raw and len(places)
        else 0
    )
    used = [row for row in range(len(roads.charge_keys)) if (low >> row & 1 if row < 62 else high >> (row - 62) & 1)]
    charges = tuple(ferries()[roads.charge_keys[row]] for row in used)
    tables = {}
    for each, (ms, metres, ferry_s, low_bits, high_bits) in raw.items():
        mask = np.zeros(ms.shape, dtype=np.int64)
        for bit, row in enumerate(used):
            held = low_bits >> row if row < 62 else high_bits >> (row - 62)
            mask |= (held & 1) << bit
        seconds = np.where(ms < 0, -1, -(-ms // 1000)).astype(np.int32)
        tables[each] = TravelTable(
            vehicle_class=each,
            metres=metres.astype(np.int32),
            seconds=seconds,
            charge_mask=mask,
            ferry_seconds=ferry_s.astype(np.int32),
        )
    return tables, charges


def _raw_table(network: RoadNetwork, places: Sequence[Place], vehicle_class: VehicleClass) -> tuple[npt.NDArray[np.int64], ...]:
    from maps.travel_kernel import rows

    count = len(places)
    tables = tuple(np.full((count, count), filler, dtype=np.int64) for filler in (-1, -1, 0, 0, 0))
    if not count:
        return tables
    arcs = arcs_of(network, vehicle_class)
    joins = join(network, np.array([place.lng for place in places]), np.array([place.lat for place in places]))
    leave, arrive = (ends_of(network, joins, arcs.edge_ms, leaving=leaving) for leaving in (True, False))
    wanted = np.zeros(network.num_nodes, dtype=np.bool_)
    wanted[arrive.node] = True
    num_wanted = int(wanted.sum())
    bounds = np.linspace(0, count, min(count, 2 * (os.cpu_count() or 1)) + 1).astype(int)

    def fill(part: int) -> None:
        rows(
            bounds[part],
            bounds[part + 1],
            arcs.at,
            arcs.to,
            arcs.came_from,
            arcs.ms,
            arcs.metres,
            arcs.charge,
            arcs.ferry_s,
            leave.at,
            leave.node,
            leave.ms,
            leave.metres,
            arrive.at,
            arrive.node,
            arrive.ms,
            arrive.metres,
            wanted,
            num_wanted,
            *tables,
        )

    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        list(pool.map(fill, range(len(bounds) - 1)))
    _take_short_ways(network, joins, arcs, tables)
    for table in tables:
        np.fill_diagonal(table, 0)
    return tables


def _take_short_ways(network: RoadNetwork, joins: Joins, arcs: Arcs, tables: tuple[npt.NDArray[np.int64], ...]) -> None:
    """Let two places that join the same edge meet along it, without going to its end."""
    ms, metres, ferry_s, low, high = tables
    place = np.repeat(np.arange(len(joins.place_at) - 1), np.diff(joins.place_at))
    order = np.argsort(joins.edge, kind="stable")
    for group in np.split(order, np.flatnonzero(np.diff(joins.edge[order])) + 1):
        if len(group) < 2:
            continue
        edge = joins.edge[group[0]]
        gap = joins.share[group][None, :] - joins.share[group][:, None]
        here = (
            joins.away_ms[group][:, None]
            + joins.away_ms[group][None, :]
            + np.round(np.abs(gap) * arcs.edge_ms[edge]).astype(np.int64)
        )
        far = (
            joins.away_m[group][:, None]
            + joins.away_m[group][None, :]
            + np.round(np.abs(gap) * network.metres[edge]).astype(np.int64)
        )
        cells = np.ix_(place[group], place[group])
        better = ((ms[cells] < 0) | (here < ms[cells])) & ((gap >= 0) | ~network.one_way[edge])
        for table, value in ((ms, here), (metres, far), (ferry_s, 0), (low, 0), (high, 0)):
            table[cells] = np.where(better, value, table[cells])


def path(
    origin: Place, destination: Place, vehicle_class: VehicleClass = VehicleClass.CAR, *, network: RoadNetwork | None = None
) -> Path:
    """
    Return the fastest path from one place to another, with its line, the roads it takes and the charges it meets.

    Raises
    ------
    NoRoad
        If none leads there.
    UnknownPlace
        If a place lies in the sea, abroad or far from anybody.

    """
    from maps.travel_kernel import search

    roads = network or built_in()
    check_on_land((origin, destination))
    arcs = arcs_of(roads, vehicle_class)
    joins = join(roads, np.array([origin.lng, destination.lng]), np.array([origin.lat, destination.lat]))
    tables = _raw_table(roads, (origin, destination), vehicle_class)
    if tables[0][0, 1] < 0:
        raise NoRoad(origin.name, destination.name, f"no road or ferry of the network joins them for a {vehicle_class.value}")
    leave, arrive = (ends_of(roads, joins, arcs.edge_ms, leaving=leaving) for leaving in (True, False))
    ms, metres, came_by = (
        np.empty(roads.num_nodes, np.int64),
        np.empty(roads.num_nodes, np.int64),
        np.empty(roads.num_nodes, np.int64),
    )
    heap = np.empty(len(arcs.to) + len(leave.node) + 8, np.int64)
    wanted = np.zeros(roads.num_nodes, dtype=np.bool_)
    last = slice(int(arrive.at[1]), int(arrive.at[2]))
    wanted[arrive.node[last]] = True
    first = slice(0, int(leave.at[1]))
    search(
        arcs.at,
        arcs.to,
        arcs.ms,
        arcs.metres,
        leave.node[first],
        leave.ms[first],
        leave.metres[first],
        wanted,
        int(wanted.sum()),
        ms,
        metres,
        came_by,
        heap,
    )
    total = ms[arrive.node[last]] + arrive.ms[last]
    best = int(np.lexsort((metres[arrive.node[last]] + arrive.metres[last], total))[0])
    node, edges = int(arrive.node[last][best]), []
    through = int(tables[0][0, 1]) == int(total[best])
    while through and came_by[node] >= 0:
        arc = int(came_by[node])
        edges.append((int(arcs.edge[arc]), int(arcs.to[arc])))
        node = int(arcs.came_from[arc])
    edges.reverse()
    lines = [np.array([[origin.lng, origin.lat]])]
    if through:
        lines += [np.array([[roads.node_lng[node], roads.node_lat[node]]])]
    for edge, to in edges:
        line = roads.line(edge)
        lines.append(line[1:] if int(roads.head[edge]) == to else line[::-1][1:])
    lines.append(np.array([[destination.lng, destination.lat]]))
    keys = dict.fromkeys(roads.charge_keys[roads.charge[edge]] for edge, _ in edges if roads.charge[edge] >= 0)
    return Path(
        metres=int(tables[1][0, 1]),
        seconds=-(-int(tables[0][0, 1]) // 1000),
        ferry_seconds=int(tables[2][0, 1]),
        line=np.concatenate(lines),
        roads=_named(roads, edges),
        charges=tuple(ferries()[key] for key in keys),
    )


def _named(network: RoadNetwork, edges: list[tuple[int, int]]) -> tuple[tuple[str, int], ...]:
    found: list[tuple[str, int]] = []
    for edge, _ in edges:
        name = network.names[network.name[edge]] or ("ferry" if network.road_class[edge] == RoadClass.FERRY else "")
        if not name:
            continue
        if found and found[-1][0] == name:
            found[-1] = (name, found[-1][1] + int(network.metres[edge]))
        else:
            found.append((name, int(network.metres[edge])))
    return tuple(found)
