"""
The master's price: what one more delivery adds by the prices of the plan's own master problem.

Up to two cars are taken out of a run near the door, each paid for at its price in the master problem (what one more like it
would cost the whole plan), and the delivery takes their place, timed and priced exactly.  Without cars taken out it is the
plain insertion.  Prices speak of the best mix of runs, whole or not, so that the figure may lie below what a real plan can
reach; an exact swap lies above.  Half way between the two is what planning anew comes nearest to
(``tests/bench/marginal_price.py``: 36 of 40 within 10% or 5 pounds on two days proven to 0.2%, by which the rule was
chosen, and 17 of 20 on a third day, proven to 0.5%, that was kept back).
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from planner.desk.quote_candidates import Candidate, Candidates
from planner.desk.quote_known import Known
from planner.desk.quote_offers import Trial
from planner.desk.quote_swaps import near_cars, puts
from planner.model.day import Day
from planner.model.moves import Move, MoveId
from planner.runs.refusal import Refusal
from planner.runs.run import Run

#: How many cars at most are taken out of a run, and how many places are timed.
TAKEN_OUT, TIMED = 2, 12


def master_pence(
    day: Day, move: Move, runs: Sequence[Run], known: Known, prices: Mapping[MoveId, float], *, below_pence: int
) -> int:
    """
    Return what the delivery adds by the master's prices, ``below_pence`` when that is no less.

    Parameters
    ----------
    day
        Holds the asked ``move`` with its window.
    move, runs, known
        The delivery, the runs of the planned day, and what earlier questions found out about it.
    prices
        What one more of each move would cost, pence, as found with the plan.
    below_pence
        What is known to be enough.

    """
    best = float(below_pence)
    ideas = sorted(_ideas(day, move, runs, known, prices), key=lambda idea: idea[0])
    for likely, put, old, paid, others in ideas[:TIMED]:
        if likely >= best * 1.25:
            break
        made = Trial(day, move, others, 1).made(put)
        if not isinstance(made, Refusal):
            best = min(best, made.run.cost_pence - old.cost_pence + paid)
    return round(best)


def _ideas(
    day: Day, move: Move, runs: Sequence[Run], known: Known, prices: Mapping[MoveId, float]
) -> Iterator[tuple[float, Candidate, Run, float, list[Run]]]:
    """Yield likely pence, the place, its run, what is paid for the cars taken out, and the runs beside it."""
    mine = Candidates(day, move)
    free: dict[str, list[Move]] = {}
    for car, run in near_cars(day, move, runs):
        if car.move_id in prices:
            free.setdefault(run.run_id, []).append(car)
    for run in runs:
        beside = [other for other in runs if other is not run]
        for count in range(1, TAKEN_OUT + 1):
            for taken in combinations(free.get(run.run_id, ()), count):
                left = known.without(day, run, frozenset(car.move_id for car in taken))
                if left is None:
                    continue
                paid = sum(prices[car.move_id] for car in taken)
                for put in puts(mine, run, left.rest):
                    others = [*beside, left.rest] if left.rest is not None else beside
                    yield put.likely_pence - left.saved_pence + paid, put, run, paid, others
