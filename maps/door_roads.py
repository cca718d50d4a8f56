"""
Roads of new doors: from a few doors to every place of a day and back, without making the day's whole tables again.

The way out is searched from each door; the way in from each door too, over the same roads turned round, so that the work
grows with the doors and not with the places.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from maps.crossings import ferries
from maps.roads import RoadNetwork, built_in
from maps.travel import Arcs, Ends, arcs_of, check_on_land, ends_of
from maps.travel import _take_short_ways as take_short_ways
from maps.travel_joins import Joins, join
from planner.desk.quote_day import Roads, RoadStrip
from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.places import Place

Ints = npt.NDArray[np.int64]
Raw = tuple[Ints, Ints, Ints, Ints, Ints]  # milliseconds, metres, ferry seconds, low and high charge bits


def roads_to(day: Day, doors: Sequence[Place], *, network: RoadNetwork | None = None) -> Roads:
    """
    Return the roads between ``doors`` and the places of a day, for every class of its tables.

    Raises
    ------
    UnknownPlace
        If a door lies in the sea, abroad or far from anybody.

    """
    roads = network or built_in()
    check_on_land(doors)
    known_joins = _joined(roads, tuple((place.lng, place.lat) for place in day.places))
    door_joins = _joined(roads, tuple((place.lng, place.lat) for place in doors))
    joins = _both(known_joins, door_joins)
    near = _near(joins, door_joins.edge)
    raw = {kind: _raw(roads, joins, near, len(day.places), kind) for kind in day.tables}
    low = int(np.bitwise_or.reduce([np.bitwise_or.reduce(table[3], axis=None) for table in raw.values()]))
    high = int(np.bitwise_or.reduce([np.bitwise_or.reduce(table[4], axis=None) for table in raw.values()]))
    used = [row for row in range(len(roads.charge_keys)) if (low >> row & 1 if row < 62 else high >> (row - 62) & 1)]
    known = {charge.key: charge for charge in day.charges}
    charges = tuple(known.get(roads.charge_keys[row]) or ferries()[roads.charge_keys[row]] for row in used)
    return Roads(charges=charges, strips={kind: _strip(table, used, len(day.places)) for kind, table in raw.items()})


def _strip(raw: Raw, used: Sequence[int], size: int) -> RoadStrip:
    ms, metres, ferry_s, low, high = raw
    mask = np.zeros(ms.shape, np.int64)
    for bit, row in enumerate(used):
        held = low >> row if row < 62 else high >> (row - 62)
        mask |= (held & 1) << bit
    whole = {
        "metres": metres,
        "seconds": np.where(ms < 0, -1, -(-ms // 1000)),
        "charge_mask": mask,
        "ferry_seconds": ferry_s,
    }
    return RoadStrip(
        out={name: array[size:, :] for name, array in whole.items()},
        back={name: array[:size, size:] for name, array in whole.items()},
    )


def _raw(network: RoadNetwork, joins: Joins, near: Joins, size: int, kind: VehicleClass) -> Raw:
    """Return square tables of places and doors in which only rows and columns of the doors are filled."""
    count = len(joins.place_at) - 1
    arcs = arcs_of(network, kind)
    leave, arrive = (ends_of(network, joins, arcs.edge_ms, leaving=leaving) for leaving in (True, False))
    with ThreadPoolExecutor(max_workers=2) as pool:
        ahead = pool.submit(_searched, arcs, leave, arrive, size, count)
        behind = pool.submit(_searched, turned(network, kind), arrive, leave, size, count)
        out, back = ahead.result(), behind.result()
    tables = []
    for outward, inward, filler in zip(out, back, (-1, -1, 0, 0, 0), strict=True):
        table = np.full((count, count), filler, dtype=np.int64)
        table[size:, :] = outward
        table[:size, size:] = inward[:, :size].T
        tables.append(table)
    take_short_ways(network, near, arcs, tuple(tables))
    for table in tables:
        np.fill_diagonal(table, 0)
    ms, metres, ferry_s, low, high = tables
    return ms, metres, ferry_s, low, high


@lru_cache(maxsize=64)
def _joined(network: RoadNetwork, points: tuple[tuple[float, float], ...]) -> Joins:
    lng, lat = zip(*points, strict=True)
    return join(network, np.array(lng), np.array(lat))


def _both(places: Joins, doors: Joins) -> Joins:
    """Return the joins of two lots of places as one."""
    return Joins(
        place_at=np.r_[places.place_at, doors.place_at[1:] + places.place_at[-1]],
        edge=np.r_[places.edge, doors.edge],
        share=np.r_[places.share, doors.share],
        away_m=np.r_[places.away_m, doors.away_m],
        away_ms=np.r_[places.away_ms, doors.away_ms],
    )


def _near(joins: Joins, edges: Ints) -> Joins:
    """Return only those joins that lie on the given edges."""
    keep = np.isin(joins.edge, edges)
    held = np.add.reduceat(np.r_[keep, False], joins.place_at[:-1]) * (np.diff(joins.place_at) > 0)
    return Joins(
        place_at=np.r_[0, np.cumsum(held)].astype(joins.place_at.dtype),
        edge=joins.edge[keep],
        share=joins.share[keep],
        away_m=joins.away_m[keep],
        away_ms=joins.away_ms[keep],
    )


def _searched(arcs: Arcs, leave: Ends, arrive: Ends, size: int, count: int) -> Raw:
    """Return the rows of the doors, those from ``size`` on, to everyone."""
    from maps.travel_kernel import rows

    wanted = np.zeros(len(arcs.at) - 1, dtype=np.bool_)
    wanted[arrive.node] = True
    tables = tuple(np.full((count, count), filler, dtype=np.int64) for filler in (-1, -1, 0, 0, 0))
    rows(
        size, count, arcs.at, arcs.to, arcs.came_from, arcs.ms, arcs.metres, arcs.charge, arcs.ferry_s,
        leave.at, leave.node, leave.ms, leave.metres, arrive.at, arrive.node, arrive.ms, arrive.metres,
        wanted, int(wanted.sum()), *tables,
    )  # fmt: skip
    ms, metres, ferry_s, low, high = (table[size:, :] for table in tables)
    return ms, metres, ferry_s, low, high


@lru_cache(maxsize=8)
def turned(network: RoadNetwork, kind: VehicleClass) -> Arcs:
    """Return the arcs of a class, each turned round, so that a search from a door finds the ways to it."""
    arcs = arcs_of(network, kind)
    order = np.lexsort((arcs.came_from, arcs.to))
    at = np.zeros(len(arcs.at), dtype=np.int64)
    at[1:] = np.cumsum(np.bincount(arcs.to, minlength=len(arcs.at) - 1))
    return Arcs(
        at=at,
        to=arcs.came_from[order],
        came_from=arcs.to[order],
        ms=arcs.ms[order],
        metres=arcs.metres[order],
        charge=arcs.charge[order],
        ferry_s=arcs.ferry_s[order],
        edge=arcs.edge[order],
        edge_ms=arcs.edge_ms,
    )
