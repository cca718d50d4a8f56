"""Plate rigs: drivers who start together, alone or with a support car that follows, and what they may drive on plates."""

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np

from planner.model.day import Day
from planner.model.moves import MoveId, MoveKind
from planner.model.places import PlaceId
from planner.runs.costing import fuel_pence
from planner.runs.crew_fit import driven_class
from planner.runs.driven_legs import support_car, vehicle_of_sold_car
from planner.runs.leg_prices import LegPrices, least_pence
from planner.runs.run import RunKind
from planner.search.crew_classes import DriverClass
from planner.search.hours_floor import Owed, light_owed, plate_owed
from planner.search.labels import FAR
from planner.search.plate_crews import PlateCrews
from planner.search.rig import ROUNDING_PENCE, Option, Rig
from planner.search.rig_parts import (
    Arcs,
    arcs_for,
    by_night,
    does,
    groups,
    holds,
    ints,
    nights_of,
    shared_arrays,
)
from planner.search.tasks import Task, driven_tasks


class _OnPlates:
    """What the rigs of plate runs of one day have in common, worked out once."""

    def __init__(self, day: Day) -> None:
        self.day = day
        self._tasks: dict[str | None, tuple[Task, ...]] = {}
        self._move_pence: dict[MoveId, float] = {}

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
            self._move_pence[move] = _driven_move_pence(self.day, move)
        return self._move_pence[move]


def plate_rigs(
    day: Day, classes: Sequence[DriverClass], doing: MoveId | None, crews: PlateCrews | None = None
) -> Iterator[Rig]:
    """
    Yield the rigs of drivers on plates, by day and by night, or only those that may be ``doing`` one move.

    ``crews`` are those of these classes, where they are known already.
    """
    able = [
        rank for rank, item in enumerate(classes)
        if item.one.may_drive_plates and item.one.pinned_transporter is None and holds(item.one, "B")
    ]  # fmt: skip
    shared, crews = _OnPlates(day), crews or PlateCrews(day, classes)
    for start, base in dict.fromkeys((classes[rank].one.starts_at, classes[rank].one.base) for rank in able):
        ranks = [rank for rank in able if (classes[rank].one.starts_at, classes[rank].one.base) == (start, base)]
        for driver, group in groups(day, classes, ranks):
            compound = day.compound_of.get(base)
            if compound is None or not compound.plate_sets:
                continue
            tasks = shared.tasks(driver)
            cars = tuple(task for task in tasks if not _has_van(day, task))
            for some, drives_van in ((cars, False), (tasks, True)):
                if not does(some, doing) or (drives_van and len(cars) == len(tasks)):
                    continue
                for nights in nights_of(day):
                    options = crews.singles(group, drives_van=drives_van, nights=nights)
                    if options:
                        yield _plate_rig(shared, start, base, some, options, is_followed=False, drives_van=drives_van)
                    pairs = crews.pairs(group, start, drives_van=drives_van, nights=nights)
                    if pairs and day.policy.support_car_allowed:
                        yield _plate_rig(shared, start, base, some, pairs, is_followed=True, drives_van=drives_van)


def _has_van(day: Day, task: Task) -> bool:
    return any(day.move_of[move].car.is_van for move in task.moves)


def _ride_arcs(day: Day) -> Arcs:
    minutes = np.where(day.rides.minutes < 0, FAR, day.rides.minutes).astype(np.int32)
    pence = np.where(day.rides.minutes < 0, 0, day.rides.fare_pence).astype(float)
    np.fill_diagonal(minutes, 0)
    np.fill_diagonal(pence, 0)
    none = np.zeros(minutes.shape, np.int32)
    return Arcs(minutes=minutes, drive=none, pence=pence, kg_pence=none.astype(float), zones=none, zone_pence=np.zeros(1))


def _support_arcs(day: Day) -> Arcs:
    prices = LegPrices.of(day, support_car())
    return arcs_for(day, support_car(), prices.empty_pence + prices.passage_pence, np.zeros_like(prices.kg_pence))


def _plate_rig(
    shared: _OnPlates, start: PlaceId, base: PlaceId, tasks: tuple[Task, ...], options: tuple[Option, ...],
    *, is_followed: bool, drives_van: bool,
) -> Rig:  # fmt: skip
    """Return the rig of plate runs; one that ``drives_van`` falls under the book of goods vehicles up to 3.5 t."""
    day, follow = shared.day, shared.support_arcs if is_followed else None
    base_arrays = shared_arrays(day, tasks, (), start, follow or shared.ride_arcs, options, 0)
    reach = base_arrays["reach"] = base_arrays["reach"].astype(np.int32)
    cost = [_driven_pence(shared, task, follow) for task in tasks]
    none = np.zeros(len(tasks), np.int32)
    return Rig(
        name=f"{'Support car' if is_followed else 'Plates'} from {day.place_of[start].name}{by_night(options)}",
        kind=RunKind.PLATE,
        one_of=frozenset(rank for rank, task in enumerate(tasks) if drives_van and _has_van(day, task)),
        is_followed=is_followed, transporter_type=-1, plate_base=base, hub_places=(), start=start,
        options=options, node_cost=np.array(cost), opens=ints([task.opens_min for task in tasks], []),
        may_start=np.maximum(ints([task.may_start_min for task in tasks], []), reach).astype(np.int32),
        closes=ints([task.closes_min for task in tasks], []), unload=none,
        takes_load=ints([len(task.moves) for task in tasks], []), takes_back=none, from_hub=none - 1, to_hub=none - 1,
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


def _driven_move_pence(day: Day, move_id: MoveId) -> float:
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
