"""Tasks done alone: legal at their price; one that a transporter cannot do alone it cannot do in company either."""

from dataclasses import replace

import pytest

from planner.model.places import Window
from planner.runs.referee import check_plan
from planner.runs.refusal import Refusal
from planner.runs.run import Run, RunKind
from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.rig_making import rigs_of
from planner.search.solve import solve
from planner.search.starting import alone_columns
from planner.search.truth import Truth
from tests.bench.invented_days import Shape, invented_day


def late_day(seed):
    """A day on which the first three buyers are at home so late that hardly anybody is back in time."""
    day = invented_day(Shape(moves=14, compounds=2, decks=(1, 2)), seed)
    late = sorted(move.move_id for move in day.moves if move.destination_window is not None)[:3]
    moves = tuple(
        replace(move, destination_window=Window(opens_min=1130, closes_min=1190)) if move.move_id in late else move for move in day.moves
    )
    return replace(day, moves=moves)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_what_is_barred_nobody_can_do_and_the_rest_is_legal(seed):
    day = late_day(seed)
    classes, types = driver_classes(day), transporter_types(day)
    rigs = rigs_of(day, classes, types)
    open_before = [rig.closes[: len(rig.tasks)] >= rig.may_start[: len(rig.tasks)] for rig in rigs]
    truth = Truth(day, rigs, classes, types)
    found = {}
    for column in alone_columns(rigs, truth):
        assert isinstance(run := truth.of(column), Run)
        assert run.cost_pence == column.pence
        found[column.rig, column.moves] = column
    barred = 0
    for number, (rig, was_open) in enumerate(zip(rigs, open_before, strict=True)):
        is_open = rig.closes[: len(rig.tasks)] >= rig.may_start[: len(rig.tasks)]
        for place, task in enumerate(rig.tasks):
            if (number, task.moves) in found:
                assert is_open[place] == was_open[place]
            elif rig.kind is RunKind.TRANSPORTER:
                assert not is_open[place]
                barred += bool(was_open[place])
                hubs = [int(hub[place]) + len(rig.tasks) if hub[place] >= 0 else None for hub in (rig.from_hub, rig.to_hub)]
                places = tuple(item for item in (hubs[0], place, hubs[1]) if item is not None)
                some = next(iter(found.values()))
                for option, crew in enumerate(rig.options):  # every one of them, not only those that were tried
                    way = replace(
                        some, moves=task.moves, rig=number, option=option, classes=crew.classes, places=places,
                        transporter_type=rig.transporter_type, plate_base=None,
                    )  # fmt: skip
                    assert isinstance(truth.of(way), Refusal)
    assert barred


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_bound_of_a_day_with_barred_tasks_is_below_its_plan(seed):
    day = late_day(seed)
    plan = solve(day, seconds=20)
    assert check_plan(day, plan) == ()
    assert plan.bound is not None
    assert plan.bound.pence <= plan.cost_pence


def test_nights_out_are_not_timed_before_the_search_begins():
    day = invented_day(Shape(moves=8, decks=(1,)), 1)
    day = replace(
        day, policy=replace(day.policy, nights_out=True), drivers=tuple(replace(driver, may_stay_out=True) for driver in day.drivers)
    )
    classes, types = driver_classes(day), transporter_types(day)
    rigs = rigs_of(day, classes, types)
    assert any(rig.stays_out for rig in rigs)
    found = alone_columns(rigs, Truth(day, rigs, classes, types))
    assert found
    assert not any(rigs[column.rig].stays_out for column in found)
