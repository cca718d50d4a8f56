"""
Plan large days over real postcodes: ``python -m tests.bench.big_days [name ...]`` (names: wide, 300, 500, 2000; all but the last if none).

One line a day: seconds to the first plan and to gaps of 5, 1 and 0.3%, then cost, bound, gap, seconds in all, and what the
referee finds wrong (nothing, it is hoped).
"""

import sys
from dataclasses import dataclass, field

from planner.runs.referee import check_plan
from planner.search.solve import solve
from planner.search.waking import awake
from tests.bench.day_folders import day_over_postcodes
from tests.bench.invented_days import Shape

DAYS = {
    "wide": (Shape(moves=150, window_min=720, decks=(2, 6, 9)), 300.0),
    "300": (Shape(moves=300), 300.0),
    "500": (Shape(moves=500, compounds=3), 600.0),
    "2000": (Shape(moves=2000, compounds=5), 1800.0),
}
GAPS = (0.05, 0.01, 0.003)


@dataclass
class Milestones:
    """When what was reached, in seconds."""

    first: float | None = None
    reached: dict[float, float] = field(default_factory=dict)

    def __call__(self, seconds: float, cost: int, bound: int | None) -> None:
        """Note the moment."""
        self.first = self.first if self.first is not None else seconds
        for gap in GAPS:
            if bound and cost <= (1 + gap) * bound:
                self.reached.setdefault(gap, seconds)

    def text(self) -> str:
        """Return the seconds, a dash for what was never reached."""
        found = [self.first, *(self.reached.get(gap) for gap in GAPS)]
        return " ".join(f"{seconds:7.1f}" if seconds is not None else "      -" for seconds in found)


def main(names: tuple[str, ...]) -> None:
    """Print the table."""
    awake()
    print("day     first    5 %     1 %   0.3 %       cost      bound    gap      s  breaches")
    for name in names:
        shape, seconds = DAYS[name]
        for seed in (1, 2) if name != "2000" else (1,):
            day, told = day_over_postcodes(shape, seed), Milestones()
            plan = solve(day, seconds=seconds, progress=told)
            bound = plan.bound.pence if plan.bound else 0
            print(f"{name:5} {told.text()} {plan.cost_pence / 100:10.2f} {bound / 100:10.2f} {plan.gap or 0:6.2%} "
                  f"{plan.seconds:6.0f} {len(check_plan(day, plan)):9}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main(tuple(sys.argv[1:]) or tuple(name for name in DAYS if name != "2000"))
