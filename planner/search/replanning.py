"""Replanning: a day planned around runs that stay as they are, never dearer than what still holds of an earlier plan."""

from collections.abc import Sequence
from dataclasses import replace

from planner.model.day import Day
from planner.runs.bays import bays_overrun
from planner.runs.crew_fit import has_crew
from planner.runs.plan import Plan
from planner.runs.run import Run
from planner.search.baseline import is_free
from planner.search.executors import Executor
from planner.search.frozen import joined, without_runs
from planner.search.left_behind import left_behind
from planner.search.solve import solve
from planner.search.solving import Progress
from planner.search.truth import timed


def replan(
    day: Day,
    earlier: Plan,
    *,
    frozen: Sequence[Run] = (),
    seconds: float = 20.0,
    rounds: int | None = None,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Plan:
    """
    Return a plan of the day with the ``frozen`` runs in it as they are.

    Parameters
    ----------
    day
        May differ from the day of the earlier plan in moves, crews, windows and policy.
    earlier
        A plan of the day as it was; its runs that are still legal are the least that comes out.
    frozen
        Runs of the earlier plan that must not change; they are legal on this day, which is the caller's to see to.
    seconds, rounds, progress, executor
        As for :func:`planner.search.solve.solve`.

    """
    rest = without_runs(day, frozen)
    found = solve(rest, seconds=seconds, rounds=rounds, progress=progress, executor=executor)
    others = still_legal(rest, [run for run in earlier.runs if run not in frozen])
    choices = [_beside(day, frozen, replace(found, runs=runs)) for runs in (found.runs, others)]
    return joined(frozen, min(choices, key=lambda plan: plan.cost_pence))


def _beside(day: Day, frozen: Sequence[Run], plan: Plan) -> Plan:
    """Return the plan of what was left without those of its runs for which the frozen ones leave no bay."""
    kept: list[Run] = []
    for run in sorted(plan.runs, key=lambda run: -sum(day.move_of[move].stays_behind_pence for move in run.itinerary.moves)):
        if not bays_overrun(day, (*frozen, *kept, run)):
            kept.append(run)
    runs = tuple(run for run in plan.runs if run in kept)
    return replace(plan, runs=runs, not_placed=left_behind(without_runs(day, frozen), runs))


def still_legal(day: Day, runs: Sequence[Run]) -> tuple[Run, ...]:
    """Return those runs, timed and priced anew, that this day still allows beside each other."""
    kept: list[Run] = []
    for run in runs:
        plan = run.itinerary
        is_there = has_crew(day, plan) and all(move in day.move_of for move in plan.moves)
        if not is_there or not is_free(day, plan, kept):
            continue
        again = timed(day, plan)
        if isinstance(again, Run) and not bays_overrun(day, (*kept, again)):
            kept.append(replace(again, run_id=run.run_id))
    return tuple(kept)
