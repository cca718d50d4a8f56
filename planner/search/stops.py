"""
Stops: from a candidate run of a rig to the itinerary that a crew follows.

Cars are loaded at the last call at their compound before their delivery and left at the first call after they were
collected; neighbouring visits at one place become one.
"""

from collections.abc import Iterator, Sequence

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.places import PlaceId
from planner.runs.run import Itinerary, RunKind, Stop
from planner.search.columns import Column
from planner.search.crew_classes import DriverClass, TransporterType
from planner.search.rig import Rig


def itinerary_of(
    day: Day, rig: Rig, column: Column, classes: Sequence[DriverClass], types: Sequence[TransporterType]
) -> Itinerary:
    """Return the column as an itinerary of the first member of each class it uses."""
    names = [driver.driver_id for driver in classes[column.classes[0]].drivers]
    support = None
    if rig.is_followed:
        others = [driver.driver_id for driver in classes[column.classes[1]].drivers]
        support = next(name for name in others if name != names[0])
    kind = rig.transporter_type
    transporter = types[kind].one.transporter_id if kind >= 0 else None
    parts = _carried(rig, column.places) if rig.kind is RunKind.TRANSPORTER else _driven(day, rig, column.places)
    return Itinerary(
        driver=names[0], transporter=transporter, support_driver=support, stops=tuple(_joined(parts)),
        may_stay_out=rig.stays_out,
    )  # fmt: skip


def _carried(rig: Rig, places: Sequence[int]) -> Iterator[Stop]:
    tasks = len(rig.tasks)
    takes, leaves = dict[int, list[MoveId]](), dict[int, list[MoveId]]()
    for spot, place in enumerate(places):
        if place >= tasks:
            continue
        task = rig.tasks[place]
        if rig.from_hub[place] >= 0:
            calls = [at for at in range(spot) if places[at] == tasks + rig.from_hub[place]]
            takes.setdefault(calls[-1], []).append(task.moves[0])
        if rig.to_hub[place] >= 0:
            call = next(at for at in range(spot + 1, len(places)) if places[at] == tasks + rig.to_hub[place])
            leaves.setdefault(call, []).append(task.moves[-1])
    for spot, place in enumerate(places):
        if place >= tasks:
            stop = Stop(place=rig.hub_places[place - tasks], leaves=tuple(leaves.get(spot, ())), takes=tuple(takes.get(spot, ())))
            if stop.leaves or stop.takes:
                yield stop
            continue
        task, delivers = rig.tasks[place], rig.from_hub[place] >= 0
        collects = rig.to_hub[place] >= 0
        yield Stop(place=task.first, leaves=task.moves[:1] if delivers else (), takes=task.moves[-1:] if collects else ())


def _driven(day: Day, rig: Rig, places: Sequence[int]) -> Iterator[Stop]:
    for place in places:
        for move_id in rig.tasks[place].moves:
            move = day.move_of[move_id]
            yield Stop(place=move.origin, takes=(move_id,))
            yield Stop(place=move.destination, leaves=(move_id,))


def _joined(parts: Iterator[Stop]) -> list[Stop]:
    """Return the stops with neighbours at one place joined, as long as no car is taken before others are left."""
    stops: list[Stop] = []
    for part in parts:
        if stops and stops[-1].place == part.place and not (stops[-1].takes and part.leaves):
            last: Stop = stops.pop()
            part = Stop(place=PlaceId(part.place), leaves=last.leaves + part.leaves, takes=last.takes + part.takes)  # noqa: PLW2901
        stops.append(part)
    return stops
