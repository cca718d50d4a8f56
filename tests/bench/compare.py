"""
Compare the search with two general ones on days over real postcodes: ``python -m tests.bench.compare [seconds] [moves ...]``.

One line a day: moves, seed, cost and bound of ours, gap, seconds, cost of OR-Tools' guided local search and of PyVRP in the
same seconds, ours as a share of the cheaper one, most memory so far, and what the referee finds wrong (nothing, it is hoped).
"""

import resource
import sys
import time

from planner.runs.referee import check_plan
from planner.search.baseline import solve_baseline
from planner.search.solve import solve
from tests.bench.by_pyvrp import solve_by_pyvrp
from tests.bench.day_folders import day_over_postcodes
from tests.bench.invented_days import Shape

SIZES, SEEDS = (30, 60, 100, 150), (1, 2)


def main(seconds: float, sizes: tuple[int, ...]) -> None:
    """Print the table."""
    print("moves seed      cost     bound     gap  money gap      s   OR-Tools     PyVRP  ratio    MB breaches")
    for moves in sizes:
        for seed in SEEDS:
            day = day_over_postcodes(Shape(moves=moves), seed)
            began = time.perf_counter()
            plan = solve(day, seconds=seconds)
            took = time.perf_counter() - began
            others = [solve_baseline(day, seconds=seconds), solve_by_pyvrp(day, seconds=seconds)]
            bound = plan.bound.pence if plan.bound else 0
            least = min(other.cost_pence for other in others)
            assert bound <= least
            breaches = sum(len(check_plan(day, each)) for each in (plan, *others))
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(f"{moves:5} {seed:4} {plan.cost_pence / 100:9.2f} {bound / 100:9.2f} {plan.gap or 0:7.2%} {plan.money_gap or 0:10.2%} "
                  f"{took:6.1f} {others[0].cost_pence / 100:10.2f} {others[1].cost_pence / 100:9.2f} {plan.cost_pence / least:6.3f} "
                  f"{memory:5.0f} {breaches:8}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 30.0, tuple(int(text) for text in sys.argv[2:]) or SIZES)
