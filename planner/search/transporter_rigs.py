"""Transporter rigs: every type of transporter with the drivers that may take it, and what it may carry."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from planner.model.crews import Driver, Transporter
from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.places import PlaceId, Window
from planner.runs.costing import running_cost
from planner.runs.driven_legs import Vehicle, vehicle_of_transporter
from planner.runs.leg_prices import LegPrices
from planner.runs.run import RunKind
from planner.search.crew_classes import DriverClass, TransporterType
from planner.search.hours_floor import transporter_limits, transporter_owed
from planner.search.labels import FAR
from planner.search.rig import ROUNDING_PENCE, Floats, Ints, Option, Rig
from planner.search.rig_parts import (
    Arcs,
    all_may_stay_out,
    arcs_for,
    by_night,
    does,
    groups,
    holds,
    ints,
    night_pence,
    nights_of,
    shared_arrays,
    soonest,
    wage_by_minute,
)
from planner.search.tasks import NEVER_CLOSES, NEVER_OPENS, Task, carried_tasks

MOST_HUBS = 15  # four bits each in a label


def transporter_rigs(
    day: Day, classes: Sequence[DriverClass], types: Sequence[TransporterType], doing: MoveId | None
) -> Iterator[Rig]:
    """Yield the rigs of each type of transporter, by day and by night, or only those that may be ``doing`` one move."""
    arcs_of: dict[Vehicle, Arcs] = {}  # by vehicle without its name: alike ones drive alike
    for number, kind in enumerate(types):
        one = kind.one
        fits = [
            rank for rank, item in enumerate(classes)
            if item.one.pinned_transporter in (None, one.transporter_id) and holds(item.one, one.licence)
        ]  # fmt: skip
        vehicle = replace(vehicle_of_transporter(one), key="", name="")
        arcs = arcs_of.get(vehicle) or arcs_of.setdefault(vehicle, _transporter_arcs(day, vehicle))
        for driver, ranks in groups(day, classes, fits):
            tasks = tuple(carried_tasks(day, one, driver))
            for nights in nights_of(day) if does(tasks, doing) else ():
                found = (_transporter_option(day, one, classes[rank].one, rank, nights=nights) for rank in ranks)
                options = tuple(option for option in found if option is not None)
                if options:
                    yield _transporter_rig(day, one, number, tasks, options, arcs)


def _transporter_arcs(day: Day, vehicle: Vehicle) -> Arcs:
    prices = LegPrices.of(day, vehicle)
    return arcs_for(day, vehicle, prices.empty_pence + prices.passage_pence, prices.kg_pence)


def _transporter_option(day: Day, one: Transporter, driver: Driver, rank: int, *, nights: int) -> Option | None:
    row, column = day.place_index[driver.starts_at], day.place_index[one.base]
    there, back = (0, 0) if row == column else (int(day.rides.minutes[row, column]), int(day.rides.minutes[column, row]))
    if there < 0 or back < 0:
        return None
    fares = 0 if row == column else int(day.rides.fare_pence[row, column] + day.rides.fare_pence[column, row])
    limits = transporter_limits(one, driver, nights=nights)
    if limits is None or (nights and not all_may_stay_out(day, [driver])):
        return None
    wage, slope = wage_by_minute(day, [driver])
    day_pence = float(running_cost(day, one.vehicle_class).day_pence)
    return Option(
        classes=(rank,), from_min=limits.from_min, home_min=limits.home_min, before_min=there, after_min=back,
        fixed_pence=fares + day_pence + nights * night_pence(day, 1) - ROUNDING_PENCE, wage=wage, slope=slope,
        drive_limit=limits.drive_min, work_limit=limits.work_min, span_limit=limits.span_min, rest_min=nights * limits.rest_min,
    )  # fmt: skip


def _hubs(tasks: Sequence[Task]) -> list[tuple[PlaceId, Window]]:
    found = dict.fromkeys(hub for task in tasks for hub in (task.from_hub, task.to_hub) if hub is not None)
    return sorted(found, key=lambda hub: (hub[0], hub[1].opens_min, hub[1].closes_min))


def _transporter_rig(
    day: Day, one: Transporter, number: int, tasks: tuple[Task, ...], options: tuple[Option, ...], arcs: Arcs
) -> Rig:
    hubs, relaxed = _hubs(tasks), []
    if len(hubs) > MOST_HUBS:
        tasks, hubs = _with_fewer_hubs(tasks)
        relaxed.append("hours at which single cars can be loaded")
    index = {hub: rank for rank, hub in enumerate(hubs)}
    extra = _carry_pence(day, arcs, tasks)
    base = shared_arrays(day, tasks, [hub[0] for hub in hubs], one.base, arcs, options, day.policy.walk_round_min)
    heaviest = sorted((max(task.kg_in, task.kg_back) for task in tasks), reverse=True)[: one.slots]
    hub_opens = np.array([window.opens_min for _, window in hubs], np.int32)
    from_hub = ints([index[task.from_hub] if task.from_hub else -1 for task in tasks], [])
    reach = _by_their_hubs(base["took"], base["work"], base["reach"], from_hub, hub_opens, one.load_min)
    base["reach"] = reach.astype(np.int32)
    base["ends_from"] = np.maximum(base["ends_from"], reach[: len(tasks)] + base["work"]).astype(np.int32)
    return Rig(
        name=one.name + by_night(options),
        kind=RunKind.TRANSPORTER, is_followed=False, transporter_type=number, plate_base=None,
        hub_places=tuple(hub[0] for hub in hubs), start=one.base, options=options, node_cost=np.array(extra),
        opens=ints([task.opens_min for task in tasks], hub_opens),
        may_start=np.maximum(ints([task.may_start_min for task in tasks], hub_opens), reach).astype(np.int32),
        closes=ints(_latest_starts(tasks, one.slots), [window.closes_min - 1 for _, window in hubs]),
        unload=ints([task.unload_min for task in tasks], []),
        takes_load=ints([1 if task.from_hub else 0 for task in tasks], []),
        takes_back=ints([1 if task.to_hub else 0 for task in tasks], []),
        from_hub=from_hub,
        to_hub=ints([index[task.to_hub] if task.to_hub else -1 for task in tasks], []),
        is_dropped_at=np.array([any(task.to_hub == hub for task in tasks) for hub in hubs], np.bool_),
        load_min=one.load_min, slots=one.slots, payload_kg=one.payload_kg, is_loose=sum(heaviest) <= one.payload_kg,
        keeps_load=False, walk_min=day.policy.walk_round_min, end_min=day.policy.end_of_day_min,
        owed=transporter_owed(one), relaxed=tuple(relaxed), **base,
    )  # fmt: skip


def _latest_starts(tasks: Sequence[Task], slots: int) -> list[int]:
    """Return when each task may start at the latest, after others of its place: windows hold for the start of a visit alone."""
    works: dict[PlaceId, list[int]] = {}
    for task in tasks:
        works.setdefault(task.first, []).append(task.work_min)
    most = {place: sum(sorted(found)[-2 * slots :]) for place, found in works.items()}
    return [task.closes_min + max(0, most[task.first] - task.work_min) for task in tasks]


def _with_fewer_hubs(tasks: tuple[Task, ...]) -> tuple[tuple[Task, ...], list[tuple[PlaceId, Window]]]:
    """Return tasks whose hubs stand for a place at any hour, and only those of the most used places."""
    always = Window(opens_min=NEVER_OPENS, closes_min=NEVER_CLOSES)
    wide = [
        replace(task, from_hub=task.from_hub and (task.from_hub[0], always), to_hub=task.to_hub and (task.to_hub[0], always))
        for task in tasks
    ]
    used = Counter(hub for task in wide for hub in (task.from_hub, task.to_hub) if hub is not None)
    kept = {hub for hub, _ in sorted(used.items(), key=lambda item: (-item[1], item[0][0]))[:MOST_HUBS]}
    left = tuple(task for task in wide if {task.from_hub, task.to_hub} - {None} <= kept)
    return left, _hubs(left)


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
        if not (shorter < away * (1 - 1e-5) - 1e-8).any():  # never longer, and infinite where there is no way
            break
        away = shorter
    return away


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
