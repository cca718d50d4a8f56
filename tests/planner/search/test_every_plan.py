"""Tiny days planned as well as trying everything, and no legal plan that any method finds undercuts the bound."""

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.model.places import Window
from planner.runs.referee import check_plan
from planner.search.baseline import solve_baseline
from planner.search.solve import solve
from tests.bench.invented_days import Shape, invented_day, with_library_decks
from tests.planner.runs.random_days import random_day
from tests.planner.search.every_plan import least_cost
from tests.planner.search.far_days import far_and_wide
from tests.planner.search.greedy import greedy


def cut(seed, leads):
    """
    A corner-ridden day cut down to a few moves, three drivers and two transporters.

    Bays are left out, which the bound relaxes.
    """
    rng, day = random.Random(seed), random_day(seed)
    kept = {move.move_id for move in rng.sample([move for move in day.moves if move.tied_to is None], leads)}
    return replace(
        day,
        moves=tuple(move for move in day.moves if move.move_id in kept or move.tied_to in kept),
        drivers=tuple(rng.sample(day.drivers, 3)), transporters=tuple(rng.sample(day.transporters, 2)),
        compounds=tuple(replace(compound, bays=None) for compound in day.compounds),
    )  # fmt: skip


def held_against_everything(day):
    """The plan is legal and as cheap as the cheapest of all plans, and the bound is not above that."""
    plan, least = solve(day, seconds=20), least_cost(day)
    assert check_plan(day, plan) == ()
    assert plan.bound is None or plan.bound.pence <= least
    assert least <= plan.cost_pence
    assert plan.cost_pence <= least * 1.002  # a plan this near its bound is taken as good


@pytest.mark.parametrize("seed", [0, 6, 16, 23, 46, 58, 90])
def test_a_corner_ridden_day_is_planned_as_well_as_trying_everything(seed):
    """
    Seeds found by trying 900; the others passed before as well.

    6: no train leads to a door that a first delivery comes near; 16: no road from the base, but one by way of another
    compound; 23: the best plan has a night out; 46: a sold van, whose book asks for fewer breaks than that of cars on plates;
    58: a driver whose hours are over.
    """
    held_against_everything(cut(seed, 3))


@pytest.mark.parametrize(
    ("seed", "shape"),
    [(8, Shape(moves=4, decks=(2,), window_min=480)), (4, Shape(moves=4, decks=(1,), compounds=2, window_min=360)),
     (10, Shape(moves=5, decks=(2,), window_min=600))],
)  # fmt: skip
def test_an_ordinary_tiny_day_is_planned_as_well_as_trying_everything(seed, shape):
    held_against_everything(invented_day(shape, seed))


@pytest.mark.parametrize("seed", [8, 10, 12])
def test_a_tiny_day_on_a_deck_that_cars_do_not_fit_together_is_planned_as_well_as_trying_everything(seed):
    day = with_library_decks(invented_day(Shape(moves=5, decks=(6,), window_min=600), seed))
    longer = tuple(replace(move, car=replace(move.car, length_mm=move.car.length_mm + 450, height_mm=move.car.height_mm + 200)) for move in day.moves)
    held_against_everything(replace(day, moves=longer))


def test_two_cars_for_one_door_with_little_time_to_begin_are_left_in_one_visit():
    """The second begins after the window, which is what the visit has to begin in."""
    day = invented_day(Shape(moves=4, decks=(2,), window_min=480, crews_for=0.3), 23)
    door, window = day.moves[0].destination, Window(opens_min=600, closes_min=620)
    moves = (replace(move, destination=door, destination_window=window, may_be_driven=False, no_large_vehicle=False) for move in day.moves)
    held_against_everything(replace(day, moves=tuple(moves), drivers=day.drivers[:2], transporters=day.transporters[:2], carriers=()))


def test_a_transporter_that_brings_in_one_car_after_another_calls_twice_at_its_compound():
    """Seed found by trying 60: the best run leaves a collected car at the base and goes out for the next."""
    held_against_everything(far_and_wide(39, 3, 2))


@settings(max_examples=8, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 10_000), moves=st.integers(1, 9), compounds=st.integers(1, 2), decks=st.sampled_from([(1,), (2,), (2, 6)]),
    window_min=st.sampled_from([120, 240, 480]), has_decks=st.booleans(),
)  # fmt: skip
def test_no_plan_of_any_method_undercuts_the_bound(seed, moves, compounds, decks, window_min, has_decks):
    """bound <= cost of every legal plan: ours, the general routing model's, and a greedy one's."""
    day = invented_day(Shape(moves=moves, compounds=compounds, decks=decks, window_min=window_min), seed)
    if has_decks:
        day = with_library_decks(day)
    ours = solve(day, seconds=5)
    for plan in (ours, solve_baseline(day, seconds=0.2), greedy(day, seed)):
        assert check_plan(day, plan) == ()
        assert ours.bound is None or ours.bound.pence <= plan.cost_pence
