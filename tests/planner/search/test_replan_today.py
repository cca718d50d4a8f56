"""A day replanned while it runs: what is done stands, nobody is disturbed without need, and tiny days match trying everything."""

from dataclasses import replace
from functools import cache
from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.model.progress import MoveEnd, MoveOutcome, Progress, Stopped
from planner.runs.expected import expected
from planner.runs.past import on_time
from planner.runs.referee import Rule, check_plan, check_progress
from planner.runs.run import RunKind
from planner.runs.sharing import share_costs
from planner.runs.standing import FIRST_PART, standing
from planner.search.replan_today import replan_today
from planner.search.solve import solve
from tests.bench.invented_days import Shape, invented_day, with_library_decks
from tests.bench.replanning import breakdown


@cache
def planned(seed, moves=16, crews_for=1.0, *, has_decks=False):
    day = invented_day(Shape(moves=moves, decks=(2, 3, 6) if has_decks else (2, 3), crews_for=crews_for), seed)
    if has_decks:
        day = with_library_decks(day)
    plan = solve(day, seconds=20, rounds=2)
    assert check_plan(day, plan) == ()
    return day, plan


def on_time_all(plan, now_min):
    told = (on_time(run, now_min) for run in plan.runs)
    return Progress(now_min=now_min, runs=tuple(item for item in told if item is not None))


def replanned(day, plan, progress, **limits):
    """Replan with nothing done undone, and all that the referee asks."""
    found = replan_today(day, plan, progress, **{"seconds": 20, "rounds": 12, **limits})
    assert [str(breach) for breach in check_plan(found.day, found.plan)] == []
    assert [str(breach) for breach in check_progress(day, plan, progress, found.day, found.plan)] == []
    return found


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(1, 3), now_min=st.integers(300, 1300))
def test_with_no_event_nothing_changes(seed, now_min):
    day, plan = planned(seed)
    found = replanned(day, plan, on_time_all(plan, now_min))
    assert found.changes == ()
    assert found.cost_change_pence == 0
    assert [replace(run, itinerary=replace(run.itinerary, past=None)) for run in found.plan.runs] == sorted(
        plan.runs, key=lambda run: run.run_id)  # fmt: skip


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(1, 3), now_min=st.integers(400, 1000), which=st.integers(0, 20), late=st.integers(1, 120))
def test_nothing_done_ever_changes(seed, now_min, which, late):
    """One run comes late by any time; the rest is legal, and so is what becomes of it."""
    day, plan = planned(seed)
    progress = on_time_all(plan, now_min)
    if not progress.runs:
        return
    struck = progress.runs[which % len(progress.runs)]
    if struck.off_duty_min is not None:
        return
    others = tuple(replace(item, late_min=late) if item is struck else item for item in progress.runs)
    replanned(day, plan, replace(progress, runs=others), rounds=4)


@pytest.mark.parametrize("now_min", [420, 600, 780])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_breakdown_moves_only_what_it_must(seed, now_min):
    day, plan = planned(seed)
    progress, struck = breakdown(plan, now_min)
    found = replanned(day, plan, progress)
    kept = {run.run_id: run for run in found.plan.runs}
    assert struck.itinerary.transporter not in {
        run.itinerary.transporter for run in found.plan.runs if run.run_id != struck.run_id
    }
    ended = kept.get(struck.run_id)
    assert ended is None or all(
        move.endswith(FIRST_PART) or any(move in stop.leaves for stop in struck.itinerary.stops) for move in ended.itinerary.moves
    )
    assert {move for move in found.moved if move not in struck.itinerary.moves} == set() or found.broken == ()


@pytest.mark.parametrize("seed", [1, 2])
def test_the_cost_of_a_run_under_way_is_shared_among_its_cars(seed):
    day, plan = planned(seed, has_decks=True)
    progress, _ = breakdown(plan, 600)
    found = replanned(day, plan, progress, rounds=3)
    under_way = [run for run in found.plan.runs if run.itinerary.past and run.costs]
    assert under_way
    for run in under_way:
        assert sum(share.pence for share in share_costs(found.day, run)) == run.cost_pence


def test_a_run_none_of_whose_moves_can_be_done_any_more_is_dropped_and_its_moves_stay():
    """Every run is said not to have begun, late in the evening, so that the shifts are over."""
    day, plan = planned(1)
    found = replanned(day, plan, Progress(now_min=1430), rounds=2)
    assert all(run.start_min >= 1430 for run in found.plan.runs if run.activities)
    assert set(found.left) == {move for run in plan.runs for move in run.itinerary.moves} - {
        move for run in found.plan.runs for move in run.itinerary.moves}  # fmt: skip


@settings(max_examples=6, deadline=None)
@given(seed=st.integers(1, 3), now_min=st.integers(400, 900), fewer=st.integers(1, 6), more=st.integers(0, 8))
def test_more_rounds_are_never_worse(seed, now_min, fewer, more):
    day, plan = planned(seed)
    progress, _ = breakdown_or_none(plan, now_min)
    if progress is None:
        return
    few = replanned(day, plan, progress, rounds=fewer)
    many = replanned(day, plan, progress, rounds=fewer + more)
    assert rank(many) <= rank(few)


def breakdown_or_none(plan, now_min):
    try:
        return breakdown(plan, now_min)
    except ValueError:  # nobody is under way
        return None, None


def rank(found):
    """Promises broken, then moves with another crew, then minutes late, then cost."""
    broken = len(found.left) + len(found.late)
    minutes = sum(item.expected_min + 1 - item.closes_min for item in found.late)
    return (broken, len(found.moved) + len(found.left), minutes, found.plan.cost_pence)


@pytest.mark.parametrize("later_min", [5, 90, 240])
def test_a_day_replanned_is_replanned_again(later_min):
    """After a breakdown and a refusal everything goes on as expected: nothing more changes, whatever is told again."""
    day, plan = planned(1)
    progress, struck = breakdown(plan, 600)
    doors = [
        (run, visit) for run in plan.runs for visit in run.visits
        if run.run_id != struck.run_id and visit.leaves and visit.place not in day.compound_of and visit.end_min <= 600
    ]  # fmt: skip
    outcomes = tuple(MoveOutcome(move=visit.leaves[0], end=MoveEnd.REFUSED) for _, visit in doors[-1:])
    once = replanned(day, plan, replace(progress, outcomes=outcomes))
    now_min = 600 + later_min
    told = (on_time(run, now_min) for run in once.plan.runs)
    known = tuple(item for item in told if item is not None and item.run != struck.run_id)
    again = replace(progress, now_min=now_min, runs=known, outcomes=outcomes)
    twice = replan_today(once.day, once.plan, again, rounds=6)
    assert [str(breach) for breach in check_plan(twice.day, twice.plan)] == []
    assert twice.moved == ()
    assert twice.cost_change_pence == 0
    assert {item.move for item in twice.late} <= {item.move for item in once.late}


def test_a_refused_car_goes_back_and_its_part_exchange_stays():
    day, plan = planned(1)
    carried = next(run for run in plan.runs if run.kind is RunKind.TRANSPORTER)
    door = next(rank for rank, visit in enumerate(carried.visits) if visit.leaves and visit.place not in day.compound_of)
    move = carried.visits[door].leaves[0]
    now_min = carried.visits[door].end_min
    progress = replace(on_time_all(plan, now_min), outcomes=(MoveOutcome(move=move, end=MoveEnd.REFUSED),))
    found = replanned(day, plan, progress)
    run = next(item for item in found.plan.runs if item.run_id == carried.run_id)
    left_at = next(stop.place for stop in run.itinerary.stops if move in stop.leaves)
    assert left_at == day.move_of[move].origin
    assert run.visits[door].leaves == ()
    follower = day.part_exchange_of.get(move)
    assert follower is None or follower.move_id not in run.itinerary.moves


@pytest.mark.parametrize("now_min", [420, 600, 720, 840])
def test_cars_on_a_laid_out_deck_stay_in_their_slots(now_min):
    """A breakdown, and each car in turn refused at the last door: the referee follows every slot from what was done."""
    day, plan = planned(5, 24, has_decks=True)
    progress, _ = breakdown(plan, now_min)
    replanned(day, plan, progress, rounds=3)
    on_the_road = on_time_all(plan, now_min)
    for told in on_the_road.runs:
        run = next(item for item in plan.runs if item.run_id == told.run)
        last = run.visits[len(told.visits) - 1] if told.visits else None
        if last is None or last.place in day.compound_of or not last.leaves or run.kind is not RunKind.TRANSPORTER:
            continue
        outcome = MoveOutcome(move=last.leaves[0], end=MoveEnd.REFUSED)
        found = replanned(day, plan, replace(on_the_road, outcomes=(outcome,)), rounds=3)
        assert not found.cannot


def test_a_car_that_failed_its_check_was_never_taken():
    day, plan = planned(1)
    run = next(item for item in plan.runs if item.kind is RunKind.TRANSPORTER)
    move = run.itinerary.stops[0].takes[0]
    progress = replace(
        on_time_all(plan, run.visits[0].end_min), outcomes=(MoveOutcome(move=move, end=MoveEnd.FAILED_CHECK),)
    )
    found = replanned(day, plan, progress)
    assert move not in {item for one in found.plan.runs for item in one.itinerary.moves}


def test_the_referee_sees_a_report_that_was_not_kept():
    day, plan = planned(1)
    progress = on_time_all(plan, 800)
    found = replanned(day, plan, progress)
    told = next(item for item in progress.runs if item.visits and item.visits[0].left_min)
    later = replace(told, visits=(replace(told.visits[0], arrived_min=told.visits[0].arrived_min - 1), *told.visits[1:]),
                    began_min=told.began_min - 1)  # fmt: skip
    reported = replace(progress, runs=tuple(later if item is told else item for item in progress.runs))
    assert {breach.rule for breach in check_progress(day, plan, reported, found.day, found.plan)} == {Rule.PAST}
    gone = replace(found.plan, runs=tuple(run for run in found.plan.runs if run.run_id != told.run))
    assert {breach.rule for breach in check_progress(day, plan, progress, found.day, gone)} == {Rule.PAST}


def test_a_refused_car_on_plates_is_driven_back():
    day, plan = next(
        (day, plan) for day, plan in map(planned, (1, 2, 3)) if any(run.kind is RunKind.PLATE for run in plan.runs)
    )
    driven = next(run for run in plan.runs if run.kind is RunKind.PLATE and run.itinerary.stops[0].takes)
    move = driven.itinerary.moves[0]
    if day.move_of[move].origin not in day.compound_of:
        return
    progress = replace(
        on_time_all(plan, driven.visits[1].end_min), outcomes=(MoveOutcome(move=move, end=MoveEnd.NOBODY_HOME),)
    )
    now = standing(day, plan, progress)
    stops = dict(now.going)[driven.run_id].stops
    assert [stop.leaves for stop in stops[1:3]] == [(), (move,)]
    found = replanned(day, plan, progress)
    run = next(item for item in found.plan.runs if item.run_id == driven.run_id)
    assert run.visits[2].leg_by == "car"


def test_a_cancelled_car_that_has_not_left_is_not_fetched():
    day, plan = planned(2)
    run = max(plan.runs, key=lambda item: item.start_min)
    move = run.itinerary.moves[0]
    progress = Progress(now_min=run.start_min - 10, outcomes=(MoveOutcome(move=move, end=MoveEnd.CANCELLED),))
    progress = replace(progress, runs=on_time_all(plan, run.start_min - 10).runs)
    found = replanned(day, plan, progress)
    assert move not in found.day.move_of
    assert move not in {item for one in found.plan.runs for item in one.itinerary.moves}
    assert "not done today" in {change.says for change in found.changes if change.move == move}


def test_a_driver_who_falls_ill_before_the_start_is_replaced():
    day, plan = planned(1, crews_for=2.0)
    run = max(plan.runs, key=lambda item: (item.kind is RunKind.TRANSPORTER, item.start_min))
    progress = replace(on_time_all(plan, run.start_min - 5), drivers_out=frozenset({run.itinerary.driver}))
    found = replanned(day, plan, progress)
    assert run.itinerary.driver not in {item.itinerary.driver for item in found.plan.runs}
    assert found.left == ()


def test_a_late_run_says_which_promise_and_until_when():
    """The window of a door shuts before the crew can be there: lay out refuses, the expected time says how late."""
    day, plan = planned(1)
    run = next(item for item in plan.runs if item.kind is RunKind.TRANSPORTER)
    door = next(rank for rank, visit in enumerate(run.visits) if visit.leaves and visit.window and visit.place not in day.compound_of)
    visit = run.visits[door]
    told = on_time(run, visit.arrive_min - 1)
    late_min = visit.window.closes_min - visit.arrive_min + 5
    progress = Progress(now_min=visit.arrive_min - 1, runs=(replace(told, late_min=late_min),))
    itinerary = dict(standing(day, plan, progress).going)[run.run_id]
    answer = expected(day, itinerary)
    if answer.run is None:
        assert answer.refusal.says
        return
    assert visit.leaves[0] in {item.move for item in answer.late}
    assert all(item.expected_min >= item.closes_min for item in answer.late)


def every_way(day, plan, progress):
    """The least rank over every assignment of the free moves to runs and crews, each run in every order of stops tried."""
    from planner.search.baseline import is_free
    from planner.search.insertions import is_open, put_in
    from planner.search.single import alone
    from planner.search.truth import timed

    now = standing(day, plan, progress)
    kept = dict(now.going)
    best = None
    for order in permutations(now.free):
        for leave in product((False, True), repeat=len(order)):
            states = [dict(kept)]
            for move, is_left in zip(order, leave, strict=True):
                if is_left:
                    continue
                grown = []
                for state in states:
                    for run_id, itinerary in state.items():
                        if is_open(itinerary):
                            grown += [{**state, run_id: way} for way in put_in(now.day, itinerary, move)]
                    runs = [type("R", (), {"itinerary": itinerary}) for itinerary in state.values()]
                    grown += [{**state, f"N{len(state)}": way} for way in alone(now.day, now.day.move_of[move])
                              if is_free(now.day, way, runs)]  # fmt: skip
                states = [state for state in grown if all(not is_refused(timed, now.day, way) for way in state.values())]
            broken = sum(leave)
            for state in states:
                pence = sum(priced(timed, now.day, way) for way in state.values())
                placed = {move for way in state.values() for move in way.moves}
                pence += sum(move.stays_behind_pence for move in now.day.moves if move.move_id not in placed)
                best = min(best or (broken, pence), (broken, pence))
    return best


KNOWN: dict = {}


def asked(timed, day, way):
    key = (id(day), way)
    if key not in KNOWN:
        KNOWN[key] = (day, timed(day, way))
    return KNOWN[key][1]


def is_refused(timed, day, way):
    return not hasattr(asked(timed, day, way), "cost_pence")


def priced(timed, day, way):
    return asked(timed, day, way).cost_pence


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_a_tiny_day_is_replanned_as_well_as_trying_everything(seed):
    """Two cars of a transporter that broke down, over every run and every idle crew: no fewer promises could be broken."""
    day = invented_day(Shape(moves=6, decks=(2,), crews_for=1.5), seed)
    plan = solve(day, seconds=20, rounds=3)
    under_way = [run for run in plan.runs if run.kind is RunKind.TRANSPORTER]
    if not under_way:
        pytest.skip("no transporter goes out")
    run = under_way[0]
    now_min = run.visits[0].end_min + 20
    told = [item for item in (on_time(one, now_min) for one in plan.runs) if item is not None]
    told = [replace(item, stopped=Stopped(at_min=now_min, says="breakdown")) if item.run == run.run_id else item for item in told]
    progress = Progress(now_min=now_min, runs=tuple(told), transporters_out=frozenset({run.itinerary.transporter}))
    found = replanned(day, plan, progress, rounds=40)
    least = every_way(day, plan, progress)
    assert least is not None
    assert len(found.broken) <= least[0]
    if not found.late and len(found.broken) == least[0]:
        assert found.plan.cost_pence <= least[1]
