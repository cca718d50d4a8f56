"""
Compare the search with the general routing model on invented days: ``python -m tests.bench.compare [seconds] [moves ...]``.

One line a day: moves, seed, cost of both, bound, gap, seconds, and what the referee finds wrong (nothing, it is hoped).
"""

import sys
import time

from planner.runs.referee import check_plan
from planner.search.baseline import solve_baseline
from planner.search.solve import solve
from tests.bench.invented_days import Shape, invented_day

SIZES, SEEDS = (30, 60, 100, 150), (1, 2)


def main(seconds: float, sizes: tuple[int, ...]) -> None:
    """Print the table."""
    print("moves seed      cost     bound     gap  money gap   s    general model  ratio  breaches")
    for moves in sizes:
        for seed in SEEDS:
            day = invented_day(Shape(moves=moves), seed)
            began = time.perf_counter()
            plan = solve(day, seconds=seconds)
            took = time.perf_counter() - began
            other = solve_baseline(day, seconds=seconds)
            bound = plan.bound.pence if plan.bound else 0
            assert bound <= other.cost_pence
            breaches = len(check_plan(day, plan)) + len(check_plan(day, other))
            print(f"{moves:5} {seed:4} {plan.cost_pence / 100:9.2f} {bound / 100:9.2f} {plan.gap or 0:7.2%} {plan.money_gap or 0:10.2%} "
                  f"{took:5.1f} {other.cost_pence / 100:13.2f} {plan.cost_pence / other.cost_pence:7.3f} {breaches:6}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 30.0, tuple(int(text) for text in sys.argv[2:]) or SIZES)
