"""
Rig making: from a day to the rigs that can run it, in the order of its transporters and drivers.

Figures that decide legality here are floors of the law: driving and work limits, and the least break time owed for the
driving and the work of a whole day, so that no legal run is missed; every run that enters a plan is timed exactly.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from planner.model.crews import Driver, Transporter, VehicleClass
from planner.model.day import Day
from planner.model.moves import MoveId, MoveKind
from planner.model.places import PlaceId, Window
from planner.model.rates import Wage
from planner.model.travel import ChargeKind
from planner.runs.costing import fuel_pence, running_cost, wage_of
from planner.runs.crew_fit import COVERS, driven_class
from planner.runs.driven_legs import Vehicle, support_car, vehicle_of_sold_car, vehicle_of_transporter
from planner.runs.leg_prices import LegPrices, least_pence
from planner.runs.run import RunKind
from planner.search.crew_classes import DriverClass, TransporterType
from planner.search.hours_floor import (
    FULL_DAY_MIN,
    Limits,
    Owed,
    light_limits,
    light_owed,
    plate_limits,
    plate_owed,
    transporter_limits,
    transporter_owed,
)
from planner.search.labels import FAR
from planner.search.rig import ROUNDING_PENCE, Floats, Ints, Option, Rig, near_sets
from planner.search.tasks import NEVER_CLOSES, NEVER_OPENS, Task, carried_tasks, driven_tasks

MOST_HUBS = 15  # four bits each in a label
MOST_ZONES = 6
NEAR = 10


@dataclass(frozen=True, kw_only=True, slots=True)
class Arcs:
    """Travel between all places of the day for one way of moving; rows from, columns to."""

    minutes: Ints
    drive: Ints
    pence: Floats
    kg_pence: Floats
    zones: Ints
    zone_pence: Floats


def rigs_of(
    day: Day, classes: Sequence[DriverClass], types: Sequence[TransporterType], *, doing: MoveId | None = None
) -> tuple[Rig, ...]:
    """Return every rig of the day that has a crew and a task, or only those that may be ``doing`` one move."""
    made = [*_transporter_rigs(day, classes, types, doing), *_plate_rigs(day, classes, doing)]
    return tuple(rig for rig in made if rig.tasks and rig.options and rig.last_min > rig.earliest)


def _pinned(day: Day, classes: Sequence[DriverClass]) -> dict[int, str]:
    """Return the classes of one driver to whom moves are pinned."""
    names = {move.pinned_driver for move in day.moves}
    return {rank: item.one.driver_id for rank, item in enumerate(classes) if item.one.driver_id in names}


def _groups(day: Day, classes: Sequence[DriverClass], ranks: Sequence[int]) -> Iterator[tuple[str | None, list[int]]]:
    """Yield the driver that pins may speak of, with the classes meant: each pinned driver alone, the others together."""
    pinned = _pinned(day, classes)
    for rank in ranks:
        if rank in pinned:
            yield pinned[rank], [rank]
    if others := [rank for rank in ranks if rank not in pinned]:
        yield None, others


def _does(tasks: Sequence[Task], move: MoveId | None) -> bool:
    """Return whether there are tasks, and the move is among them if one is named."""
    return any(move is None or move in task.moves for task in tasks)


def _transporter_rigs(
    day: Day, classes: Sequence[DriverClass], types: Sequence[TransporterType], doing: MoveId | None
) -> Iterator[Rig]:
    for number, kind in enumerate(types):
        one = kind.one
        fits = [
            rank for rank, item in enumerate(classes)
            if item.one.pinned_transporter in (None, one.transporter_id) and _holds(item.one, one.licence)
        ]  # fmt: skip
        arcs = _transporter_arcs(day, one)
        for driver, ranks in _groups(day, classes, fits):
            tasks = tuple(carried_tasks(day, one, driver))
            for nights in (0, 1) if _does(tasks, doing) else ():
                found = {rank: _transporter_option(day, one, classes[rank].one, rank, nights=nights) for rank in ranks}
                options = tuple(option for option in found.values() if option is not None)
                people = sum(len(classes[rank].drivers) for rank, option in found.items() if option is not None)
                if options:
                    yield _transporter_rig(day, one, number, tasks, options, arcs, min(len(kind.transporters), people))


def _may_stay_out(day: Day, drivers: Sequence[Driver]) -> bool:
    return day.policy.nights_out and all(driver.may_stay_out for driver in drivers)


def _holds(driver: Driver, needed: str) -> bool:
    return any(needed in COVERS.get(licence, {licence}) for licence in driver.licences)


def _transporter_arcs(day: Day, one: Transporter) -> Arcs:
    vehicle = vehicle_of_transporter(one)
    prices = LegPrices.of(day, vehicle)
    return _arcs(day, vehicle, prices.empty_pence + prices.passage_pence, prices.kg_pence)


def _arcs(day: Day, vehicle: Vehicle, pence: Floats, kg_pence: Floats) -> Arcs:
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


def _wage(day: Day, drivers: Sequence[Driver]) -> tuple[Floats, float]:
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


def _transporter_option(day: Day, one: Transporter, driver: Driver, rank: int, *, nights: int) -> Option | None:
    row, column = day.place_index[driver.starts_at], day.place_index[one.base]
    there, back = (0, 0) if row == column else (int(day.rides.minutes[row, column]), int(day.rides.minutes[column, row]))
    if there < 0 or back < 0:
        return None
    fares = 0 if row == column else int(day.rides.fare_pence[row, column] + day.rides.fare_pence[column, row])
    limits = transporter_limits(one, driver, nights=nights)
    if limits is None or (nights and not _may_stay_out(day, [driver])):
        return None
    wage, slope = _wage(day, [driver])
    day_pence = float(running_cost(day, one.vehicle_class).day_pence)
    return Option(
        classes=(rank,), from_min=limits.from_min, home_min=limits.home_min, before_min=there, after_min=back,
        fixed_pence=fares + day_pence + nights * _night_pence(day, 1) - ROUNDING_PENCE, wage=wage, slope=slope,
        drive_limit=limits.drive_min, work_limit=limits.work_min, span_limit=limits.span_min, rest_min=nights * limits.rest_min,
    )  # fmt: skip


def _by_night(options: Sequence[Option]) -> str:
    return ", with a night out" if options[0].rest_min else ""


def _night_pence(day: Day, people: int) -> float:
    """Return what a night out costs, less what rounding may take off its line."""
    return float(day.rates.night_out_pence) * people - 0.5


def _hubs(tasks: Sequence[Task]) -> list[tuple[PlaceId, Window]]:
    found = dict.fromkeys(hub for task in tasks for hub in (task.from_hub, task.to_hub) if hub is not None)
    return sorted(found, key=lambda hub: (hub[0], hub[1].opens_min, hub[1].closes_min))


def _transporter_rig(
    day: Day, one: Transporter, number: int, tasks: tuple[Task, ...], options: tuple[Option, ...], arcs: Arcs, most: int
) -> Rig:
    hubs, relaxed = _hubs(tasks), []
    if len(hubs) > MOST_HUBS:
        tasks, hubs = _with_fewer_hubs(tasks)
        relaxed.append("hours at which single cars can be loaded")
    index = {hub: rank for rank, hub in enumerate(hubs)}
    extra = _carry_pence(day, arcs, tasks)
    base = _base(day, tasks, [hub[0] for hub in hubs], one.base, arcs, options, day.policy.walk_round_min)
    heaviest = sorted((max(task.kg_in, task.kg_back) for task in tasks), reverse=True)[: one.slots]
    hub_opens = np.array([window.opens_min for _, window in hubs], np.int32)
    from_hub = _ints([index[task.from_hub] if task.from_hub else -1 for task in tasks], [])
    reach = _by_their_hubs(base["took"], base["work"], base["reach"], from_hub, hub_opens, one.load_min)
    base["reach"] = reach.astype(np.int32)
    base["ends_from"] = np.maximum(base["ends_from"], reach[: len(tasks)] + base["work"]).astype(np.int32)
    return Rig(
        name=one.name + _by_night(options),
        kind=RunKind.TRANSPORTER, is_followed=False, transporter_type=number, plate_base=None, most_runs=most,
        hub_places=tuple(hub[0] for hub in hubs), start=one.base, options=options, node_cost=np.array(extra),
        opens=_ints([task.opens_min for task in tasks], hub_opens),
        may_start=np.maximum(_ints([task.may_start_min for task in tasks], hub_opens), reach).astype(np.int32),
        closes=_ints([task.closes_min for task in tasks], [window.closes_min - 1 for _, window in hubs]),
        unload=_ints([task.unload_min for task in tasks], []),
        takes_load=_ints([1 if task.from_hub else 0 for task in tasks], []),
        takes_back=_ints([1 if task.to_hub else 0 for task in tasks], []),
        from_hub=from_hub,
        to_hub=_ints([index[task.to_hub] if task.to_hub else -1 for task in tasks], []),
        is_dropped_at=np.array([any(task.to_hub == hub for task in tasks) for hub in hubs], np.bool_),
        load_min=one.load_min, slots=one.slots, payload_kg=one.payload_kg, is_loose=sum(heaviest) <= one.payload_kg,
        keeps_load=False, walk_min=day.policy.walk_round_min, end_min=day.policy.end_of_day_min,
        owed=transporter_owed(one), relaxed=tuple(relaxed), **base,
    )  # fmt: skip


def _with_fewer_hubs(tasks: tuple[Task, ...]) -> tuple[tuple[Task, ...], list[tuple[PlaceId, Window]]]:
    """Return tasks whose hubs stand for a place at any hour, and only those of the most used places."""
    from collections import Counter
    from dataclasses import replace

    always = Window(opens_min=NEVER_OPENS, closes_min=NEVER_CLOSES)
    wide = [
        replace(task, from_hub=task.from_hub and (task.from_hub[0], always), to_hub=task.to_hub and (task.to_hub[0], always))
        for task in tasks
    ]
    used = Counter(hub for task in wide for hub in (task.from_hub, task.to_hub) if hub is not None)
    kept = {hub for hub, _ in sorted(used.items(), key=lambda item: (-item[1], item[0][0]))[:MOST_HUBS]}
    left = tuple(task for task in wide if {task.from_hub, task.to_hub} - {None} <= kept)
    return left, _hubs(left)


def _ints(first: Sequence[int], then: Sequence[int] | Ints) -> Ints:
    return np.array([*first, *then], np.int32)


def _carry_pence(day: Day, arcs: Arcs, tasks: Sequence[Task]) -> list[float]:
    """Return for each task the least extra fuel for carrying its collected car to where it is left."""
    least_to: dict[PlaceId, Floats] = {}
    found = []
    for task in tasks:
        if task.to_hub is None or not task.kg_back:
            found.append(0.0)
            continue
        hub = task.to_hub[0]
        if hub not in least_to:
            least_to[hub] = _least_kg_pence_to(arcs, day.place_index[hub])
        least = least_to[hub][day.place_index[task.last]]
        found.append(float(least) * task.kg_back * 0.98 if np.isfinite(least) else 0.0)
    return found


def _least_kg_pence_to(arcs: Arcs, column: int) -> Floats:
    """Return the least pence that a kilogram costs from each place to one, by way of others where that is less."""
    away = arcs.kg_pence[:, column].copy()
    away[arcs.minutes[:, column] >= FAR] = np.inf
    ways = np.where(arcs.minutes >= FAR, np.inf, arcs.kg_pence)
    for _ in range(4):
        shorter = np.minimum(away, (ways + away[None, :]).min(axis=1))
        if np.allclose(shorter, away):
            break
        away = shorter
    return away


def _base(
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
    customer = _ints([customers[task.moves[0]] for task in tasks], [])
    work = _ints([task.work_min for task in tasks], [])
    reach = np.minimum(earliest + walk_min + soonest(took, work), FAR)
    ends = np.maximum(_ints([task.ends_from_min for task in tasks], []), reach[: len(tasks)] + work)
    return {
        "tasks": tasks, "took": took, "drove": arcs.drive[cell].astype(np.int32), "cost": arcs.pence[cell].astype(float),
        "kg_cost": arcs.kg_pence[cell].astype(float), "zones": arcs.zones[cell].astype(np.int32), "zone_pence": arcs.zone_pence,
        "ends_from": ends.astype(np.int32), "work": work, "drive_in": _ints([task.drive_min for task in tasks], []),
        "mass_in": _ints([task.kg_in for task in tasks], []), "mass_back": _ints([task.kg_back for task in tasks], []),
        "customer": customer, "near": near_sets(took, len(tasks), customer, NEAR), "reach": reach,
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


def _by_their_hubs(
    took: Ints, work: Ints, reach: npt.NDArray[np.int64], from_hub: Ints, hub_opens: Ints, load_min: int
) -> npt.NDArray[np.int64]:
    """Return when tasks and hubs are reached at the soonest, each delivery only after its car was loaded at its hub."""
    later, tasks = reach.copy(), len(work)
    for hub, opens_min in enumerate(hub_opens):
        its = np.flatnonzero(from_hub == hub)
        leaves_min = max(int(opens_min), int(reach[tasks + hub])) + load_min
        later[its] = np.maximum(later[its], leaves_min + soonest(took, work, tasks + hub)[its])
    return np.minimum(later, FAR)


class _OnPlates:
    """What the rigs of plate runs of one day have in common, worked out once."""

    def __init__(self, day: Day, classes: Sequence[DriverClass]) -> None:
        self.day, self.classes = day, classes
        self._tasks: dict[str | None, tuple[Task, ...]] = {}
        self._move_pence: dict[MoveId, float] = {}
        self._limits: dict[tuple[bool, int], list[Limits | None]] = {}

    @cached_property
    def ride_arcs(self) -> Arcs:
        """The ways of drivers without a support car."""
        return _ride_arcs(self.day)

    @cached_property
    def owed(self) -> Owed:
        """The breaks owed by who drives no van."""
        return plate_owed(self.day.policy)

    @cached_property
    def support_arcs(self) -> Arcs:
        """The ways of a support car."""
        return _support_arcs(self.day)

    def tasks(self, driver: str | None) -> tuple[Task, ...]:
        """Return what a driver of that name, or any of none, may do."""
        if driver not in self._tasks:
            self._tasks[driver] = tuple(driven_tasks(self.day, driver))
        return self._tasks[driver]

    def move_pence(self, move: MoveId) -> float:
        """Return the least that a move costs when its car is driven."""
        if move not in self._move_pence:
            self._move_pence[move] = driven_move_pence(self.day, move)
        return self._move_pence[move]

    def limits(self, rank: int, *, drives_van: bool, nights: int) -> Limits | None:
        """Return what a driver of a class may still do."""
        if (drives_van, nights) not in self._limits:
            drivers = [item.one for item in self.classes]
            self._limits[drives_van, nights] = [
                light_limits(driver, nights=nights) if drives_van else plate_limits(self.day.policy, driver, nights=nights)
                for driver in drivers
            ]
        return self._limits[drives_van, nights][rank]


def _plate_rigs(day: Day, classes: Sequence[DriverClass], doing: MoveId | None) -> Iterator[Rig]:
    able = [
        rank for rank, item in enumerate(classes)
        if item.one.may_drive_plates and item.one.pinned_transporter is None and _holds(item.one, "B")
    ]  # fmt: skip
    shared = _OnPlates(day, classes)
    for start, base in dict.fromkeys((classes[rank].one.starts_at, classes[rank].one.base) for rank in able):
        ranks = [rank for rank in able if (classes[rank].one.starts_at, classes[rank].one.base) == (start, base)]
        for driver, group in _groups(day, classes, ranks):
            compound = day.compound_of.get(base)
            sets = compound.plate_sets if compound else 0
            most = min(sets, sum(len(classes[rank].drivers) for rank in group))
            tasks = shared.tasks(driver)
            vans = sum(_has_van(day, task) for task in tasks)
            cars = tuple(task for task in tasks if not _has_van(day, task))
            for some, runs, drives_van in ((cars, most, False), (tasks, min(most, vans), True)):
                if not _does(some, doing) or runs <= 0:
                    continue
                for nights in (0, 1):
                    options = tuple(_singles(shared, group, drives_van=drives_van, nights=nights))
                    if options:
                        yield _plate_rig(shared, start, base, some, options, runs, is_followed=False, drives_van=drives_van)
                    pairs = tuple(_pairs(shared, group, start, drives_van=drives_van, nights=nights))
                    if pairs and day.policy.support_car_allowed:
                        yield _plate_rig(shared, start, base, some, pairs, runs, is_followed=True, drives_van=drives_van)


def _has_van(day: Day, task: Task) -> bool:
    return any(day.move_of[move].car.is_van for move in task.moves)


def _singles(shared: _OnPlates, group: Sequence[int], *, drives_van: bool, nights: int) -> Iterator[Option]:
    for rank in group:
        option = _plate_option(shared, (rank,), drives_van=drives_van, nights=nights)
        if option is not None:
            yield option


def _pairs(
    shared: _OnPlates, group: Sequence[int], start: PlaceId, *, drives_van: bool, nights: int
) -> Iterator[Option]:
    beside = [
        rank for rank, item in enumerate(shared.classes) if item.one.starts_at == start and _holds(item.one, "B")
    ]  # fmt: skip
    for first in group:
        for second in beside:
            if second != first or len(shared.classes[first].drivers) > 1:
                option = _plate_option(shared, (first, second), drives_van=drives_van, nights=nights)
                if option is not None:
                    yield option


def _plate_option(shared: _OnPlates, ranks: tuple[int, ...], *, drives_van: bool, nights: int) -> Option | None:
    day, drivers = shared.day, [shared.classes[rank].one for rank in ranks]
    found = [shared.limits(rank, drives_van=drives_van, nights=nights) for rank in ranks]
    limits = [item for item in found if item is not None]
    if len(limits) < len(drivers) or (nights and not _may_stay_out(day, drivers)):
        return None
    wage, slope = _wage(day, drivers)
    extra = float(running_cost(day, VehicleClass.CAR).day_pence) if len(drivers) > 1 else 0.0
    extra += nights * _night_pence(day, len(drivers))
    return Option(
        classes=ranks, from_min=max(item.from_min for item in limits), home_min=min(item.home_min for item in limits),
        before_min=0, after_min=0, fixed_pence=float(day.rates.plate_day_pence) + extra - ROUNDING_PENCE, wage=wage,
        slope=slope, drive_limit=min(item.drive_min for item in limits), work_limit=min(item.work_min for item in limits),
        span_limit=min(item.span_min for item in limits), rest_min=nights * max(item.rest_min for item in limits),
    )  # fmt: skip


def _ride_arcs(day: Day) -> Arcs:
    minutes = np.where(day.rides.minutes < 0, FAR, day.rides.minutes).astype(np.int32)
    pence = np.where(day.rides.minutes < 0, 0, day.rides.fare_pence).astype(float)
    np.fill_diagonal(minutes, 0)
    np.fill_diagonal(pence, 0)
    none = np.zeros(minutes.shape, np.int32)
    return Arcs(minutes=minutes, drive=none, pence=pence, kg_pence=none.astype(float), zones=none, zone_pence=np.zeros(1))


def _support_arcs(day: Day) -> Arcs:
    prices = LegPrices.of(day, support_car())
    return _arcs(day, support_car(), prices.empty_pence + prices.passage_pence, np.zeros_like(prices.kg_pence))


def _plate_rig(
    shared: _OnPlates, start: PlaceId, base: PlaceId, tasks: tuple[Task, ...], options: tuple[Option, ...], most: int,
    *, is_followed: bool, drives_van: bool,
) -> Rig:  # fmt: skip
    """Return the rig of plate runs; one that ``drives_van`` falls under the book of goods vehicles up to 3.5 t."""
    day, follow = shared.day, shared.support_arcs if is_followed else None
    base_arrays = _base(day, tasks, (), start, follow or shared.ride_arcs, options, 0)
    reach = base_arrays["reach"] = base_arrays["reach"].astype(np.int32)
    cost = [_driven_pence(shared, task, follow) for task in tasks]
    none = np.zeros(len(tasks), np.int32)
    return Rig(
        name=f"{'Support car' if is_followed else 'Plates'} from {day.place_of[start].name}{_by_night(options)}",
        kind=RunKind.PLATE,
        one_of=frozenset(rank for rank, task in enumerate(tasks) if drives_van and _has_van(day, task)),
        is_followed=is_followed, transporter_type=-1, plate_base=base, most_runs=most, hub_places=(), start=start,
        options=options, node_cost=np.array(cost), opens=_ints([task.opens_min for task in tasks], []),
        may_start=np.maximum(_ints([task.may_start_min for task in tasks], []), reach).astype(np.int32),
        closes=_ints([task.closes_min for task in tasks], []), unload=none,
        takes_load=_ints([len(task.moves) for task in tasks], []), takes_back=none, from_hub=none - 1, to_hub=none - 1,
        is_dropped_at=np.zeros(1, np.bool_), load_min=0, slots=day.policy.driven_moves_a_shift, payload_kg=0, is_loose=True,
        keeps_load=True, walk_min=0, end_min=0, owed=light_owed() if drives_van else shared.owed, **base_arrays,
    )  # fmt: skip


def _driven_pence(shared: _OnPlates, task: Task, follow: Arcs | None) -> float:
    """Return what driving the task's cars costs: fuel, fall in value, passages, cleaning, and the car that follows."""
    total = 0.0
    for move_id in task.moves:
        total += shared.move_pence(move_id)
        if follow is not None:
            move, index = shared.day.move_of[move_id], shared.day.place_index
            total += float(follow.pence[index[move.origin], index[move.destination]])
    return total


def driven_move_pence(day: Day, move_id: MoveId) -> float:
    """Return the least that one move costs when its car is driven, wages and plates not counted, unrounded."""
    move, vehicle = day.move_of[move_id], vehicle_of_sold_car(day, move_id)
    table = day.tables[driven_class(move)]
    cell = day.place_index[move.origin], day.place_index[move.destination]
    metres, drive_s = int(table.metres[cell]), int(table.seconds[cell] - table.ferry_seconds[cell])
    total = float(day.rates.revalet_pence) if move.kind is MoveKind.DELIVERY else 0.0
    if cell[0] == cell[1] or metres < 0:
        return total
    kmh = metres / drive_s * 3.6 if drive_s > 0 else 0.0
    if drive_s > 0:
        total += metres / 1000 * vehicle.curve.per_km(kmh) * float(fuel_pence(day, vehicle.fuel))
    total += metres / 1000 * float(day.rates.value_fall_pence_per_km)
    mask = int(table.charge_mask[cell])
    total += sum(least_pence(charge, vehicle) for bit, charge in enumerate(day.charges) if mask >> bit & 1)
    return total - ROUNDING_PENCE / 2  # its own lines are rounded too
