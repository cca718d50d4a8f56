"""A plan is made cheaper neighbourhood by neighbourhood: legal throughout, the same on any executor, never dearer."""

from dataclasses import replace

import pytest

from planner.runs.bays import bays_overrun
from planner.runs.plan import Plan
from planner.runs.referee import check_plan
from planner.search.excerpt import excerpt
from planner.search.executors import InProcesses
from planner.search.improving import improve
from planner.search.left_behind import left_behind
from planner.search.solve import solve
from tests.bench.invented_days import Shape, invented_day
from tests.planner.search.greedy import greedy


def plenty():
    return 100.0


@pytest.fixture(scope="module")
def start():
    day = invented_day(Shape(moves=30, compounds=2, decks=(2, 6)), 3)
    return day, greedy(day, 1).runs


def planned(day, runs):
    plan = Plan(runs=runs, not_placed=left_behind(day, runs))
    assert check_plan(day, plan) == ()
    return plan


def test_a_greedy_plan_comes_near_the_proven_best(start):
    day, runs = start
    better = planned(day, improve(day, runs, left=plenty, rounds=12, sizes=(20,)))
    best = solve(day, seconds=10)
    assert best.bound.pence <= better.cost_pence <= 1.04 * best.bound.pence
    assert better.cost_pence < 0.8 * planned(day, runs).cost_pence


def test_processes_find_the_same(start):
    day, runs = start
    here = improve(day, runs, left=plenty, rounds=2, sizes=(10,))
    with InProcesses() as executor:
        assert improve(day, runs, left=plenty, rounds=2, sizes=(10,), executor=executor) == here


def test_each_gain_is_told_and_none_is_given_up(start):
    day, runs = start
    told = []
    better = improve(day, runs, left=plenty, rounds=3, sizes=(10,), tell=told.append)
    assert told == sorted(told, reverse=True)
    assert planned(day, better).cost_pence == told[-1] < planned(day, runs).cost_pence


def test_bays_are_kept_across_neighbourhoods(start):
    day, _ = start
    day = replace(day, compounds=tuple(replace(compound, bays=1) for compound in day.compounds))
    runs = greedy(day, 1).runs
    kept = [run for number, run in enumerate(runs) if not bays_overrun(day, runs[: number + 1])]
    while bays_overrun(day, kept):
        kept.pop()
    planned(day, improve(day, kept, left=plenty, rounds=3, sizes=(10,)))


def test_without_time_nothing_changes(start):
    day, runs = start
    assert planned(day, improve(day, runs, left=lambda: 0.0)).cost_pence == planned(day, runs).cost_pence


def test_an_excerpt_keeps_every_distance_it_needs(start):
    day, _ = start
    some = excerpt(day, [move.move_id for move in day.moves[:5]])
    assert len(some.places) < len(day.places)
    for kind, table in some.tables.items():
        for one in some.places:
            for other in some.places:
                here, there = some.place_index[one.place_id], some.place_index[other.place_id]
                old = day.place_index[one.place_id], day.place_index[other.place_id]
                assert table.metres[here, there] == day.tables[kind].metres[old]
                assert some.rides.minutes[here, there] == day.rides.minutes[old]
