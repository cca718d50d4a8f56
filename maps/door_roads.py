"""
Roads of new doors: from a few doors to every place of a day and back, without making the day's whole tables again.

Two thin tables for each class, from the doors to everybody and from everybody to the doors, so that the work grows with
the places and not with their square.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from maps.crossings import charge_on, crossings
from maps.crossings_met import bits_met, packed
from maps.roads import RoadNetwork, in_use
from maps.travel import add_zones, check_on_land, rungs_of, take_short_ways
from maps.travel_arcs import arcs_of, ends_of
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
    roads = network or in_use()
    check_on_land(doors)
    known_joins = _joined(roads, tuple((place.lng, place.lat) for place in day.places))
    door_joins = _joined(roads, tuple((place.lng, place.lat) for place in doors))
    near = _near(_both(known_joins, door_joins), door_joins.edge)
    everybody = (*day.places, *doors)
    raw = {kind: _raw(roads, known_joins, door_joins, near, everybody, kind) for kind in day.tables}
    used = bits_met((table[3], table[4]) for table in raw.values())
    known = {charge.key: charge for charge in day.charges}
    charges = tuple(known.get(crossings()[bit].key) or charge_on(crossings()[bit], day.clock.day) for bit in used)
    return Roads(charges=charges, strips={kind: _strip(table, used, len(day.places)) for kind, table in raw.items()})


def _strip(raw: Raw, used: Sequence[int], size: int) -> RoadStrip:
    ms, metres, ferry_s, low, high = raw
    whole = {
        "metres": metres,
        "seconds": np.where(ms < 0, -1, -(-ms // 1000)),
        "charge_mask": packed(low, high, used),
        "ferry_seconds": ferry_s,
    }
    return RoadStrip(
        out={name: array[size:, :] for name, array in whole.items()},
        back={name: array[:size, size:] for name, array in whole.items()},
    )


def _raw(network: RoadNetwork, places: Joins, doors: Joins, near: Joins, everybody: Sequence[Place], kind: VehicleClass) -> Raw:
    """Return square tables of places and doors in which only rows and columns of the doors are filled."""
    from maps.travel_ladder import tables

    size, count = len(places.place_at) - 1, len(everybody)
    arcs = arcs_of(network, kind)
    ladder, rungs = rungs_of(network, kind)
    both = _both(places, doors)
    leave_places, leave_doors = (ends_of(network, some, arcs.edge_ms, leaving=True) for some in (places, doors))
    reach_all, reach_doors = (ends_of(network, some, arcs.edge_ms, leaving=False) for some in (both, doors))
    out = tables(ladder, rungs, leave_doors, reach_all, threads=1)
    back = tables(ladder, rungs, leave_places, reach_doors, threads=1)
    made = []
    for outward, inward, filler in zip(out, back, (-1, -1, 0, 0, 0), strict=True):
        table = np.full((count, count), filler, dtype=np.int64)
        table[size:, :] = outward
        table[:size, size:] = inward
        made.append(table)
    ms, metres, ferry_s, low, high = made
    raw = ms, metres, ferry_s, low, high
    take_short_ways(network, near, arcs, raw)
    add_zones(raw, np.array([place.lng for place in everybody]), np.array([place.lat for place in everybody]))
    for table in raw:
        np.fill_diagonal(table, 0)
    return raw


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
