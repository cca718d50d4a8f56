"""
What nights out change: ``python -m tests.bench.nights [seconds] [moves ...]`` plans days where no driver, or each, may stay out.

Two lines a day: cost, bound, gap, nights, moves left behind, and seconds of one core, which a busy machine does not blur.
"""

import sys
import time
from dataclasses import replace

from planner.runs.referee import check_plan
from planner.search.solve import awake, solve
from tests.bench.invented_days import Shape, invented_day

SIZES, SEEDS = (60, 150), (1, 2)


def main(seconds: float, sizes: tuple[int, ...]) -> None:
    """Print the table."""
    awake()
    print("moves seed  may stay       cost      bound     gap  nights  behind  core s  breaches")
    for moves in sizes:
        for seed in SEEDS:
            for may_stay_out in (False, True):
                day = invented_day(Shape(moves=moves), seed)
                day = replace(day, drivers=tuple(replace(driver, may_stay_out=may_stay_out) for driver in day.drivers))
                began = time.process_time()
                plan = solve(day, seconds=seconds)
                took, bound = time.process_time() - began, plan.bound.pence if plan.bound else 0
                print(f"{moves:5} {seed:4}  {'all' if may_stay_out else 'none':8} {plan.cost_pence / 100:10.2f} {bound / 100:10.2f} {plan.gap or 0:7.2%} "
                      f"{sum(run.nights for run in plan.runs):7} {len(plan.not_placed):7} {took:7.1f} {len(check_plan(day, plan)):9}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 60.0, tuple(int(text) for text in sys.argv[2:]) or SIZES)
