"""Truth: what stands in the way of a run is told by its rule, and what is over and done stands in no way."""

from dataclasses import replace

from planner.runs.past import on_time, past_of
from planner.runs.run import Run, RunKind
from planner.runs.timing import lay_out
from planner.search.solve import solve
from planner.search.truth import NO_LOAD, timed
from tests.bench.invented_days import Shape, invented_day, with_library_decks


def carried():
    """A day with decks and a run of it that delivers two cars at least."""
    day = with_library_decks(invented_day(Shape(moves=8, decks=(6,)), 2))
    day = replace(day, moves=tuple(replace(move, may_be_driven=False, tied_to=None) for move in day.moves if move.tied_to is None), carriers=())
    plan = solve(day, seconds=10, rounds=2)
    return day, max((run for run in plan.runs if run.kind is RunKind.TRANSPORTER), key=lambda run: len(run.visits))


def with_car(day, move_id, **figures):
    """The day with other figures of a move's car."""
    moves = (replace(move, car=replace(move.car, **figures)) if move.move_id == move_id else move for move in day.moves)
    return replace(day, moves=tuple(moves))


def test_stops_in_a_wrong_order_are_refused_for_that():
    day, run = carried()
    answer = timed(day, replace(run.itinerary, stops=run.itinerary.stops[::-1]))
    assert not isinstance(answer, Run)
    assert answer.rule == "order of stops"


def test_a_car_too_long_for_the_deck_is_refused_until_it_was_left():
    day, run = carried()
    first = next(number for number, visit in enumerate(run.visits) if visit.leaves)
    longer = with_car(day, run.visits[first].leaves[0], length_mm=7000)
    assert timed(longer, run.itinerary) is NO_LOAD
    now_min = run.visits[first].end_min + 1
    past = past_of(run, on_time(run, now_min), now_min=now_min)
    assert not past.is_over
    under_way = replace(run.itinerary, past=past)
    assert isinstance(lay_out(longer, under_way), Run)
    assert isinstance(timed(longer, under_way), Run)


def test_a_run_that_is_over_is_as_it_was():
    day, run = carried()
    past = past_of(run, on_time(run, run.end_min), now_min=run.end_min)
    assert past.is_over
    longer = with_car(day, run.visits[0].takes[0], length_mm=7000)
    assert timed(longer, replace(run.itinerary, past=past)).visits == past.visits
