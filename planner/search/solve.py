"""
Solve: from a day to its plan, with the figure that no legal plan undercuts.

Anytime: an early plan, better as it goes on, and Ctrl-C keeps the best.  The same day, seed and number of rounds give
the same plan as long as the seconds do not run out first.
"""

import math
import time
from contextlib import nullcontext
from dataclasses import dataclass

from planner.model.day import Day
from planner.runs.plan import Bound, Plan
from planner.runs.run import Run
from planner.search.big_day import begin_in_parts
from planner.search.course import run
from planner.search.executors import Executor, InProcesses
from planner.search.improving import improve, total_pence
from planner.search.left_behind import left_behind
from planner.search.names import named_runs
from planner.search.near_runs import near_runs
from planner.search.prices import Prices
from planner.search.pricing import Duals
from planner.search.solving import Progress, Solving
from planner.search.waking import awake

SHARE_FOR_IMPROVING = 0.1  # of the seconds that the parts of a big day leave; the rest is for its bound and once more

COVERS = (
    "every set of runs within one shift or, where one shift will not do and the crew may stay out, two with a daily rest "
    "between: cars driven on plates in any order, alone or with a support car; transporter runs with any number of calls at "
    "compounds, each car loaded at the last call at its compound before its delivery; hired carriers"
)
RELAXED = ("bays at compounds", "a run takes the timetable of least duty, though another may meet lower tolls")
RELAXED_BY_FLOORS = (
    "deck positions and cars moved out of the way",
    "where breaks fall within the day (their total is kept), and the rest of a night out on a leg",
    "night premium, and tolls and charges at their lowest price of the day",
    "two visits to one door by one run, where the labels forget the first",
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Solution:
    """A plan with the prices behind its bound, None when there was no time for any, and the runs that it nearly used."""

    plan: Plan
    prices: Prices | None
    near: tuple[Run, ...] = ()


def solve(
    day: Day,
    *,
    seconds: float = 60.0,
    seed: int = 0,
    rounds: int | None = None,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Plan:
    """
    Return the cheapest legal plan found, its bound and the reason for every move left behind.

    Parameters
    ----------
    day
        Nothing of it is changed.
    seconds
        Wall-clock limit; the answer comes sooner when it is proven good.
    seed
        Breaks ties; kept in ``found_by``.
    rounds
        Most pricing rounds; None for no limit.
    progress
        Called with seconds gone, cost and bound in pence (None before there is one).
    executor
        Where the parts of a big day are solved, None for processes of this machine; answers do not depend on it.

    Raises
    ------
    NoRate
        If a wage, fuel or vehicle has no rate on the day.

    """
    return solve_priced(day, seconds=seconds, seed=seed, rounds=rounds, progress=progress, executor=executor).plan


def solve_priced(
    day: Day,
    *,
    seconds: float = 60.0,
    seed: int = 0,
    rounds: int | None = None,
    progress: Progress | None = None,
    executor: Executor | None = None,
    near_seconds: float = 0.0,
) -> Solution:
    """Return what :func:`solve` returns, with the prices behind the bound and the runs found near it in ``near_seconds`` more."""
    began = time.perf_counter()
    awake()
    solving = Solving(day, seconds=seconds, rounds=rounds, progress=progress)
    improved: tuple[Run, ...] = ()
    try:
        with nullcontext(executor) if executor is not None else InProcesses() as where:
            begin_in_parts(solving, executor=where)
            if solving.is_joined:
                improved = _improved(solving, (), SHARE_FOR_IMPROVING * solving.left, seed=seed, executor=where)
            run(solving)
            if solving.is_joined:
                improved = _improved(solving, improved, solving.left, seed=seed + 1, executor=where)
    except KeyboardInterrupt:
        solving.tell()
    runs = _cheaper(solving, improved)
    limit = f"{rounds} rounds" if rounds is not None else f"{seconds:g} s"
    plan = Plan(
        runs=runs,
        not_placed=left_behind(day, runs),
        bound=bound_of(solving),
        found_by=f"priced runs and exact choice, seed {seed}, {limit}",
        seconds=time.perf_counter() - began,
    )
    near = near_runs(solving, seconds=near_seconds) if near_seconds > 0 else ()
    return Solution(plan=plan, prices=_prices((solving.proof and solving.proof[1]), solving), near=near)


def _improved(
    solving: Solving, improved: tuple[Run, ...], seconds: float, *, seed: int, executor: Executor
) -> tuple[Run, ...]:
    """Return the runs of the search so far, or those improved before if cheaper, improved by neighbourhoods for some seconds."""
    until = solving.left - seconds
    return improve(
        solving.day, _cheaper(solving, improved), left=lambda: solving.left - until, seed=seed, rounds=solving.rounds,
        executor=executor, tell=solving.tell_of,
    )  # fmt: skip


def _cheaper(solving: Solving, improved: tuple[Run, ...]) -> tuple[Run, ...]:
    """Return the runs of the search so far, or those improved elsewhere where they cost less."""
    best = solving.best
    runs = named_runs(solving.day, best.columns, best.runs, solving.classes, solving.types)
    return improved if improved and total_pence(solving.day, improved) < total_pence(solving.day, runs) else runs


def bound_of(solving: Solving) -> Bound | None:
    """Return the bound in whole pence, None while there is none."""
    if solving.bound <= 0 and solving.best.pence > 0:
        return None
    floors = RELAXED_BY_FLOORS if solving.is_bound_of_floors else ()
    relaxed = RELAXED + floors + tuple(dict.fromkeys(text for rig in solving.rigs for text in rig.relaxed))
    return Bound(pence=max(0, math.ceil(solving.bound - 1e-3)), covers=COVERS, relaxed=relaxed)


def _prices(duals: Duals | None, solving: Solving) -> Prices | None:
    if duals is None:
        return None
    drivers = {driver.driver_id: duals.driver[rank] for rank, item in enumerate(solving.classes) for driver in item.drivers}
    transporters = {
        item.transporter_id: duals.transporter[rank] for rank, kind in enumerate(solving.types) for item in kind.transporters
    }
    return Prices(
        move=duals.move, driver={str(key): value for key, value in drivers.items()},
        transporter={str(key): value for key, value in transporters.items()},
        plates={str(key): value for key, value in duals.plates.items()},
    )  # fmt: skip
