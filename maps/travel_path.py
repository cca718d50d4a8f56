"""One path in full: its line, its roads, its charges, and the pieces it is made of with the kind of road of each."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from maps.crossings import charge_on, crossings
from maps.crossings_met import LOW_BITS, zones_at
from maps.roads import RoadClass, RoadNetwork, Setting
from maps.roads_settings import surroundings
from maps.travel_arcs import MS_A_METRE, Arcs, Ends, ends_of, weighed
from maps.travel_joins import Joins, join
from planner.faults import NoRoad
from planner.model.crews import VehicleClass
from planner.model.places import Place
from planner.model.travel import Charge

#: Undated charges are priced as on this day, which lies before any price: they name what is paid, not how much.
UNDATED = date(1, 1, 1)


@dataclass(frozen=True, kw_only=True, slots=True)
class Piece:
    """A stretch of one kind of road, ``ms`` milliseconds long on average."""

    road_class: RoadClass
    setting: Setting
    ms: int


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Path:
    """One journey; ``line`` is ``(k, 2)`` lng and lat; ``roads`` are the named roads in order with metres on each."""

    metres: int
    seconds: int
    ferry_seconds: int
    line: npt.NDArray[np.float64]
    roads: tuple[tuple[str, int], ...]
    charges: tuple[Charge, ...]
    pieces: tuple[Piece, ...]


def shortest(
    network: RoadNetwork, arcs: Arcs, origin: Place, destination: Place, vehicle_class: VehicleClass, day: date | None
) -> Path:
    """Return the fastest path, or raise :class:`NoRoad`."""
    joins = join(network, np.array([origin.lng, destination.lng]), np.array([origin.lat, destination.lat]))
    leave, arrive = (ends_of(network, joins, arcs.edge_ms, leaving=leaving) for leaving in (True, False))
    found = _search(network, arcs, leave, arrive)
    near = _along_one_edge(network, joins, arcs)
    settings, _, _ = surroundings().at(np.array([origin.lng, destination.lng]), np.array([origin.lat, destination.lat]))
    if found is None and near is None:
        raise NoRoad(origin.name, destination.name, f"no road or ferry of the network joins them for a {vehicle_class.value}")
    ends = np.array([[origin.lng, origin.lat], [destination.lng, destination.lat]])
    at_low, at_high = zones_at(ends[:, 0], ends[:, 1])
    masks = [int(at_low[0] | at_low[1]), int(at_high[0] | at_high[1])]
    if (origin.lng, origin.lat) == (destination.lng, destination.lat):
        return Path(metres=0, seconds=0, ferry_seconds=0, line=ends, roads=(), charges=(), pieces=())
    if near is not None and (found is None or near < found[:2]):
        piece = Piece(road_class=RoadClass.MINOR, setting=Setting(int(settings[0])), ms=near[0])
        return _path(near, 0, ends, (), masks, day, (piece,))
    assert found is not None
    ms, metres, route = found
    row, column = int(leave.join[route[0]]), int(arrive.join[route[-1]])
    on_arcs = route[1:-1]
    for arc in on_arcs:
        masks[0] |= int(arcs.low[arc])
        masks[1] |= int(arcs.high[arc])
    node = int(leave.node[route[0]])
    lines = [ends[:1], np.array([[network.node_lng[node], network.node_lat[node]]])]
    for arc in on_arcs:
        edge = int(arcs.edge[arc])
        line = network.line(edge)
        lines.append(
            line[1:]
            if int(network.head[edge]) == int(arcs.to[arc]) and int(network.tail[edge]) == int(arcs.came_from[arc])
            else line[::-1][1:]
        )
    lines.append(ends[1:])
    small = [
        Piece(road_class=RoadClass.MINOR, setting=Setting(int(settings[end])), ms=int(joins.away_ms[join_row]))
        for end, join_row in enumerate((row, column))
    ]
    part = [int(leave.ms[route[0]] - joins.away_ms[row]), int(arrive.ms[route[-1]] - joins.away_ms[column])]
    pieces = [small[0], *_pieces(network, arcs, int(joins.edge[row]), part[0])]
    for arc in on_arcs:
        pieces += _pieces(network, arcs, int(arcs.edge[arc]), int(arcs.ms[arc]))
    pieces += [*_pieces(network, arcs, int(joins.edge[column]), part[1]), small[1]]
    ferry_s = int(arcs.ferry_s[on_arcs].sum()) if on_arcs else 0
    return _path(
        (ms, metres),
        ferry_s,
        np.concatenate(lines),
        _named(network, [int(arcs.edge[arc]) for arc in on_arcs]),
        masks,
        day,
        tuple(pieces),
    )


def _path(
    cost: tuple[int, int],
    ferry_s: int,
    line: npt.NDArray[np.float64],
    roads: tuple[tuple[str, int], ...],
    masks: list[int],
    day: date | None,
    pieces: tuple[Piece, ...],
) -> Path:
    met = [
        each for bit, each in enumerate(crossings()) if (masks[0] >> bit if bit < LOW_BITS else masks[1] >> (bit - LOW_BITS)) & 1
    ]
    charges = tuple(charge_on(each, day or UNDATED) for each in met)
    return Path(
        metres=cost[1], seconds=-(-cost[0] // 1000), ferry_seconds=ferry_s, line=line, roads=roads, charges=charges, pieces=pieces
    )


def _search(network: RoadNetwork, arcs: Arcs, leave: Ends, arrive: Ends) -> tuple[int, int, list[int]] | None:
    """Return milliseconds, metres, and the start, the arcs and the end of the best way through junctions."""
    from maps.travel_kernel import FAR, search

    first, last = slice(0, int(leave.at[1])), slice(int(arrive.at[1]), int(arrive.at[2]))
    if not leave.at[1] or arrive.at[1] == arrive.at[2]:
        return None
    wanted = np.zeros(network.num_nodes, dtype=np.bool_)
    wanted[arrive.node[last]] = True
    ms, metres, came_by = (np.empty(network.num_nodes, np.int64) for _ in range(3))
    heap = np.empty(len(arcs.to) + len(leave.node) + 8, np.int64)
    starts = leave.node[first], weighed(leave.ms, leave.metres)[first], leave.metres[first]
    goals = wanted, int(wanted.sum())
    search(arcs.at, arcs.to, weighed(arcs.ms, arcs.metres), arcs.metres, *starts, *goals, ms, metres, came_by, heap)
    nodes = arrive.node[last]
    total, far = ms[nodes] + weighed(arrive.ms, arrive.metres)[last], metres[nodes] + arrive.metres[last]
    best = int(np.lexsort((far, total))[0])
    if total[best] >= FAR:
        return None
    node, route = int(nodes[best]), [int(arrive.at[1]) + best]
    while came_by[node] >= 0:
        arc = int(came_by[node])
        route.append(arc)
        node = int(arcs.came_from[arc])
    route.append(int(-2 - came_by[node]))
    return int(total[best] - MS_A_METRE * far[best]), int(far[best]), route[::-1]


def _along_one_edge(network: RoadNetwork, joins: Joins, arcs: Arcs) -> tuple[int, int] | None:
    """Return milliseconds and metres of the best way along an edge that both places join, None when there is none."""
    best: tuple[int, int] | None = None
    split = int(joins.place_at[1])
    for row in range(split):
        for column in np.flatnonzero(joins.edge[split:] == joins.edge[row]) + split:
            edge, gap = int(joins.edge[row]), float(joins.share[column] - joins.share[row])
            if arcs.edge_ms[edge] < 0 or (gap < 0 and network.one_way[edge]):
                continue
            cost = (
                int(joins.away_ms[row] + joins.away_ms[column] + np.round(abs(gap) * arcs.edge_ms[edge])),
                int(joins.away_m[row] + joins.away_m[column] + np.round(abs(gap) * network.metres[edge])),
            )
            best = min(best, cost) if best else cost
    return best


def _pieces(network: RoadNetwork, arcs: Arcs, edge: int, ms: int) -> list[Piece]:
    """Return what an edge, or a part of one, is made of; its time goes by the share of each setting and its speed."""
    del arcs
    kind = RoadClass(int(network.road_class[edge]))
    if kind is RoadClass.FERRY or ms == 0:
        return [Piece(road_class=kind, setting=Setting.OPEN, ms=ms)] if ms else []
    percent = network.setting_percent[edge].astype(np.float64)
    parts = np.round(ms * percent / percent.sum()).astype(int)
    parts[int(percent.argmax())] += ms - int(parts.sum())
    return [Piece(road_class=kind, setting=Setting(each), ms=int(part)) for each, part in enumerate(parts) if part]


def _named(network: RoadNetwork, edges: list[int]) -> tuple[tuple[str, int], ...]:
    found: list[tuple[str, int]] = []
    for edge in edges:
        name = network.names[network.name[edge]] or ("ferry" if network.road_class[edge] == RoadClass.FERRY else "")
        if name and found and found[-1][0] == name:
            found[-1] = (name, found[-1][1] + int(network.metres[edge]))
        elif name:
            found.append((name, int(network.metres[edge])))
    return tuple(found)
