"""
Travel: metres, seconds and charges between places, along the best path for each class of vehicle.

Seconds are those of an average working-day hour, whole and rounded up; metres and seconds belong to one and the same
path.  ``-1`` in a table means that no road or ferry leads there.
"""

import os
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from maps.crossings import bit_of, charge_on, crossings
from maps.crossings_met import bits_met, packed, zones_at
from maps.roads import RoadNetwork, in_use, name_of
from maps.roads_settings import surroundings
from maps.travel_arcs import arcs_of, ends_of
from maps.travel_joins import Joins, join
from maps.travel_path import Path, shortest
from planner.faults import NoRoad, UnknownPlace
from planner.model.crews import VehicleClass
from planner.model.places import Place
from planner.model.travel import Charge, TravelTable

if TYPE_CHECKING:
    from maps.travel_ladder import Ladder, Rungs

__all__ = ["Path", "check_on_land", "path", "travel_tables"]

Ints = npt.NDArray[np.int64]
FARTHEST_FROM_PEOPLE_M = 12_000


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
    _, _, away = surroundings().at(*_points(places))
    for place, metres in zip(places, away, strict=True):
        if metres > FARTHEST_FROM_PEOPLE_M:
            raise UnknownPlace(place.name, reason=f"lies {metres / 1000:.0f} km from the nearest address of Great Britain")


def travel_tables(
    places: Sequence[Place],
    classes: Iterable[VehicleClass],
    *,
    day: date,
    network: RoadNetwork | None = None,
    avoid_tolls: bool = False,
    older: frozenset[VehicleClass] = frozenset(),
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
        The date on which tolls and zones are priced.
    network
        The one that comes with the project when not given.
    avoid_tolls
        Whether to keep off tolled roads altogether (zones and ferries are not avoided).
    older
        Classes of vehicle of ours that pay in the low-emission zones.

    Raises
    ------
    UnknownPlace
        If a place lies in the sea, abroad or far from anybody.

    """
    roads = network or in_use()
    check_on_land(places)
    wanted = tuple(dict.fromkeys(classes))
    lng, lat = _points(places)
    raw = {each: _raw_table(roads, lng.tobytes(), lat.tobytes(), each, avoid_tolls=avoid_tolls) for each in wanted}
    used = bits_met((table[3], table[4]) for table in raw.values())
    charges = tuple(charge_on(crossings()[bit], day, older=older) for bit in used)
    return {each: _table(each, table, used) for each, table in raw.items()}, charges


def _table(vehicle_class: VehicleClass, raw: tuple[Ints, ...], used: list[int]) -> TravelTable:
    ms, metres, ferry_s, low, high = raw
    return TravelTable(
        vehicle_class=vehicle_class,
        metres=metres.astype(np.int32),
        seconds=np.where(ms < 0, -1, -(-ms // 1000)).astype(np.int32),
        charge_mask=packed(low, high, used),
        ferry_seconds=ferry_s.astype(np.int32),
    )


def _points(places: Sequence[Place]) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    lng, lat = [place.lng for place in places], [place.lat for place in places]
    return np.array(lng, dtype=np.float64), np.array(lat, dtype=np.float64)  # a plan read from JSON may say 52 for 52.0


@lru_cache(maxsize=16)
def _raw_table(
    network: RoadNetwork, lng_raw: bytes, lat_raw: bytes, vehicle_class: VehicleClass, *, avoid_tolls: bool
) -> tuple[Ints, ...]:
    """Return ms, metres, ferry seconds and the halves of the mask, kept for the last few sets of places by their content."""
    from maps.travel_ladder import tables

    lng, lat = np.frombuffer(lng_raw), np.frombuffer(lat_raw)
    count = len(lng)
    if not count:
        return tuple(np.full((0, 0), -1, dtype=np.int64) for _ in range(5))
    arcs = arcs_of(network, vehicle_class, avoid_tolls=avoid_tolls)
    joins = join(network, lng, lat)
    leave, arrive = (ends_of(network, joins, arcs.edge_ms, leaving=leaving) for leaving in (True, False))
    ladder, rungs = rungs_of(network, vehicle_class, avoid_tolls=avoid_tolls)
    raw = tables(ladder, rungs, leave, arrive, threads=os.cpu_count() or 1)
    take_short_ways(network, joins, arcs.edge_ms, raw)
    add_zones(raw, zones_at(lng, lat))
    stay_put(lng, lat, raw)
    return raw


@lru_cache(maxsize=4)
def ladder_of(network: RoadNetwork) -> "Ladder":
    """Return the ladder of a network, in the order kept with it or one found now."""
    from maps.roads_order import order
    from maps.travel_ladder import build

    rank = network.rank.astype(np.int64) if len(network.rank) else order(network)
    return build(rank, network.tail.astype(np.int64), network.head.astype(np.int64))


@lru_cache(maxsize=8)
def rungs_of(network: RoadNetwork, vehicle_class: VehicleClass, *, avoid_tolls: bool = False) -> "tuple[Ladder, Rungs]":
    """Return the ladder of a network with what its rungs cost a class of vehicle."""
    from maps.travel_ladder import weigh, weigh_as

    ladder, name = ladder_of(network), name_of(network)
    if not name:
        return ladder, weigh(ladder, arcs_of(network, vehicle_class, avoid_tolls=avoid_tolls))
    full = f"{name}-{vehicle_class}{'-without-tolls' * avoid_tolls}"
    return ladder, weigh_as(full, ladder, lambda: arcs_of(network, vehicle_class, avoid_tolls=avoid_tolls))


def add_zones(raw: tuple[Ints, ...], zones_of: tuple[Ints, Ints]) -> None:
    """Let every way that begins or ends in a charging zone (both halves of the mask, by place) meet it, in square tables."""
    reached = raw[0] >= 0
    for table, zones in zip(raw[3:], zones_of, strict=True):
        table[...] |= np.where(reached, zones[:, None] | zones[None, :], 0)


def stay_put(lng: npt.NDArray[np.float64], lat: npt.NDArray[np.float64], raw: tuple[Ints, ...]) -> None:
    """Let there be no way between places at one and the same point, in square tables."""
    _, point = np.unique(np.stack([lng, lat], axis=1), axis=0, return_inverse=True)
    together = point.ravel()[:, None] == point.ravel()[None, :]
    for table in raw:
        table[together] = 0


def take_short_ways(network: RoadNetwork, joins: Joins, edge_ms: Ints, raw: tuple[Ints, ...]) -> None:
    """Let two places that join the same edge meet along it, without going to its end; ``edge_ms`` is -1 where it is barred."""
    ms, metres, ferry_s, low, high = raw
    place = np.repeat(np.arange(len(joins.place_at) - 1), np.diff(joins.place_at))
    order = np.argsort(joins.edge, kind="stable")
    for group in np.split(order, np.flatnonzero(np.diff(joins.edge[order])) + 1):
        if len(group) < 2:
            continue
        edge = joins.edge[group[0]]
        if edge_ms[edge] < 0:
            continue
        gap = joins.share[group][None, :] - joins.share[group][:, None]
        here = np.round(np.abs(gap) * edge_ms[edge]).astype(np.int64)
        here += joins.away_ms[group][:, None] + joins.away_ms[group][None, :]
        far = np.round(np.abs(gap) * network.metres[edge]).astype(np.int64)
        far += joins.away_m[group][:, None] + joins.away_m[group][None, :]
        cells = np.ix_(place[group], place[group])
        better = ((ms[cells] < 0) | (here < ms[cells])) & ((gap >= 0) | ~network.one_way[edge])
        for table, value in ((ms, here), (metres, far), (ferry_s, 0), (low, 0), (high, 0)):
            table[cells] = np.where(better, value, table[cells])


def path(
    origin: Place,
    destination: Place,
    vehicle_class: VehicleClass = VehicleClass.CAR,
    *,
    day: date | None = None,
    network: RoadNetwork | None = None,
    avoid_tolls: bool = False,
    height_mm: int = 0,
    width_mm: int = 0,
    mass_kg: int = 0,
    is_older: bool = False,
) -> Path:
    """
    Return the best path from one place to another, with its line, the roads it takes and the charges it meets.

    The best is the quickest but for a little that every metre counts (:data:`maps.travel_arcs.MS_A_METRE`).

    ``height_mm``, ``width_mm`` and ``mass_kg`` keep it off roads signed for less, where the network knows.  A vehicle that
    ``is_older``, missing petrol Euro 4 or diesel Euro 6, pays in the low-emission zones.

    Raises
    ------
    NoRoad
        If none leads there, or none for a vehicle so high, wide or heavy.
    UnknownPlace
        If a place lies in the sea, abroad or far from anybody.

    """
    roads = network or in_use()
    check_on_land((origin, destination))
    arcs = arcs_of(roads, vehicle_class, avoid_tolls=avoid_tolls, height_mm=height_mm, width_mm=width_mm, mass_kg=mass_kg)
    try:
        found = shortest(roads, arcs, origin, destination, vehicle_class, day)
    except NoRoad as fault:
        if height_mm or width_mm or mass_kg:
            shortest(roads, arcs_of(roads, vehicle_class, avoid_tolls=avoid_tolls), origin, destination, vehicle_class, day)
            size = size_text(height_mm, width_mm, mass_kg)
            raise NoRoad(fault.origin, fault.destination, f"every way there has a sign that bars a vehicle {size}") from fault
        raise
    if not is_older or day is None:
        return found
    older = frozenset({vehicle_class})
    return replace(found, charges=tuple(charge_on(crossings()[bit_of()[each.key]], day, older=older) for each in found.charges))


def size_text(height_mm: int, width_mm: int, mass_kg: int) -> str:
    """Return what is known of a vehicle's size in words: ``3.40 m high and 2.50 m wide``."""
    told = [f"{mm / 1000:.2f} m {said}" for mm, said in ((height_mm, "high"), (width_mm, "wide")) if mm]
    return " and ".join([*told, *([f"of {mass_kg / 1000:g} t"] if mass_kg else [])])
