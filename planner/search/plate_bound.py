"""
Plate bound: what no run of a plate rig undercuts, by a knapsack, so that most rigs need no search.

From every task a driver goes on to another or home, so that each takes its own minutes and its shortest leg onwards, and gains
what it is paid less what those cost.  What all tasks of a run gain is at most what fills the hours of a shift best, in parts.
"""

import numpy as np
import numpy.typing as npt

from planner.search.pricing import Duals, asks_of
from planner.search.rig import Rig

Figures = npt.NDArray[np.float64]


def least_on_plates(rig: Rig, duals: Duals) -> float:
    """Return what no run of a plate rig by day undercuts at some duals, in pence, reduced; minus infinity for other rigs."""
    if not rig.keeps_load or rig.stays_out:
        return -np.inf
    tasks = len(rig.tasks)
    paid = np.array([sum(duals.move[move] for move in task.moves) for task in rig.tasks])
    pence = rig.cost + rig.slope * rig.took
    gains = paid - rig.node_cost - rig.slope * rig.work - _least_onwards(pence, tasks)
    minutes = rig.work + _least_onwards(rig.took, tasks)
    driven = rig.drive_in + _least_onwards(rig.drove, tasks)
    span_min = max(min(option.span_limit, option.work_limit) for option in rig.options) - rig.took[:tasks, -1].min()
    drive_min = max(option.drive_limit for option in rig.options) - rig.drove[:tasks, -1].min()
    fullest = float(np.sort(np.maximum(gains, 0.0))[-rig.slots :].sum())
    most = min(fullest, _filled(gains, minutes, span_min), _filled(gains, driven, drive_min))
    crew = min(option.fixed_pence + asks_of(rig, option.classes, duals) for option in rig.options)
    return float(crew + pence[:tasks, -1].min() - most)


def _least_onwards(of_leg: npt.NDArray[np.generic], tasks: int) -> Figures:
    """Return the least of each task's legs to another or home; rows are the later place, the last one is home."""
    onwards = of_leg[:, :tasks].astype(float)
    np.fill_diagonal(onwards, np.inf)
    return np.asarray(onwards.min(axis=0), float)


def _filled(gains: Figures, sizes: Figures, room: float) -> float:
    """Return the most that tasks of some sizes gain in a room, in parts (Dantzig 1957, Operations Research 5)."""
    order = np.argsort(-gains / np.maximum(sizes, 1e-9), kind="stable")
    order = order[gains[order] > 0]
    before = np.cumsum(sizes[order]) - sizes[order]
    parts = np.clip((room - before) / np.maximum(sizes[order], 1e-9), 0.0, 1.0)
    return float(gains[order] @ parts)
