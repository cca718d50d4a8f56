"""The baseline routes the day: everything placed where it can be, legal, the same again for the same seed."""

from dataclasses import replace

import pytest

from planner.model.places import Window
from planner.runs.referee import check_plan
from planner.search.baseline import solve_baseline
from tests.planner.runs.random_days import random_day
from tests.planner.runs.worked_day import worked_day


@pytest.fixture
def day():
    made = worked_day()
    return replace(made, moves=tuple(replace(move, stays_behind_pence=150_000) for move in made.moves))


def solved(day, **how):
    plan = solve_baseline(day, **{"seconds": 1, **how})
    assert check_plan(day, plan) == ()
    return plan


def test_everything_that_can_be_placed_is(day):
    plan = solved(day)
    assert plan.not_placed == ()
    assert sorted(move for run in plan.runs for move in run.itinerary.moves) == ["M1", "M2", "M3", "M4"]


def test_the_same_seed_and_rounds_give_the_same_plan(day):
    first, second = (solved(day, seconds=10, rounds=20, seed=3) for _ in range(2))
    assert first.runs == second.runs


def test_without_crews_every_move_stays_behind_with_a_reason(day):
    plan = solved(replace(day, drivers=(), transporters=(), carriers=()))
    assert plan.runs == ()
    assert [left.move for left in plan.not_placed] == ["M1", "M2", "M3", "M4"]
    assert plan.not_placed[0].reason == "No crew or carrier is on duty."
    assert plan.cost_pence == 600_000


def test_a_carrier_takes_what_no_crew_can(day):
    plan = solved(replace(day, drivers=(), transporters=()))
    assert [run.kind for run in plan.runs] == ["hired carrier"]
    assert len(plan.not_placed) == 3


def test_a_window_that_cannot_be_met_is_named(day):
    gone = Window(opens_min=10, closes_min=20)
    moves = tuple(replace(move, destination_window=gone) if move.move_id == "M4" else move for move in day.moves)
    plan = solved(replace(day, moves=moves, carriers=()))
    assert [left.move for left in plan.not_placed] == ["M4"]
    assert "minutes short" in plan.not_placed[0].reason


def test_a_day_without_orders_is_an_empty_plan(day):
    plan = solved(replace(day, moves=()))
    assert (plan.runs, plan.not_placed, plan.cost_pence) == ((), (), 0)


def test_plates_are_counted(day):
    one_set = replace(day.compounds[0], plate_sets=0)
    plan = solved(replace(day, compounds=(one_set,)))
    assert all(run.kind != "plate run" for run in plan.runs)


def test_a_compound_without_a_free_bay_loads_no_transporter(day):
    shut = replace(day, compounds=tuple(replace(compound, bays=0) for compound in day.compounds))
    assert all(run.itinerary.transporter is None for run in solved(shut).runs)
    assert any(run.itinerary.transporter is not None for run in solved(replace(day, carriers=())).runs)


@pytest.mark.parametrize("seed", range(4))
def test_plans_of_random_days_pass_the_referee(seed):
    solved(random_day(seed), seconds=5, rounds=15)
