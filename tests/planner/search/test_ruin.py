"""Ruin and recreate: as good as trying everything on tiny fleets, near the best known on published ones, legal on days."""

import itertools

import numpy as np
import pytest

from planner.runs.referee import check_plan
from planner.runs.run import Run
from planner.search import course
from planner.search.ruin import Fleet, routes_of
from planner.search.ruin_runs import ruin_columns
from planner.search.solve import solve
from planner.search.solving import Solving
from tests.bench.best_known import BEST_KNOWN
from tests.bench.invented_days import Shape, invented_day
from tests.bench.published import read
from tests.bench.published import solve as solve_published


def tiny_fleet(seed, stops=5):
    """Two kinds that share one driver: a small quick vehicle and a large slow one."""
    rng = np.random.default_rng(seed)
    at = rng.integers(0, 60, (stops + 1, 2))
    apart = np.rint(np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))).astype(np.int64)
    opens = rng.integers(0, 120, (1, stops)).repeat(2, axis=0)
    work = rng.integers(5, 20, (2, stops))
    work[0, rng.integers(stops)] = -1
    return Fleet(
        minutes=np.stack([apart, apart * 3 // 2]), pence=np.stack([apart * 10.0, apart * 16.0]), work=work, opens=opens,
        closes=opens + rng.integers(30, 150), stop_pence=rng.integers(0, 50, (2, stops)).astype(float),
        kinds=np.array([[0, 0, 400, 300, 60, 2, 30], [1, 20, 400, 390, 0, 4, 90]]), fixed=np.array([100.0, 180.0]),
        wage=np.array([3.0, 2.0]), uses=np.array([[0, 1], [0, 2]]), free=np.array([3, 2, 1]), cars=np.ones(stops, np.int64),
        mass=rng.integers(5, 20, stops), stay=rng.integers(500, 3000, stops).astype(float),
    )  # fmt: skip


def route_cost(fleet, kind, stops):
    """What one route costs, by plain arithmetic; None when it cannot be."""
    matrix, start, home, span, shortest, slots, payload = (int(value) for value in fleet.kinds[kind])
    if len(stops) > slots or sum(fleet.mass[list(stops)]) > payload or any(fleet.work[matrix, stop] < 0 for stop in stops):
        return None

    def ends(at):
        here = -1
        for stop in stops:
            at = max(at + fleet.minutes[matrix, here, stop], fleet.opens[matrix, stop])
            if at > fleet.closes[matrix, stop]:
                return None
            at, here = at + fleet.work[matrix, stop], stop
        return at + fleet.minutes[matrix, here, -1]

    duties = [end - begin for begin in range(start, home) if (end := ends(begin)) is not None and end <= home]
    if not duties or min(duties) > span:
        return None
    legs = zip((-1, *stops), (*stops, -1), strict=True)
    money = sum(fleet.pence[matrix, one, other] for one, other in legs) + sum(fleet.stop_pence[matrix, stop] for stop in stops)
    return fleet.fixed[kind] + money + fleet.wage[kind] * max(shortest, min(duties))


def least(fleet):
    """The least cost of all ways to share the stops among routes or leave them out."""
    n = len(fleet.stay)
    routes = {}
    for kind in range(len(fleet.kinds)):
        for size in range(1, n + 1):
            for some in itertools.combinations(range(n), size):
                costs = [cost for order in itertools.permutations(some) if (cost := route_cost(fleet, kind, order)) is not None]
                if costs:
                    routes[kind, frozenset(some)] = min(costs)

    def rest(todo, free):
        if not todo:
            return 0.0
        first = min(todo)
        best = fleet.stay[first] + rest(todo - {first}, free)
        for (kind, some), cost in routes.items():
            if first in some and some <= todo and all(free[use] > 0 for use in fleet.uses[kind]):
                left = tuple(amount - (rank in fleet.uses[kind]) for rank, amount in enumerate(free))
                best = min(best, cost + rest(todo - some, left))
        return best

    return rest(frozenset(range(n)), tuple(int(amount) for amount in fleet.free))


@pytest.mark.parametrize("seed", range(8))
def test_a_tiny_fleet_is_routed_as_well_as_trying_everything(seed):
    fleet = tiny_fleet(seed)
    routes, cost = routes_of(fleet, left=lambda: 0.5, seed=1, hot=300.0, cold=10.0, most_routes=4, rounds=6000)
    assert cost == pytest.approx(least(fleet))
    served = [stop for route in routes for stop in route.stops]
    told = sum(route_cost(fleet, route.kind, route.stops) for route in routes)
    assert told + sum(pence for stop, pence in enumerate(fleet.stay) if stop not in served) == pytest.approx(cost)
    for rank, amount in enumerate(fleet.free):
        assert sum(rank in fleet.uses[route.kind] for route in routes) <= amount


@pytest.mark.parametrize(("name", "share"), [("C101", 0.0), ("RC108", 0.03), ("R1_2_1", 0.03)])
def test_published_instances_come_near_the_best_known(name, share):
    """Solomon (1987), Gehring and Homberger (1999); distances and windows checked anew in tests/bench/published.py."""
    found = solve_published(read(name), seconds=60, rounds=20_000)
    assert BEST_KNOWN[name] - 1e-6 <= found <= BEST_KNOWN[name] * (1 + share) + 1e-6


def test_the_same_seed_and_rounds_give_the_same_routes():
    first, second = (routes_of(tiny_fleet(3), left=lambda: 0.5, seed=9, hot=300.0, cold=10.0, most_routes=4, rounds=500) for _ in range(2))
    assert first == second


def test_runs_of_a_first_plan_are_nearly_all_legal_and_share_nothing():
    day = invented_day(Shape(moves=60, compounds=2), 5)
    solving = Solving(day, seconds=60, rounds=None, progress=None)
    columns = ruin_columns(day, solving.rigs, solving.classes, solving.types, left=lambda: 0.5, rounds=4000)
    legal = [column for column in columns if isinstance(solving.truth.of(column), Run)]
    assert len(legal) >= 0.85 * len(columns) > 5
    moves = [move for column in columns for move in column.moves]
    assert len(set(moves)) == len(moves) > 40
    for rank, item in enumerate(solving.types):
        assert sum(column.transporter_type == rank for column in columns) <= len(item.transporters)
    for rank, item in enumerate(solving.classes):
        assert sum(column.classes.count(rank) for column in columns) <= len(item.drivers)


def test_a_large_day_has_a_legal_plan_before_the_first_pricing_is_through(monkeypatch):
    monkeypatch.setattr(course, "LARGE", 20)
    day = invented_day(Shape(moves=30, decks=(2, 6)), 6)
    told = []
    plan = solve(day, seconds=90, progress=lambda _, cost, bound: told.append((cost, bound)))
    assert check_plan(day, plan) == ()
    assert plan.bound.pence <= plan.cost_pence <= 1.01 * plan.bound.pence
    assert told[0][1] is None
    assert told[0][0] < 0.5 * sum(move.stays_behind_pence for move in day.moves)


def test_a_day_without_tasks_gives_no_runs():
    day = invented_day(Shape(moves=5), 1)
    assert ruin_columns(day, (), (), (), left=lambda: 0.5) == []
