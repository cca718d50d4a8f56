"""Listing every run of a rig within reach."""

from planner.runs.run import RunKind
from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.pricing import Duals
from planner.search.proving import every_run
from planner.search.rig_making import rigs_of
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
