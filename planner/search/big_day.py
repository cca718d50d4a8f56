"""
Big day: parts solved on their own, in processes, then joined: their runs are the first plan of the whole day, their
candidate runs start its master problem, which improves across borders and proves the bound for the whole.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from planner.model.crews import CarrierId
from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.run import RunKind
from planner.search.columns import Column
from planner.search.course import begin, run
from planner.search.crew_classes import class_of_driver, type_of_transporter
from planner.search.excerpt import excerpt
from planner.search.executors import Executor
from planner.search.parts import parts_of
from planner.search.rig import Rig
from planner.search.solving import Solving
from planner.search.waking import awake

SHARE_FOR_PARTS = 0.3
SECONDS_TO_JOIN = 20.0
MOST_KEPT = 2500  # candidate runs that a part hands on

Spot = tuple[str, int, int] | tuple[MoveId, ...]  # a hub by place and window, or a task by its moves


@dataclass(frozen=True, kw_only=True, slots=True)
class Carried:
    """A candidate run told without reference to one search: who, with what, where in turn."""

    pence: float
    kind: RunKind
    is_followed: bool
    start: str
    drivers: tuple[str, ...]
    transporter: str | None
    spots: tuple[Spot, ...]
    moves: tuple[MoveId, ...]
    carrier: CarrierId | None
    is_chosen: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Job:
    """One part and how long it may take."""

    day: Day
    seconds: float
    rounds: int | None


def begin_part(job: Job) -> tuple[Carried, ...]:
    """Return the runs of a first plan of a part, found within seconds; none of a part that needs no such plan."""
    awake()
    solving = Solving(job.day, seconds=job.seconds, rounds=job.rounds, progress=None)
    begin(solving)
    return tuple(_told(solving))


def solve_part(job: Job) -> tuple[Carried, ...]:
    """Return the candidate runs of a part that matter, those of its plan marked."""
    awake()
    solving = Solving(job.day, seconds=job.seconds, rounds=job.rounds, progress=None)
    run(solving, has_plan=True)
    return tuple(_told(solving))


def _told(solving: Solving) -> Iterator[Carried]:
    chosen = {column.key for column in solving.best.columns}
    solving.master.solve()
    reduced = solving.master.reduced_costs()
    near = {int(rank) for rank in np.argsort(reduced, kind="stable")[:MOST_KEPT]}
    for rank, column in enumerate(solving.master.columns):
        if column.key not in chosen and (column.rig < 0 or rank not in near):
            continue
        rig = solving.rigs[column.rig] if column.rig >= 0 else None
        yield Carried(
            pence=column.pence, kind=rig.kind if rig else RunKind.HIRED, is_followed=rig is not None and rig.is_followed,
            start=rig.start if rig else "", moves=column.moves, carrier=column.carrier, is_chosen=column.key in chosen,
            drivers=tuple(str(solving.classes[item].one.driver_id) for item in column.classes),
            transporter=solving.types[column.transporter_type].one.transporter_id if column.transporter_type >= 0 else None,
            spots=tuple(spot(rig, place) for place in column.places) if rig else (),
        )  # fmt: skip


def spot(rig: Rig, place: int) -> Spot:
    """Return one place of a rig by what stands there."""
    if place < len(rig.tasks):
        return rig.tasks[place].moves
    return (str(rig.hub_places[place - len(rig.tasks)]), int(rig.opens[place]), int(rig.closes[place]))


def begin_in_parts(solving: Solving, *, executor: Executor) -> None:
    """Solve the day's parts and hand what they found to ``solving``; nothing happens on a day of one part."""
    parts = parts_of(solving.day)
    if len(parts) < 2:
        return
    small = [excerpt(part, [move.move_id for move in part.moves]) for part in parts]
    waves = -(-len(parts) // executor.lanes)
    for work in (begin_part, solve_part):
        each = SHARE_FOR_PARTS * solving.left / waves
        jobs = [Job(day=part, seconds=each, rounds=solving.rounds) for part in small]
        adopt(solving, [item for answer in executor.answers(work, jobs) for item in answer])
    solving.is_joined = True


def adopt(solving: Solving, told: Sequence[Carried]) -> None:
    """Give candidate runs to a search of the whole day; those marked are its first plan."""
    reader = _Reader(solving)
    columns = [(item, column) for item in told if (column := reader.column(item)) is not None]
    solving.master.add([column for _, column in columns])
    solving.choose_from([column for item, column in columns if item.is_chosen], seconds=SECONDS_TO_JOIN)


class _Reader:
    """Finds in one search what another told."""

    def __init__(self, solving: Solving) -> None:
        self.solving = solving
        self.class_of, self.type_of = class_of_driver(solving.classes), type_of_transporter(solving.types)
        self.places = [
            {spot(rig, place): place for place in range(len(rig.tasks) + len(rig.hub_places))} for rig in solving.rigs
        ]

    def column(self, item: Carried) -> Column | None:
        """Return the column, None when the whole day has no such rig, crew or place."""
        if item.carrier is not None:
            key = (-1, (), (), item.carrier, item.moves)
            return next((column for column in self.solving.master.columns if column.key == key), None)
        classes = tuple(self.class_of[name] for name in item.drivers)
        kind = self.type_of[item.transporter] if item.transporter is not None else -1
        wanted = (item.kind, item.is_followed, item.start, kind)
        for number, rig in enumerate(self.solving.rigs):
            is_same = (rig.kind, rig.is_followed, rig.start, rig.transporter_type) == wanted
            options = [rank for rank, option in enumerate(rig.options) if option.classes == classes]
            if is_same and options and all(place in self.places[number] for place in item.spots):
                return Column(
                    pence=item.pence, moves=item.moves, classes=classes, transporter_type=kind, plate_base=rig.plate_base,
                    rig=number, option=options[0], places=tuple(self.places[number][place] for place in item.spots),
                )  # fmt: skip
        return None
