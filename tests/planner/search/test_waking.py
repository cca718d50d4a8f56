"""The day that wakes the kernels is a real one: it is planned whole, and the referee finds nothing."""

from planner.runs.referee import check_plan
from planner.search.solve import solve
from planner.search.waking import waking_day


def test_the_waking_day_is_planned_legally():
    day = waking_day()
    plan = solve(day, seconds=20, rounds=20)
    assert plan.not_placed == ()
    assert check_plan(day, plan) == ()
