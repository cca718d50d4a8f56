"""Nights out: taken where no day reaches and they pay, by every kind of crew, and counted by the bound."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from planner.model.crews import VehicleClass
from planner.runs.referee import check_plan
from planner.runs.run import ActivityKind, RunKind
from planner.search.solve import solve
from planner.search.waking import waking_day
from tests.planner.search.every_plan import least_cost
from tests.planner.search.far_days import far_and_wide, stretched


def far_day(share=5, *, drivers=1, **each):
    """One car for a door that no day run reaches: 300 minutes there by car for a share of 5, and 350 home by train."""
    day = stretched(waking_day(), share)
    crews = tuple(replace(driver, **each) for driver in day.drivers[:drivers])
    return replace(day, carriers=(), drivers=crews, moves=day.moves[:1])


def by_transporter(day, **each):
    """The same day with nobody on plates."""
    return replace(day, drivers=tuple(replace(item, may_drive_plates=False) for item in day.drivers),
                   transporters=tuple(replace(item, **each) for item in day.transporters))  # fmt: skip


def by_pair(day):
    """The same day without trains, taxis and transporters."""
    rides = replace(day.rides, minutes=np.where(np.eye(len(day.places), dtype=bool), 0, -1).astype(np.int32))
    return replace(day, transporters=(), rides=rides, policy=replace(day.policy, driven_moves_a_shift=2))


def rests(run):
    return [step.end_min - step.start_min for step in run.activities if step.kind is ActivityKind.REST]


def planned(day):
    """The plan, legal and proven by trying everything."""
    plan = solve(day, seconds=20)
    assert check_plan(day, plan) == ()
    assert plan.bound is not None
    assert plan.bound.pence <= plan.cost_pence == least_cost(day)
    return plan


def test_a_door_too_far_for_a_day_is_delivered_with_a_night_out():
    day = far_day()
    plan = planned(day)
    (run,) = plan.runs
    assert (run.kind, run.nights, run.itinerary.may_stay_out) == (RunKind.PLATE, 1, True)
    assert rests(run) == [660]  # the daily rest of 11 h: Working Time Regulations 1998, reg. 10
    assert plan.cost_pence < day.moves[0].stays_behind_pence
    assert run.end_min > 1440


@pytest.mark.parametrize(
    "day", [far_day(may_stay_out=False), replace(far_day(), policy=replace(far_day().policy, nights_out=False))],
    ids=["the driver may not", "the firm does not"],
)  # fmt: skip
def test_nobody_stays_out_who_may_not(day):
    assert planned(day).runs == ()


@pytest.mark.parametrize(("gross_kg", "least_rest"), [(7500, 540), (3500, 660)])
def test_a_transporter_rests_by_the_book_of_its_mass(gross_kg, least_rest):
    """Reduced daily rest 9 h, Reg. (EC) 561/2006 art. 8(4); up to 3.5 t 11 h, Working Time Regulations 1998 reg. 10."""
    day = by_transporter(far_day(), gross_kg=gross_kg)
    day = replace(day, tables={**day.tables, VehicleClass.GOODS_3500: replace(day.tables[VehicleClass.CAR], vehicle_class=VehicleClass.GOODS_3500)})
    (run,) = planned(day).runs
    assert (run.kind, run.nights) == (RunKind.TRANSPORTER, 1)
    assert min(rests(run)) >= least_rest


def test_a_pair_with_a_support_car_stays_out_only_together():
    day = by_pair(far_day(drivers=2))
    plan = planned(day)
    (run,) = plan.runs
    assert run.itinerary.support_driver is not None
    assert run.nights == 1
    assert sum(line.pence for line in run.costs if line.kind.value == "night out") == 2 * day.rates.night_out_pence
    alone = replace(day, drivers=(day.drivers[0], replace(day.drivers[1], may_stay_out=False)))
    assert planned(alone).runs == ()


def test_a_night_that_is_dearer_is_not_taken():
    day = far_day()
    cost = planned(day).cost_pence
    for less, runs in ((1, 0), (-1, 1)):
        move = replace(day.moves[0], stays_behind_pence=cost - less)
        assert len(planned(replace(day, moves=(move,))).runs) == runs
    dear = replace(day, rates=replace(day.rates, night_out_pence=Decimal(200_000)))
    assert planned(dear).runs == ()


@pytest.mark.parametrize(("seed", "leads"), [(33, 2), (39, 2), (16, 2), (38, 2)])
def test_a_far_and_wide_day_is_planned_as_well_as_trying_everything(seed, leads):
    """Seeds found by trying 60, all of which agreed: those where the best plan has a night out."""
    day = far_and_wide(seed, leads, 3)
    plan, least = solve(day, seconds=20), least_cost(day)
    assert check_plan(day, plan) == ()
    assert any(run.nights for run in plan.runs)
    assert plan.bound is None or plan.bound.pence <= least
    assert least <= plan.cost_pence <= least * 1.002
