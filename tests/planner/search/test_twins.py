"""Transporters alike but for who drives them: each is told the runs that listing it alone finds."""

from dataclasses import replace

from planner.model.crews import DriverId, TransporterId
from planner.search.columns import column_of
from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.pricing import Duals
from planner.search.proving import every_run
from planner.search.rig_making import rigs_of
from planner.search.truth import Truth
from planner.search.twins import with_twins_last
from tests.bench.invented_days import Shape, invented_day


def with_a_driver_each(day):
    """The day with two transporters alike, each with a driver alike who drives no other, and one driver for any."""
    one = day.transporters[0]
    able = replace(day.drivers[0], base=one.base, home=None, licences=frozenset({"B", one.licence}))
    names = ("T-A", "T-B")
    return replace(
        day,
        transporters=tuple(replace(one, transporter_id=TransporterId(name)) for name in names),
        drivers=(able, *(replace(able, driver_id=DriverId(f"D-{name}"), pinned_transporter=TransporterId(name)) for name in names)),
    )  # fmt: skip


def listed(rigs, duals):
    for number, rig in enumerate(rigs):
        yield rig, every_run(rig, number, duals, reach=1e6, most=100_000)


def told(day, classes, types, rig_runs):
    """Who would do what, in what order, at what floor, of the runs of transporters."""
    rigs, runs = zip(*rig_runs, strict=True)
    truth = Truth(day, rigs, classes, types)
    columns = [column_of(rigs[run.rig], run) for some in runs for run in some]
    plans = [(truth.itinerary(column), round(column.pence, 6)) for column in columns if column.is_elementary]
    return {(plan.driver, plan.transporter, plan.stops, pence) for plan, pence in plans if plan.transporter}


def test_a_twin_is_told_what_listing_it_alone_finds():
    day = with_a_driver_each(invented_day(Shape(moves=4, decks=(2,)), 1))
    classes, alone = driver_classes(day), transporter_types(day)
    assert len(alone) == 2
    types, twins = with_twins_last(day, classes, alone, asks=lambda _: 0.0)
    assert [twin.like for twin in twins] == [0]
    duals = Duals(
        move={move.move_id: 30_000.0 for move in day.moves}, driver=[0.0] * len(classes), transporter=[0.0] * 2,
        plates={str(place): 0.0 for place in day.compound_of},
    )  # fmt: skip
    rigs = list(listed(rigs_of(day, classes, types[:1]), duals))
    copies = [(twin.rig(rig), runs) for twin in twins for rig, runs in rigs if rig.transporter_type == twin.like]
    both = [*rigs, *[(rig, [replace(run, rig=len(rigs) + at) for run in some]) for at, (rig, some) in enumerate(copies)]]
    found = told(day, classes, types, both)
    assert found == told(day, classes, alone, listed(rigs_of(day, classes, alone), duals))
    assert {driver for driver, *_ in found} == {driver.driver_id for driver in day.drivers}


def test_a_pin_parts_twins():
    """A car that must go on one of them makes the other no twin."""
    day = with_a_driver_each(invented_day(Shape(moves=4, decks=(2,)), 1))
    day = replace(day, moves=(replace(day.moves[0], pinned_transporter=TransporterId("T-B")), *day.moves[1:]))
    assert with_twins_last(day, driver_classes(day), transporter_types(day), asks=lambda _: 0.0)[1] == ()


def test_the_twin_that_asks_least_is_listed():
    day = with_a_driver_each(invented_day(Shape(moves=4, decks=(2,)), 1))
    types, _ = with_twins_last(
        day, driver_classes(day), transporter_types(day), asks=lambda kind: -1.0 if kind.one.transporter_id == "T-B" else 0.0
    )  # fmt: skip
    assert [kind.one.transporter_id for kind in types] == ["T-B", "T-A"]
