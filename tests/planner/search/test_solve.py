"""Plans of the search: legal for the referee, never below their bound, the same again, and an answer on bad days."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from planner.model.crews import CarrierId
from planner.model.decks import library
from planner.model.places import Window
from planner.runs.bays import bays_overrun
from planner.runs.referee import check_plan
from planner.search.baseline import solve_baseline
from planner.search.labels import Mode
from planner.search.solve import solve, solve_priced
from planner.search.solving import Solving
from tests.bench.invented_days import Shape, invented_day


def legal(day, plan):
    """The referee finds nothing, every move is placed or left once, and the bound holds."""
    assert check_plan(day, plan) == ()
    placed = [move for run in plan.runs for move in run.itinerary.moves]
    assert sorted([*placed, *(left.move for left in plan.not_placed)]) == sorted(move.move_id for move in day.moves)
    assert plan.bound is None or plan.bound.pence <= plan.cost_pence
    assert all(left.reason for left in plan.not_placed)
    return plan


@pytest.mark.parametrize("seed", [1, 2])
def test_a_small_day_is_planned_within_one_per_cent(seed):
    day = invented_day(Shape(moves=24), seed)
    plan = legal(day, solve(day, seconds=20))
    assert plan.gap is not None
    assert plan.gap <= 0.01


@pytest.mark.parametrize(("seed", "compounds", "decks"), [(5, 2, (2, 6)), (6, 1, (1,))])
def test_never_dearer_than_the_general_model_and_never_below_the_bound(seed, compounds, decks):
    day = invented_day(Shape(moves=18, compounds=compounds, decks=decks, window_min=360), seed)
    plan = legal(day, solve(day, seconds=15))
    other = legal(day, solve_baseline(day, seconds=3))
    assert plan.cost_pence <= other.cost_pence
    assert plan.bound is not None
    assert plan.bound.pence <= other.cost_pence


def test_the_same_rounds_give_the_same_plan():
    day = invented_day(Shape(moves=16), 3)
    first, second = (solve(day, seconds=60, seed=7, rounds=6) for _ in range(2))
    assert first.runs == second.runs
    assert first.bound == second.bound


def test_progress_closes_in():
    told = []
    solve(invented_day(Shape(moves=16), 4), seconds=10, progress=lambda seconds, cost, bound: told.append((seconds, cost, bound)))
    costs = [cost for _, cost, _ in told]
    bounds = [bound for *_, bound in told if bound is not None]
    assert costs == sorted(costs, reverse=True)
    assert bounds == sorted(bounds)


def bad_days():
    day = invented_day(Shape(moves=12), 8)
    yield "no orders", replace(day, moves=())
    yield "no crews", replace(day, drivers=(), transporters=(), carriers=())
    yield "no crews but a carrier", replace(day, drivers=(), transporters=())
    yield "one crew", replace(day, drivers=day.drivers[:1], transporters=day.transporters[:1], carriers=())
    past = Window(opens_min=-600, closes_min=-500)
    yield "windows in the past", replace(day, moves=tuple(replace(move, destination_window=past, origin_window=past) for move in day.moves))
    heavy = tuple(replace(move, may_be_driven=False, car=replace(move.car, mass_kg=50_000)) for move in day.moves)
    yield "cars heavier than any deck", replace(day, moves=heavy)
    yield "no plates", replace(day, compounds=tuple(replace(item, plate_sets=0) for item in day.compounds))
    yield "shut", replace(day, compounds=tuple(replace(item, window=None) for item in day.compounds))


@pytest.mark.parametrize(("name", "day"), list(bad_days()), ids=lambda item: item if isinstance(item, str) else "")
def test_a_bad_day_gets_an_answer_with_reasons(name, day):
    plan = legal(day, solve(day, seconds=10))
    if name == "no crews":
        assert plan.runs == ()
    if name == "windows in the past":  # a hired carrier keeps windows at its own risk
        assert all(run.itinerary.carrier for run in plan.runs)


def test_pins_are_kept():
    day = invented_day(Shape(moves=10, decks=(2, 6)), 9)
    driver = next(item for item in day.drivers if item.may_drive_plates)
    lead = next(move for move in day.moves if move.may_be_driven and move.car.range_m is None and not any(other.tied_to == move.move_id for other in day.moves))
    other = next(move for move in day.moves if move is not lead and move.tied_to is None)
    pins = {lead.move_id: {"pinned_driver": driver.driver_id}, other.move_id: {"pinned_transporter": day.transporters[0].transporter_id}}
    tied = {move.move_id: move.tied_to for move in day.moves if move.tied_to}
    moves = tuple(replace(move, **pins.get(move.move_id, pins.get(tied.get(move.move_id), {}))) for move in day.moves)
    pinned = replace(day, moves=moves, carriers=())
    plan = legal(pinned, solve(pinned, seconds=10))
    for run in plan.runs:
        if lead.move_id in run.itinerary.moves:
            assert run.itinerary.driver == driver.driver_id
        if other.move_id in run.itinerary.moves:
            assert run.itinerary.transporter == day.transporters[0].transporter_id


def test_a_task_that_nobody_can_do_is_not_counted_on_by_the_bound():
    """Seed found by looking: one delivery ends six minutes after every shift once the breaks that are due are put in."""
    day = invented_day(Shape(moves=100, compounds=2), 1)
    plan = legal(day, solve(day, seconds=40))
    assert plan.gap is not None
    assert plan.gap <= 0.005


def test_transporters_wait_for_no_bay():
    day = invented_day(Shape(moves=40, decks=(1, 2)), 5)
    free = solve(day, seconds=10)
    assert bays_overrun(replace(day, compounds=tuple(replace(item, bays=1) for item in day.compounds)), free.runs)
    narrow = replace(day, compounds=tuple(replace(item, bays=1) for item in day.compounds))
    plan = legal(narrow, solve(narrow, seconds=10))
    assert plan.cost_pence >= free.cost_pence
    assert plan.bound is not None
    assert "bays at compounds" in plan.bound.relaxed


def test_a_small_day_is_proven_to_the_penny_or_so():
    day = invented_day(Shape(moves=30), 1)
    plan = legal(day, solve(day, seconds=20))
    assert plan.bound is not None
    assert plan.cost_pence - plan.bound.pence <= 1e-3 * plan.cost_pence
    assert not any("breaks" in text for text in plan.bound.relaxed)


def test_prices_say_what_one_more_crew_would_save():
    day = invented_day(Shape(moves=16), 4)
    short = replace(day, drivers=tuple(item for item in day.drivers if item.role == "plate driver")[:1], carriers=())
    solution = solve_priced(short, seconds=10)
    assert solution.prices is not None
    assert max(solution.prices.driver.values()) > 0
    assert all(value <= move.stays_behind_pence + 1e-6 for move in short.moves for value in [solution.prices.move[move.move_id]])
    assert CarrierId("H0") not in {run.itinerary.carrier for run in solution.plan.runs}


def test_a_crowded_deck_is_told_of_among_cars_that_only_one_driver_may_carry():
    """What one driver's transporter cannot take together holds sizes that the same transporter never carries with another at the wheel."""
    day = invented_day(Shape(moves=8, decks=(6,), window_min=600, crews_for=2.0), 8)
    first = next(driver.driver_id for driver in day.drivers if not driver.may_drive_plates)
    moves = tuple(
        replace(move, car=replace(move.car, length_mm=move.car.length_mm + 450 + number, height_mm=move.car.height_mm + 200),
                may_be_driven=False, pinned_driver=first if number % 2 and move.tied_to is None else None)
        for number, move in enumerate(day.moves)
    )  # fmt: skip
    legal(day := replace(day, moves=moves, decks={"six-car": library()["six-car-rigid"]}, carriers=()), solve(day, seconds=10))


def test_a_column_that_serves_a_move_twice_is_never_timed(monkeypatch):
    monkeypatch.setattr("planner.search.solving.NEAR_A_MOVE", 10_000)  # all columns are near
    day = replace(invented_day(Shape(moves=12, decks=(6,)), 1), decks={"six-car": library()["six-car-rigid"]})
    solving = Solving(day, seconds=20, rounds=None, progress=None)
    with ThreadPoolExecutor(1) as pool:
        solving.price_until(pool, Mode.ROUGH)
        once = next(column for column in solving.master.columns if column.transporter_type >= 0)
        twice = replace(once, pence=0.0, moves=once.moves * 2, places=once.places * 2)
        solving.master.add([twice])
        solving.settle(pool)
    assert not solving.truth.is_known(twice)
    assert solving.truth.known
