"""PyVRP, an independent solver, never beats the bound nor the plan on small days."""

import pytest

from planner.runs.referee import check_plan
from planner.search.solve import solve
from tests.bench.by_pyvrp import solve_by_pyvrp
from tests.bench.invented_days import Shape, invented_day


@pytest.mark.filterwarnings("ignore")  # of penalties that reach their most
@pytest.mark.parametrize(
    ("seed", "shape"), [(4, Shape(moves=16)), (7, Shape(moves=20, compounds=2, window_min=480)), (2, Shape(moves=24, decks=(1, 6)))]
)
def test_it_never_beats_the_bound(seed, shape):
    day = invented_day(shape, seed)
    other = solve_by_pyvrp(day, seconds=1)
    assert check_plan(day, other) == ()
    assert other.runs
    ours = solve(day, seconds=10)
    assert ours.bound is not None
    assert ours.bound.pence <= ours.cost_pence <= other.cost_pence
    assert ours.bound.pence <= other.cost_pence
