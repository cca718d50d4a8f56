"""
Sift: tasks that no crew of a rig can do even alone are taken from the rig, so that the bound does not count on them.

A run with more to do than one task is never quicker on its way to that task and home from it, as long as no way round by
other tasks is quicker than the direct one; where it is, the task stays.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from planner.model.moves import MoveId
from planner.runs.run import Run
from planner.search.columns import Column
from planner.search.rig import Ints, Rig, remember
from planner.search.truth import Truth

NEVER_MIN = 50_000


def quickest(rig: Rig) -> Ints:
    """Return the least minutes between all places of the rig, ways round by its tasks included; rows the later place."""
    best = rig.took.astype(np.int64)
    work = np.append(rig.work, np.zeros(len(best) - len(rig.tasks), np.int32))
    for middle in range(len(best) - 1):
        best = np.minimum(best, best[:, [middle]] + work[middle] + best[[middle], :])
    return best.astype(np.int32)


def alone(rig: Rig, number: int, place: int) -> list[Column]:
    """Return the columns, one for each crew, that do the task and nothing else."""
    hubs = len(rig.tasks)
    before = [hubs + int(rig.from_hub[place])] if rig.from_hub[place] >= 0 else []
    after = [hubs + int(rig.to_hub[place])] if rig.to_hub[place] >= 0 else []
    return [
        Column(
            pence=0.0, moves=rig.tasks[place].moves, classes=option.classes, transporter_type=rig.transporter_type,
            plate_base=rig.plate_base, rig=number, option=rank, places=(*before, place, *after),
        )
        for rank, option in enumerate(rig.options)
    ]  # fmt: skip


def is_hopeless(rig: Rig, number: int, place: int, truth: Truth) -> bool:
    """Return whether no run of the rig, alone or with other tasks, can do the task."""
    candidates = alone(rig, number, place)
    start = len(rig.took) - 1
    legs = [start, *candidates[0].places, start]
    least = quickest(rig)
    for earlier, later in pairwise(legs):
        if least[later, earlier] < rig.took[later, earlier]:
            return False
    return not any(isinstance(truth.of(column), Run) for column in candidates)


def sharpen(rigs: Sequence[Rig], columns: Sequence[Column], truth: Truth) -> bool:
    """
    Mend the rigs by what is wrong with columns that were found in them; return whether anything was.

    A customer served twice is remembered on the way between; a task that nobody can do is taken from its rigs.
    """
    changed, tested = False, set[tuple[MoveId, ...]]()
    for column in columns:
        rig = rigs[column.rig]
        if not column.is_elementary:
            changed |= break_cycle(rig, column)
        elif not isinstance(truth.of(column), Run):
            tested.update(rig.tasks[place].moves for place in column.places if place < len(rig.tasks))
    for number, rig in enumerate(rigs):
        for place, task in enumerate(rig.tasks):
            if task.moves in tested and rig.may_start[place] < NEVER_MIN and is_hopeless(rig, number, place, truth):
                take_away(rig, place)
                changed = True
    return changed


def break_cycle(rig: Rig, column: Column) -> bool:
    """Make labels remember the customers that the column serves twice; return whether that is news."""
    seen, changed = dict[int, int](), False
    for spot, place in enumerate(column.places):
        if place >= len(rig.tasks):
            continue
        customer = int(rig.customer[place])
        if customer in seen:
            for between in column.places[seen[customer] : spot]:
                if between < len(rig.tasks):
                    before = rig.near[between].copy()
                    remember(rig.near, between, [customer])
                    changed |= bool((before != rig.near[between]).any())
        seen[customer] = spot
    return changed


def take_away(rig: Rig, place: int) -> None:
    """Make the task impossible for the rig."""
    rig.may_start[place] = rig.ends_from[place] = NEVER_MIN
    rig.__dict__.pop("packed", None)
