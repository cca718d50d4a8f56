"""
An invented day by PyVRP, an independent general solver: what it can say of the day, every route then timed and priced by us.

A stop is a client, one copy for transporters and one on plates; transporters are driven by those who do nothing else, and
load once, or, with one slot, for each car anew.  Breaks are a share of the driving.  Runs that the rules refuse are left
out, and what is left goes to whoever is free.  It gives no lower bound.
"""

from collections.abc import Iterator
from dataclasses import replace

from planner.model.day import Day
from planner.runs.plan import Plan
from planner.runs.run import Run, RunId, RunKind
from planner.search.baseline import filled
from planner.search.left_behind import left_behind
from planner.search.names import named_runs
from planner.search.ruin import Route
from planner.search.ruin_kernel import FAR, Kind
from planner.search.ruin_runs import RigFleet
from planner.search.solving import Solving

SCALE = 4  # money in quarters of a penny, so that wages a minute stay near


def solve_by_pyvrp(day: Day, *, seconds: float, seed: int = 1) -> Plan:
    """Return the plan that comes of PyVRP's routes."""
    solving = Solving(day, seconds=seconds, rounds=None, progress=None)
    stops = list(dict.fromkeys(task.moves[0] for rig in solving.rigs for task in rig.tasks))
    columns = []
    if stops:
        model = RigFleet(day, solving.rigs, solving.classes, solving.types, stops)
        columns = [model.column(route) for route in _routes(solving, model, seconds, seed)]
    legal = [(column, run) for column in columns if isinstance(run := solving.truth.of(column), Run)]
    runs = named_runs(day, [column for column, _ in legal], [run for _, run in legal], solving.classes, solving.types)
    runs = tuple(replace(run, run_id=RunId(f"R{number:02d}")) for number, run in enumerate(filled(day, runs), start=1))
    return Plan(runs=runs, not_placed=left_behind(day, runs), found_by=f"PyVRP, seed {seed}, {seconds:g} s")


def _kinds(solving: Solving, model: RigFleet) -> Iterator[tuple[int, int]]:
    """Yield each kind that a vehicle type stands for, with how many there are: nobody stands for two."""
    people = [len(item.drivers) for item in solving.classes]
    vehicles = [len(item.transporters) for item in solving.types]
    for number in sorted(range(len(model.kinds)), key=lambda number: float(model.fleet.wage[number])):
        way, rank = model.kinds[number]
        rig = solving.rigs[model.ways[way][0]]
        if rig.is_followed or rig.one_of or rig.stays_out:
            continue
        crew = rig.options[rank].classes[0]
        one = solving.classes[crew].one
        if rig.kind is RunKind.PLATE:
            yield number, people[crew]
        elif not one.may_drive_plates and one.base == rig.start and model.ways[way][1] == (rig.slots == 1):
            count = min(people[crew], vehicles[rig.transporter_type])
            people[crew] -= count
            vehicles[rig.transporter_type] -= count
            if count:
                yield number, count


def _routes(solving: Solving, model: RigFleet, seconds: float, seed: int) -> Iterator[Route]:
    from pyvrp import Model
    from pyvrp.stop import MaxRuntime

    fleet, n = model.fleet, len(model.fleet.stay)
    kinds = list(_kinds(solving, model))
    ways = sorted({int(fleet.kinds[number, Kind.MATRIX]) for number, _ in kinds})
    carried = {way: solving.rigs[model.ways[way][0]].kind is RunKind.TRANSPORTER for way in ways}
    made = Model()
    here = made.add_location(0, 0)
    depot = made.add_depot(here)
    clients = []
    for stop in range(n):
        able = [way for way in ways if fleet.work[way, stop] >= 0]
        copies = [some for kind in (True, False) if (some := [way for way in able if carried[way] is kind])]
        group = made.add_client_group(required=False) if len(copies) > 1 else None
        for some in copies:
            place = made.add_location(stop + 1, len(clients) + 1)
            made.add_client(
                place, delivery=[1, int(fleet.mass[stop])], tw_early=max(0, int(fleet.opens[some, stop].max())),
                tw_late=int(fleet.closes[some, stop].min()), prize=round(float(fleet.stay[stop]) * SCALE), required=False, group=group,
            )  # fmt: skip
            clients.append((stop, place, set(some)))
    for way in ways:
        profile = made.add_profile()
        ends = [(n, here), *((stop, place) for stop, place, some in clients if way in some)]
        for one, frm in ends:
            for other, to in ends:
                minutes = int(fleet.minutes[way, one, other])
                if frm is not to and minutes < FAR:
                    pence = fleet.pence[way, one, other] + (fleet.stop_pence[way, other] if other < n else 0.0)
                    work = int(fleet.work[way, one]) if one < n else 0
                    made.add_edge(frm, to, distance=max(0, round(float(pence) * SCALE)), duration=minutes + work, profile=profile)
        for number, count in kinds:
            row = fleet.kinds[number]
            if row[Kind.MATRIX] == way:
                made.add_vehicle_type(
                    count, capacity=[int(row[Kind.SLOTS]), int(row[Kind.PAYLOAD])], start_depot=depot, end_depot=depot,
                    fixed_cost=max(0, round(float(fleet.fixed[number]) * SCALE)), tw_early=int(row[Kind.FROM_MIN]),
                    tw_late=int(row[Kind.HOME_MIN]), shift_duration=int(row[Kind.SPAN_MIN]), unit_distance_cost=1,
                    unit_duration_cost=round(float(fleet.wage[number]) * SCALE), profile=profile, name=str(number),
                )  # fmt: skip
    result = made.solve(MaxRuntime(seconds), seed=seed, display=False)
    names = [int(kind.name) for kind in made.vehicle_types]
    for route in result.best.routes():
        visits = tuple(clients[activity.idx][0] for activity in route if activity.is_client())
        if visits:
            yield Route(kind=names[route.vehicle_type()], stops=visits)
