"""
Names: the chosen columns put to real drivers and transporters, timed and priced for each.

Members of a class are interchangeable, so any will do; each is given at most one run, in the order of the day.
"""

from collections.abc import Sequence
from dataclasses import replace

from planner.model.crews import DriverId, TransporterId
from planner.model.day import Day
from planner.runs.run import Itinerary, Run, RunId, RunKind
from planner.search.columns import Column
from planner.search.crew_classes import DriverClass, TransporterType
from planner.search.truth import timed


def named_runs(
    day: Day, columns: Sequence[Column], runs: Sequence[Run], classes: Sequence[DriverClass], types: Sequence[TransporterType]
) -> tuple[Run, ...]:
    """Return the runs with names and numbers, transporters first, then plates, then hired carriers, by their start."""
    drivers = [[driver.driver_id for driver in item.drivers] for item in classes]
    transporters = [[item.transporter_id for item in kind.transporters] for kind in types]
    done: list[Run] = []
    for column, run in zip(columns, runs, strict=True):
        plan = _named(run.itinerary, column, drivers, transporters)
        answer = run if plan == run.itinerary else timed(day, plan)
        if isinstance(answer, Run):
            done.append(answer)
    order = {RunKind.TRANSPORTER: 0, RunKind.PLATE: 1, RunKind.HIRED: 2}
    done.sort(key=lambda run: (order[run.kind], run.start_min, str(run.itinerary.driver), run.itinerary.moves))
    return tuple(replace(run, run_id=RunId(f"R{number:02d}")) for number, run in enumerate(done, start=1))


def _named(
    itinerary: Itinerary, column: Column, drivers: list[list[DriverId]], transporters: list[list[TransporterId]]
) -> Itinerary:
    if column.carrier is not None:
        return itinerary
    names = [drivers[rank].pop(0) for rank in column.classes]
    kind = column.transporter_type
    return replace(
        itinerary,
        driver=names[0],
        support_driver=names[1] if len(names) > 1 else None,
        transporter=transporters[kind].pop(0) if kind >= 0 else None,
    )
