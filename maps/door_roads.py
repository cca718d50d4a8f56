"""
Roads of new doors: from a few doors to every place of a day and back, without making the day's whole tables again.

Both ways are searched from the doors; where the places of the day are met is worked out once and kept, so that the next
door takes a few milliseconds.
"""

import os
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from maps.crossings import charge_on, crossings
from maps.crossings_met import bits_met, packed, zones_at
from maps.roads import RoadNetwork, in_use, name_of
from maps.travel import add_zones, check_on_land, rungs_of, stay_put, take_short_ways
from maps.travel_arcs import ends_of, open_ms
from maps.travel_joins import Joins, join
from maps.travel_store import fingerprint
from planner.desk.quote_day import Roads, RoadStrip
from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.places import Place

if TYPE_CHECKING:
    from maps.travel_arcs import Ends
    from maps.travel_ladder import Gathered

Ints = npt.NDArray[np.int64]
Points = tuple[tuple[float, float], ...]  # longitude and latitude
MANY = 20  # doors, for which threads are worth starting
Raw = tuple[Ints, Ints, Ints, Ints, Ints]  # milliseconds, metres, ferry seconds, low and high charge bits


def roads_to(day: Day, doors: Sequence[Place], *, between: bool = True) -> Roads:
    """
    Return the roads between ``doors`` and the places of a day, for every class of its tables.

    Parameters
    ----------
    day, doors
        Where to and from.
    between
        Whether the roads from door to door are wanted too; without them a list of many doors takes little.

    Raises
    ------
    UnknownPlace
        If a door lies in the sea, abroad or far from anybody.

    """
    check_on_land(doors)
    own, everybody = _own_rows(day), (*day.places, *doors)
    network, is_between = in_use(), between and len(doors) > 1
    asked = _joined(network, _points(doors))
    places, lots = _joined(network, _points(day.places)), [_points([day.places[row] for row in some]) for some in own]
    shared = asked.edge if is_between else np.intersect1d(places.edge, asked.edge)
    near = _near(_both(places, asked), shared)
    raw = {kind: _raw(network, tuple(zip(own, lots, strict=True)), asked, near, kind, between=is_between) for kind in day.tables}
    lng, lat = np.array([place.lng for place in everybody]), np.array([place.lat for place in everybody])
    zones = zones_at(lng, lat)
    for table in raw.values():
        add_zones(table, zones)
        stay_put(lng, lat, table)
    used = bits_met((table[3], table[4]) for table in raw.values())
    known = {charge.key: charge for charge in day.charges}
    charges = tuple(known.get(crossings()[bit].key) or charge_on(crossings()[bit], day.clock.day) for bit in used)
    return Roads(charges=charges, strips={kind: _strip(table, used, len(day.places)) for kind, table in raw.items()})


def _strip(raw: Raw, used: Sequence[int], size: int) -> RoadStrip:
    out, back = (_arrays([table[part] for table in raw], used) for part in (np.s_[size:, :], np.s_[:size, size:]))
    return RoadStrip(out=out, back=back)


def _arrays(raw: Sequence[Ints], used: Sequence[int]) -> dict[str, Ints]:
    """Return part of the raw tables as the arrays of a travel table."""
    ms, metres, ferry_s, low, high = raw
    return {
        "metres": metres,
        "seconds": np.where(ms < 0, -1, -(-ms // 1000)),
        "charge_mask": packed(low, high, used),
        "ferry_seconds": ferry_s,
    }


def _own_rows(day: Day) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the rows of the places of a day's moves, crews and orders, which stay, and of others, which come and go."""
    needed = {end for move in day.moves for end in (move.origin, move.destination)} | set(day.compound_of)
    needed |= {driver.starts_at for driver in day.drivers} | {order.door.place_id for order in (*day.orders, *day.held)}
    rows = range(len(day.places))
    own = tuple(row for row in rows if day.places[row].place_id in needed)
    return own, tuple(sorted(set(rows) - set(own)))


def _raw(
    network: RoadNetwork, lots: Sequence[tuple[tuple[int, ...], Points]], asked: Joins, near: Joins, kind: VehicleClass, *,
    between: bool,
) -> Raw:  # fmt: skip
    """
    Return square tables of places and doors in which only rows and columns of the doors are filled.

    ``lots`` are rows and points of places that are kept together, ``near`` the joins of all that may meet along an edge.
    """
    from maps.travel_ladder import gathered, met

    count = len(near.place_at) - 1
    doors = len(asked.place_at) - 1
    size = count - doors
    edge_ms = open_ms(network, kind)
    ladder, rungs = rungs_of(network, kind)
    leave, reach = (ends_of(network, asked, edge_ms, leaving=leaving) for leaving in (True, False))
    threads = 1 if doors < MANY else os.cpu_count() or 1
    parts = []
    for is_own, (some, points) in zip((True, False), lots, strict=True):
        if some:
            starts, ends = (_gathered(network, points, kind, is_ends=is_ends, is_own=is_own) for is_ends in (False, True))
            there, back = (met(ladder, rungs, *pair, threads=threads) for pair in ((leave, ends), (reach, starts)))
            parts.append((list(some), there, back))
    doors_ends = gathered(ladder, rungs, reach, is_ends=True) if between else None
    among = met(ladder, rungs, leave, doors_ends, threads=threads) if doors_ends is not None else None
    made = []
    for number, filler in enumerate((-1, -1, 0, 0, 0)):
        table = np.full((count, count), filler, dtype=np.int64)
        for rows, there, back in parts:
            table[size:, rows] = there[number]
            table[rows, size:] = back[number].T
        if among is not None:
            table[size:, size:] = among[number]
        made.append(table)
    ms, metres, ferry_s, low, high = made
    raw = ms, metres, ferry_s, low, high
    take_short_ways(network, near, edge_ms, raw)
    return raw


def _points(places: Sequence[Place]) -> Points:
    return tuple((place.lng, place.lat) for place in places)


@lru_cache(maxsize=32)
def _gathered(
    network: RoadNetwork, points: Points, kind: VehicleClass, *, is_ends: bool, is_own: bool
) -> "Gathered":
    """Return where places of a day are met, worked out once for all questions; the day's own are kept between runs."""
    from maps.travel_ladder import gathered, gathered_as

    def ends() -> "Ends":
        return ends_of(network, _joined(network, points), open_ms(network, kind), leaving=not is_ends)

    (ladder, rungs), name = rungs_of(network, kind), name_of(network) if is_own else ""
    if not name:
        return gathered(ladder, rungs, ends(), is_ends=is_ends)
    full = f"{name}-{fingerprint(np.array(points))}-{kind}"
    return gathered_as(full, ladder, lambda: (rungs, ends()), len(points), is_ends=is_ends)


@lru_cache(maxsize=64)
def _joined(network: RoadNetwork, points: Points) -> Joins:
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
