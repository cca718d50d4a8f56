"""
Published routing instances with time windows by ruin and recreate: ``python -m tests.bench.published [seconds] [names ...]``.

Names are instances, ``solomon``, ``homberger`` or ``few`` (every sixth).  The files come inside the package VRPSolverEasy 0.1.4 (MIT).  Distances
are counted anew from the file, and capacity and windows checked by plain arithmetic, before a gap is printed.  With
``--pyvrp`` PyVRP solves the same instance in the same seconds.
"""

import sys
import time
from dataclasses import dataclass
from importlib.resources import files
from math import floor, hypot

import numpy as np

from planner.search.ruin import Fleet, Route, routes_of
from tests.bench.best_known import BEST_KNOWN, HOMBERGER, SOLOMON

HOT, COLD = 150.0, 3.0  # tenths of a unit of distance


@dataclass(frozen=True)
class Instance:
    """Customers with the depot first: x, y, demand, ready, due, service."""

    name: str
    capacity: int
    rows: tuple[tuple[int, ...], ...]

    def tenths(self, one: int, other: int) -> int:
        """Distance in tenths, cut off."""
        here, there = self.rows[one], self.rows[other]
        return floor(10 * hypot(here[0] - there[0], here[1] - there[1]) + 1e-9)


def read(name: str) -> Instance:
    """Return an instance from the package that carries it."""
    lines = (files("VRPSolverEasy") / "demos/data/CVRPTW" / f"{name}.txt").read_text().split("\n")
    words = [line.split() for line in lines]
    capacity = next(int(each[1]) for each in words if len(each) == 2 and each[0].isdigit())
    return Instance(name, capacity, tuple(tuple(int(float(word)) for word in each[1:]) for each in words if len(each) == 7 and each[0].isdigit()))


def fleet_of(instance: Instance) -> Fleet:
    """Return the instance as arrays: one kind of vehicle, times and distances in tenths, every customer served."""
    order = [*range(1, len(instance.rows)), 0]
    rows = np.array([instance.rows[row] for row in order], np.int64)
    tenths = np.array([[instance.tenths(one, other) for other in order] for one in order], np.int64)
    n = len(order) - 1
    return Fleet(
        minutes=tenths[None], pence=tenths[None].astype(float), work=10 * rows[None, :n, 5], opens=10 * rows[None, :n, 3],
        closes=10 * rows[None, :n, 4], stop_pence=np.zeros((1, n)), fixed=np.zeros(1), wage=np.zeros(1),
        kinds=np.array([[0, 0, 10 * rows[n, 4], 10**9, 0, n, instance.capacity]], np.int64), uses=np.full((1, 1), -1, np.int64),
        free=np.zeros(1, np.int64), cars=np.ones(n, np.int64), mass=rows[:n, 2].copy(), stay=np.full(n, 1e7),
    )  # fmt: skip


def checked(instance: Instance, routes: tuple[Route, ...]) -> float:
    """Return the distance of routes over stops 0 .. n - 1, counted from the file; every customer once, in time, within capacity."""
    served = sorted(stop for route in routes for stop in route.stops)
    assert served == list(range(len(instance.rows) - 1))
    total = 0
    for route in routes:
        at, here = 0, 0
        assert sum(instance.rows[stop + 1][2] for stop in route.stops) <= instance.capacity
        for stop in (*(stop + 1 for stop in route.stops), 0):
            _, _, _, ready, due, service = instance.rows[stop]
            total += instance.tenths(here, stop)
            at = max(at + instance.tenths(here, stop), 10 * ready)
            assert at <= 10 * due
            at += 10 * service
            here = stop
    return total / 10


def solve(instance: Instance, *, seconds: float, seed: int = 1, rounds: int | None = None) -> float:
    """Return the distance found by ruin and recreate."""
    began = time.perf_counter()
    routes, _ = routes_of(
        fleet_of(instance), left=lambda: 1 - (time.perf_counter() - began) / seconds, seed=seed, hot=HOT, cold=COLD, rounds=rounds,
        most_routes=max(25, len(instance.rows) // 3),
    )  # fmt: skip
    return checked(instance, routes)


def by_pyvrp(instance: Instance, *, seconds: float) -> float:
    """Return the distance that PyVRP finds."""
    from pyvrp import Model
    from pyvrp.stop import MaxRuntime

    model = Model()
    places = [model.add_location(x, y) for x, y, *_ in instance.rows]
    depot = model.add_depot(places[0], tw_late=10 * instance.rows[0][4])
    for place, (_, _, demand, ready, due, service) in zip(places[1:], instance.rows[1:], strict=True):
        model.add_client(place, delivery=demand, tw_early=10 * ready, tw_late=10 * due, service_duration=10 * service)
    model.add_vehicle_type(len(instance.rows), capacity=instance.capacity, start_depot=depot, end_depot=depot)
    for one, here in enumerate(places):
        for other, there in enumerate(places):
            model.add_edge(here, there, distance=instance.tenths(one, other), duration=instance.tenths(one, other))
    return float(model.solve(MaxRuntime(seconds), seed=1, display=False).cost()) / 10


def main(words: list[str]) -> None:
    """Print the table."""
    has_rival = "--pyvrp" in words
    words = [word for word in words if word != "--pyvrp"]
    seconds = float(words[0]) if words else 20.0
    groups = {"solomon": SOLOMON, "homberger": HOMBERGER, "few": (SOLOMON + HOMBERGER)[::6]}
    names = [name for word in words[1:] or ["solomon"] for name in groups.get(word, (word,))]
    solve(read("C101"), seconds=60, rounds=10)  # compiled before the clock runs
    gaps: dict[str, list[tuple[float, ...]]] = {}
    print("instance   best known     found     gap" + ("     PyVRP     gap" if has_rival else ""))
    for name in names:
        best = BEST_KNOWN[name]
        found = [solve(read(name), seconds=seconds)] + ([by_pyvrp(read(name), seconds=seconds)] if has_rival else [])
        each = tuple(value / best - 1 for value in found)
        gaps.setdefault(name.rsplit("_", 1)[0] if "_" in name else name[:-2], []).append(each)
        print(f"{name:9} {best:11.1f} " + " ".join(f"{value:9.1f} {gap:7.2%}" for value, gap in zip(found, each, strict=True)), flush=True)
    for group, rows in {**gaps, "all": [each for some in gaps.values() for each in some]}.items():
        print(f"{group:6} {len(rows):3}  mean " + "   ".join(f"{np.mean(column):.3%}" for column in zip(*rows, strict=True)))


if __name__ == "__main__":
    main(sys.argv[1:])
