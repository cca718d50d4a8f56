"""Rig parts: what rigs of both kinds are made from: travel, wages, classes of driver by pin, and arrays over tasks and hubs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from planner.model.crews import Driver
from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.places import PlaceId
from planner.model.rates import Wage
from planner.model.travel import ChargeKind
from planner.runs.costing import wage_of
from planner.runs.crew_fit import COVERS
from planner.runs.driven_legs import Vehicle
from planner.runs.leg_prices import least_pence
from planner.search.crew_classes import DriverClass
from planner.search.hours_floor import FULL_DAY_MIN
from planner.search.labels import FAR
from planner.search.rig import Floats, Ints, Option
from planner.search.tasks import Task

MOST_ZONES = 6


@dataclass(frozen=True, kw_only=True, slots=True)
class Arcs:
    """Travel between all places of the day for one way of moving; rows from, columns to."""

    minutes: Ints
    drive: Ints
    pence: Floats
    kg_pence: Floats
    zones: Ints
    zone_pence: Floats


def _pinned(day: Day, classes: Sequence[DriverClass]) -> dict[int, str]:
    """Return the classes of one driver to whom moves are pinned."""
    names = {move.pinned_driver for move in day.moves}
    return {rank: item.one.driver_id for rank, item in enumerate(classes) if item.one.driver_id in names}


def groups(day: Day, classes: Sequence[DriverClass], ranks: Sequence[int]) -> Iterator[tuple[str | None, list[int]]]:
    """Yield the driver that pins may speak of, with the classes meant: each pinned driver alone, the others together."""
    pinned = _pinned(day, classes)
    for rank in ranks:
        if rank in pinned:
            yield pinned[rank], [rank]
    if others := [rank for rank in ranks if rank not in pinned]:
        yield None, others


def does(tasks: Sequence[Task], move: MoveId | None) -> bool:
    """Return whether there are tasks, and the move is among them if one is named."""
    return any(move is None or move in task.moves for task in tasks)


def all_may_stay_out(day: Day, drivers: Sequence[Driver]) -> bool:
    """Return whether nights out are allowed and these drivers may all take one."""
    return day.policy.nights_out and all(driver.may_stay_out for driver in drivers)


def nights_of(day: Day) -> tuple[int, ...]:
    """Return how many nights out a run of the day may have."""
    return (0, 1) if day.policy.nights_out else (0,)


def holds(driver: Driver, needed: str) -> bool:
    """Return whether a driver has a licence, or one that covers it."""
    return any(needed in COVERS.get(licence, {licence}) for licence in driver.licences)


def arcs_for(day: Day, vehicle: Vehicle, pence: Floats, kg_pence: Floats) -> Arcs:
    """Return the travel of a vehicle at these prices of a leg, empty and for each kilogram aboard."""
    table = day.tables[vehicle.vehicle_class]
    drive = -(-(table.seconds.astype(np.int64) - table.ferry_seconds) * (100 + day.policy.reserve_percent) // 6000)
    minutes = drive + -(-table.ferry_seconds.astype(np.int64) // 60)
    no_road = (table.seconds < 0) | (table.metres < 0)
    minutes[no_road] = FAR
    drive[no_road] = FAR
    zones, zone_pence = _zones(day, vehicle, table.charge_mask)
    money = [np.where(no_road, 0.0, pence), np.where(no_road, 0.0, kg_pence)]
    found = [minutes.astype(np.int32), drive.astype(np.int32), *money, zones]
    for array in found:
        np.fill_diagonal(array, 0)
    return Arcs(minutes=found[0], drive=found[1], pence=found[2], kg_pence=found[3], zones=found[4], zone_pence=zone_pence)


def _zones(day: Day, vehicle: Vehicle, mask: np.ndarray) -> tuple[Ints, Floats]:
    """Return which priced zones each leg meets, as bits, and what each set of bits costs at least."""
    priced = [(least_pence(charge, vehicle), bit) for bit, charge in enumerate(day.charges) if charge.kind is ChargeKind.ZONE]
    kept = sorted((item for item in priced if item[0] > 0), reverse=True)[:MOST_ZONES]
    zones = np.zeros(mask.shape, np.int32)
    for rank, (_, bit) in enumerate(kept):
        zones |= (((mask >> bit) & 1) << rank).astype(np.int32)
    prices = [sum(amount for rank, (amount, _) in enumerate(kept) if subset >> rank & 1) for subset in range(1 << len(kept))]
    return zones, np.array(prices, float)


def wage_by_minute(day: Day, drivers: Sequence[Driver]) -> tuple[Floats, float]:
    """Return what the drivers earn by minute of duty, and the least slope of it."""
    return _earned(tuple(wage_of(day, driver) for driver in drivers), is_weekend=day.rates.is_weekend)


@lru_cache(maxsize=64)
def _earned(wages: tuple[Wage, ...], *, is_weekend: bool) -> tuple[Floats, float]:
    minutes = np.arange(FULL_DAY_MIN)
    total, slope = np.zeros(FULL_DAY_MIN), 0.0
    for wage in wages:
        rate = float(wage.pence_per_hour) / 60 * (float(wage.weekend_factor) if is_weekend else 1.0)
        over = np.maximum(0, minutes - wage.overtime_after_min)
        total += rate * np.maximum(minutes, wage.minimum_shift_min) + rate * (float(wage.overtime_factor) - 1) * over
        slope += rate * min(1.0, float(wage.overtime_factor))
    total.setflags(write=False)  # everybody is told the same
    return total, slope


def by_night(options: Sequence[Option]) -> str:
    """Return what the name of a rig says of a night out."""
    return ", with a night out" if options[0].rest_min else ""


def night_pence(day: Day, people: int) -> float:
    """Return what a night out costs, less what rounding may take off its line."""
    return float(day.rates.night_out_pence) * people - 0.5


def ints(first: Sequence[int], then: Sequence[int] | Ints) -> Ints:
    """Return figures of tasks, then of hubs, as one array."""
    return np.array([*first, *then], np.int32)


def shared_arrays(
    day: Day, tasks: tuple[Task, ...], hubs: Sequence[PlaceId], start: PlaceId, arcs: Arcs, options: Sequence[Option],
    walk_min: int,
) -> dict[str, Any]:  # fmt: skip
    """Return the arrays that both kinds of rig share."""
    first = np.array([day.place_index[place] for place in (*(task.first for task in tasks), *hubs, start)])
    last = np.array([day.place_index[place] for place in (*(task.last for task in tasks), *hubs, start)])
    cell = (last[None, :], first[:, None])  # the earlier place is a column
    took = arcs.minutes[cell].astype(np.int32)
    earliest = min(option.from_min + option.before_min for option in options)
    customers = {task.moves[0]: rank for rank, task in enumerate(tasks)}
    customer = ints([customers[task.moves[0]] for task in tasks], [])
    work = ints([task.work_min for task in tasks], [])
    reach = np.minimum(earliest + walk_min + soonest(took, work), FAR)
    ends = np.maximum(ints([task.ends_from_min for task in tasks], []), reach[: len(tasks)] + work)
    return {
        "tasks": tasks, "took": took, "drove": arcs.drive[cell].astype(np.int32), "cost": arcs.pence[cell].astype(float),
        "kg_cost": arcs.kg_pence[cell].astype(float), "zones": arcs.zones[cell].astype(np.int32), "zone_pence": arcs.zone_pence,
        "ends_from": ends.astype(np.int32), "work": work, "drive_in": ints([task.drive_min for task in tasks], []),
        "mass_in": ints([task.kg_in for task in tasks], []), "mass_back": ints([task.kg_back for task in tasks], []),
        "customer": customer, "reach": reach,
    }  # fmt: skip


def soonest(took: Ints, work: Ints, start: int = -1) -> npt.NDArray[np.int64]:
    """Return the least minutes from the start to each task and hub, by way of others where that is quicker or the only way."""
    leaving = took[:, start].astype(np.int64)
    after = np.zeros(len(took), np.int64)
    after[: len(work)] = work
    while True:
        sooner = np.minimum(leaving, (took + (leaving + after)[None, :]).min(axis=1))
        if (sooner == leaving).all():
            return leaving[:-1]
        leaving = sooner
