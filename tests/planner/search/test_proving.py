"""Listing every run of a rig within reach."""

from planner.runs.referee import check_plan
from planner.runs.run import RunKind
from planner.search import proving
from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.pricing import Duals
from planner.search.proving import every_run
from planner.search.rig_making import rigs_of
from planner.search.solve import solve
from tests.bench.invented_days import Shape, invented_day


def test_every_run_that_is_listed_does_a_move():
    day = invented_day(Shape(moves=4), 1)
    classes, types = driver_classes(day), transporter_types(day)
    rig = next(
        rig for rig in rigs_of(day, classes, types)
        if rig.kind is RunKind.TRANSPORTER and rig.is_dropped_at.any()
    )  # fmt: skip
    nothing = Duals(
        move={move.move_id: 0.0 for move in day.moves}, driver=[0.0] * len(classes), transporter=[0.0] * len(types),
        plates={str(place): 0.0 for place in day.compound_of},
    )  # fmt: skip
    runs = every_run(rig, 0, nothing, reach=1e6, most=100_000)
    assert runs
    assert all(any(place < len(rig.tasks) for place in run.places) for run in runs)


def test_runs_too_many_to_list_count_as_far_below_zero_as_those_that_can_be(monkeypatch):
    """With room for four runs a list, the bound holds and is within what the deepest list leaves open."""
    day = invented_day(Shape(moves=24, window_min=480, decks=(2, 6)), 3)
    proven = solve(day, seconds=10)
    for name in ("LEAST_TIMED", "MOST_TIMED", "MOST_LISTED"):
        monkeypatch.setattr(proving, name, 4)
    plan = solve(day, seconds=10)
    assert check_plan(day, plan) == ()
    assert 0.97 * proven.bound.pence < plan.bound.pence <= proven.cost_pence
