"""
Frozen runs: a day planned around runs that stay exactly as they are.

What a frozen run uses (its moves, its crew, its vehicle, its plates, its place with a hired carrier) is taken from the day;
what is left is a day of its own, so that its bound plus the cost of the frozen runs bounds every plan that keeps them.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from planner.model.day import Day
from planner.runs.plan import Plan
from planner.runs.run import Run, RunKind


def without_runs(day: Day, runs: Sequence[Run]) -> Day:
    """Return what is left of the day beside these runs."""
    plans = [run.itinerary for run in runs]
    moves = {move for plan in plans for move in plan.moves}
    busy = {name for plan in plans for name in plan.crew}
    sets = Counter(day.driver_of[plan.driver].base for plan in plans if plan.kind is RunKind.PLATE and plan.driver is not None)
    hired = Counter(plan.carrier for plan in plans if plan.carrier is not None)
    return replace(
        day,
        moves=tuple(move for move in day.moves if move.move_id not in moves),
        drivers=tuple(driver for driver in day.drivers if driver.driver_id not in busy),
        transporters=tuple(item for item in day.transporters if item.transporter_id not in busy),
        compounds=tuple(
            replace(item, plate_sets=max(0, item.plate_sets - sets[item.place_id])) for item in day.compounds
        ),
        carriers=tuple(replace(item, cars=max(0, item.cars - hired[item.carrier_id])) for item in day.carriers),
    )  # fmt: skip


def joined(frozen: Sequence[Run], plan: Plan) -> Plan:
    """Return the plan of what was left with the frozen runs first, each under its own number; the others are told apart."""
    taken = {run.run_id for run in frozen}
    runs = list(frozen)
    number = 0
    for run in plan.runs:
        number += 1
        while f"R{number:02d}" in taken:
            number += 1
        runs.append(replace(run, run_id=type(run.run_id)(f"R{number:02d}")))
    bound = plan.bound and replace(
        plan.bound, pence=plan.bound.pence + sum(run.cost_pence for run in frozen),
        covers=plan.bound.covers + (f"; {len(frozen)} runs kept as they are" if frozen else ""),
    )  # fmt: skip
    return replace(plan, runs=tuple(runs), bound=bound)
