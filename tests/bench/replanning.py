"""
Replanning after a breakdown: ``python -m tests.bench.replanning [moves] [seconds] [seed ...]``.

A day is planned; at 10:30, with everything on time so far, the transporter under way with most left to do breaks down.  One line a
seed: moves it still had, promises broken, other orders changed, what it costs, seconds, and what the referee finds (nothing,
it is hoped).
"""

import sys

from planner.model.progress import Progress, Stopped
from planner.runs.past import on_time
from planner.runs.plan import Plan
from planner.runs.referee import check_plan
from planner.runs.run import Run, RunKind
from planner.search.replan_today import replan_today
from planner.search.solve import solve
from tests.bench.invented_days import Shape, invented_day

NOW_MIN = 630


def breakdown(plan: Plan, now_min: int = NOW_MIN) -> tuple[Progress, Run]:
    """Return the progress of a day on time whose fullest transporter under way breaks down."""
    told = {run.run_id: item for run in plan.runs if (item := on_time(run, now_min)) is not None}

    def to_do(run: Run) -> int:
        return sum(len(stop.leaves) for stop in run.itinerary.stops[len(told[run.run_id].visits) :])

    struck = max((run for run in plan.runs if run.kind is RunKind.TRANSPORTER and run.run_id in told), key=to_do)
    entries = [
        item if run_id != struck.run_id
        else type(item)(run=item.run, began_min=item.began_min, visits=item.visits, is_under_way=item.is_under_way,
                        stopped=Stopped(at_min=now_min, says="breakdown"))
        for run_id, item in told.items()
    ]  # fmt: skip
    return Progress(now_min=now_min, runs=tuple(entries), transporters_out=frozenset({struck.itinerary.transporter})), struck


def main(moves: int, seconds: float, seeds: tuple[int, ...]) -> None:
    """Print the table."""
    print("moves seed  affected  broken  late  others changed    cost  seconds  breaches")
    for seed in seeds:
        day = invented_day(Shape(moves=moves), seed)
        plan = solve(day, seconds=40)
        progress, struck = breakdown(plan)
        count = len(next(item for item in progress.runs if item.run == struck.run_id).visits)
        affected = {move for stop in struck.itinerary.stops[count:] for move in (*stop.leaves, *stop.takes)}
        found = replan_today(day, plan, progress, seconds=seconds)
        others = (set(found.moved) | set(found.broken)) - affected
        breaches = check_plan(found.day, found.plan)
        print(f"{moves:5} {seed:4} {len(affected):9} {len(found.broken):7} {len(found.late):5} {len(others):15} "
              f"{found.cost_change_pence / 100:8.2f} {found.seconds:8.1f} {len(breaches):9}", flush=True)  # fmt: skip
        for breach in breaches[:5]:
            print("   ", breach)


if __name__ == "__main__":
    words = sys.argv[1:]
    main(int(words[0]) if words else 100, float(words[1]) if len(words) > 1 else 10.0, tuple(map(int, words[2:])) or (1, 2, 3))
