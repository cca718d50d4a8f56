"""Parts of a big day share nothing and leave nothing out; solved apart and joined they make one legal plan."""

from collections import Counter
from dataclasses import replace

import pytest

from planner.runs.referee import check_plan
from planner.runs.refusal import Refusal
from planner.runs.timing import lay_out
from planner.search import big_day
from planner.search.executors import InProcess
from planner.search.parts import parts_of
from planner.search.single import alone, lead_moves
from planner.search.solve import solve
from tests.bench.invented_days import Shape, invented_day


@pytest.mark.parametrize(("compounds", "most"), [(1, 20), (3, 15)])
def test_parts_share_nothing_and_leave_nothing_out(compounds, most):
    day = invented_day(Shape(moves=60, compounds=compounds), 1)
    parts = parts_of(day, most=most)
    assert len(parts) > 1
    for name, key in (("moves", "move_id"), ("drivers", "driver_id"), ("transporters", "transporter_id")):
        found = Counter(getattr(item, key) for part in parts for item in getattr(part, name))
        assert found == Counter(getattr(item, key) for item in getattr(day, name))
    for number, compound in enumerate(day.compounds):
        assert sum(part.compounds[number].plate_sets for part in parts) == compound.plate_sets
    assert sum(item.cars for part in parts for item in part.carriers) == sum(item.cars for item in day.carriers)


def test_a_move_goes_where_a_crew_can_do_it():
    day = invented_day(Shape(moves=60, compounds=3, window_min=120), 1)
    day = replace(day, drivers=tuple(replace(driver, home_by_min=1080) for driver in day.drivers))
    elsewhere = 0

    def can(crews, move):
        return any(not isinstance(lay_out(crews, way), Refusal) for way in alone(crews, move) if way.carrier is None)

    for part in parts_of(day, most=30):
        for move in lead_moves(part):
            bases = {driver.base for driver in part.drivers}
            assert len(bases) == 1
            stands = move.origin if move.origin in day.compound_of else move.destination
            elsewhere += stands not in bases
            assert can(part, move) or not can(day, move)
    assert elsewhere


def test_parts_joined_are_one_legal_plan_as_good_as_that_of_the_whole(monkeypatch):
    day = invented_day(Shape(moves=40, compounds=2), 2)
    whole = solve(day, seconds=20)
    assert whole.bound is not None
    monkeypatch.setattr(big_day, "parts_of", lambda whole: parts_of(whole, most=20))
    plan = solve(day, seconds=12, executor=InProcess())
    assert check_plan(day, plan) == ()
    assert plan.bound is not None
    assert 0.97 * whole.bound.pence <= plan.bound.pence <= whole.cost_pence
    assert whole.bound.pence <= plan.cost_pence <= 1.02 * whole.cost_pence
