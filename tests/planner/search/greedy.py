"""A poor but legal plan of a day, to improve on and to hold bounds against."""

import random
from dataclasses import replace

from planner.runs.plan import Plan
from planner.runs.run import Run
from planner.search.baseline import is_free
from planner.search.left_behind import left_behind
from planner.search.single import alone
from planner.search.truth import timed


def greedy(day, seed):
    """Each move in turn by whoever is free and does it alone for least."""
    runs, moves = [], [move for move in day.moves if move.tied_to is None]
    random.Random(seed).shuffle(moves)
    for move in moves:
        offers = [run for plan in alone(day, move) if is_free(day, plan, runs) and isinstance(run := timed(day, plan), Run)]
        best = min(offers, key=lambda run: run.cost_pence, default=None)
        if best is not None:
            runs.append(replace(best, run_id=f"R{len(runs)}"))
    return Plan(runs=tuple(runs), not_placed=left_behind(day, runs))
