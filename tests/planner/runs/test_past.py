"""A run under way: what is done stands to the minute, the rest is timed from there by the same law, and the referee agrees."""

import json
import random
from dataclasses import replace

import pytest

from planner.model.progress import RunProgress, VisitDone
from planner.runs.costing import price
from planner.runs.past import on_time, past_of
from planner.runs.plan import Plan
from planner.runs.plan_document import plan_from_document, plan_to_document
from planner.runs.referee import Rule, check_run
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary, Run, RunId, Stop
from planner.runs.timing import lay_out
from tests.planner.runs.random_days import random_day, random_itinerary
from tests.planner.runs.worked_day import AYR, BEE, YARD, worked_day

M1, M2, M3 = "M1", "M2", "M3"


def priced(day, itinerary):
    run = lay_out(day, itinerary, run_id="R01")
    return run if isinstance(run, Refusal) else replace(run, costs=price(day, run))


def two_doors(day):
    """Ayr with its part-exchange, then Bee, on the two-car transporter."""
    return priced(day, Itinerary(driver="D2", transporter="T1", stops=(
        Stop(place=YARD, takes=(M1, M2)), Stop(place=AYR, leaves=(M1,), takes=(M3,)), Stop(place=BEE, leaves=(M2,)),
        Stop(place=YARD, leaves=(M3,)),
    )))  # fmt: skip


def random_runs(seed):
    day = random_day(seed)
    for number in range(50):
        run = priced(day, random_itinerary(day, 1000 * seed + number))
        if isinstance(run, Run) and run.activities and not run.nights and not check_run(day, run):
            yield day, run


@pytest.mark.parametrize("seed", range(8))
def test_a_run_on_time_goes_on_as_planned(seed):
    """The same visits, duty and money, from whatever minute one looks."""
    for day, run in random_runs(seed):
        for now_min in range(run.start_min - 30, run.end_min + 60, 47):
            told = on_time(run, now_min)
            if told is None:
                assert now_min < run.start_min
                continue
            past = past_of(run, told, now_min=now_min)
            again = priced(day, replace(run.itinerary, past=past))
            assert isinstance(again, Run), (run.itinerary, now_min, again)
            assert check_run(day, again) == ()
            assert again.visits[: len(past.visits)] == run.visits[: len(past.visits)]
            assert (again.start_min, again.end_min) == (run.start_min, run.end_min)


@pytest.mark.parametrize("seed", range(8))
def test_a_late_run_is_legal_from_there_or_refused_with_the_rule(seed):
    """What is reported is kept to the minute, whatever it was; the referee passes what timing lays out."""
    rng = random.Random(seed)
    for day, run in random_runs(seed):
        told = on_time(run, rng.randint(run.start_min, run.end_min))
        late, visits = rng.choice((5, 20, 60)), []
        for visit in told.visits:
            left_min = None if visit.left_min is None else visit.left_min + late
            visits.append(VisitDone(arrived_min=visit.arrived_min + late, left_min=left_min))
        now_min = max([told.began_min, *(visit.left_min or visit.arrived_min for visit in visits)]) + rng.randint(0, 30)
        told = replace(told, visits=tuple(visits), off_duty_min=None, late_min=rng.choice((0, 15)))
        again = priced(day, replace(run.itinerary, past=past_of(run, told, now_min=now_min)))
        if isinstance(again, Refusal):
            assert again.says
            continue
        assert check_run(day, again) == ()
        for visit, real in zip(again.visits, told.visits, strict=False):
            assert visit.arrive_min == real.arrived_min
            assert real.left_min in (None, visit.end_min)


def test_a_late_transporter_by_hand():
    """
    Planned: yard 15 + 2 x 12 minutes, 63 to Ayr (60 + 5 %), there 30 + 10 + 20 + 12, 32 to Bee, 30 + 10 there.

    It leaves Ayr 40 minutes late and 10 more are lost on the road: Bee is reached 50 minutes late, the yard too.
    """
    day = worked_day()
    run = two_doors(day)
    yard, ayr, bee, back = run.visits[:4]
    told = RunProgress(
        run="R01", began_min=run.start_min, is_under_way=True, late_min=10,
        visits=(VisitDone(arrived_min=yard.arrive_min, left_min=yard.end_min),
                VisitDone(arrived_min=ayr.arrive_min, left_min=ayr.end_min + 40)),
    )  # fmt: skip
    now_min = ayr.end_min + 45
    late = priced(day, replace(run.itinerary, past=past_of(run, told, now_min=now_min)))
    assert (ayr.end_min - ayr.start_min, bee.leg_min) == (72, 32)
    assert late.visits[1].end_min == ayr.end_min + 40
    assert (late.visits[2].arrive_min, late.visits[3].arrive_min) == (bee.arrive_min + 50, back.arrive_min + 50)
    assert late.end_min == run.end_min + 50
    assert check_run(day, late) == ()


def test_a_run_that_stopped_ends_where_it_is():
    day = worked_day()
    run = two_doors(day)
    yard = run.visits[0]
    stopped = replace(run.itinerary, stops=(Stop(place=YARD, takes=()),))
    told = RunProgress(run="R01", began_min=run.start_min, visits=(VisitDone(arrived_min=yard.arrive_min, left_min=yard.end_min),))
    past = replace(past_of(run, told, now_min=yard.end_min, itinerary=stopped), is_over=True)
    ended = priced(day, replace(stopped, past=past))
    assert (ended.end_min, len(ended.visits)) == (yard.end_min, 1)
    assert check_run(day, ended) == ()


def test_the_referee_sees_the_past_changed():
    day = worked_day()
    run = two_doors(day)
    now_min = run.visits[1].end_min + 5
    late = priced(day, replace(run.itinerary, past=past_of(run, on_time(run, now_min), now_min=now_min)))
    assert check_run(day, late) == ()
    longer = replace(late.activities[0], says="something else")
    retold = replace(late, activities=(longer, *late.activities[1:]))
    assert {breach.rule for breach in check_run(day, retold)} == {Rule.PAST}
    sooner = replace(late, itinerary=replace(late.itinerary, past=replace(late.itinerary.past, now_min=now_min + 600)))
    assert {breach.rule for breach in check_run(day, sooner)} == {Rule.PAST}
    goes_on = replace(late, itinerary=replace(late.itinerary, past=replace(late.itinerary.past, is_over=True)))
    assert Rule.PAST in {breach.rule for breach in check_run(day, goes_on)}


def test_driving_since_the_last_break_is_held_against_what_really_was():
    """A leg that took 5 h instead of 2 h is held to have been driven: no break could make that legal (Reg. 561/2006 art. 7)."""
    day = worked_day()
    transporters = tuple(replace(item, gross_kg=12_000) for item in day.transporters)
    drivers = tuple(replace(item, licences=frozenset({"C"})) for item in day.drivers)
    tables = {**day.tables, "goods-heavy": day.tables["goods-7500"]}
    rates = replace(day.rates, running={**day.rates.running, "goods-heavy": day.rates.running["goods-7500"]})
    day = replace(day, transporters=transporters, drivers=drivers, tables=tables, rates=rates)
    run = two_doors(day)
    yard = run.visits[0]
    told = RunProgress(
        run="R01", began_min=run.start_min, is_under_way=True,
        visits=(VisitDone(arrived_min=yard.arrive_min, left_min=yard.end_min),
                VisitDone(arrived_min=yard.end_min + 300, left_min=yard.end_min + 372)),
    )  # fmt: skip
    answer = lay_out(day, replace(run.itinerary, past=past_of(run, told, now_min=yard.end_min + 372)))
    assert isinstance(answer, Refusal)
    assert "break" in answer.rule + answer.says


def test_the_past_survives_the_plan_file():
    day = worked_day()
    run = two_doors(day)
    now_min = run.visits[1].end_min + 5
    late = priced(day, replace(run.itinerary, past=past_of(run, on_time(run, now_min), now_min=now_min)))
    plan = Plan(runs=(replace(late, run_id=RunId("R01")),), not_placed=())
    assert plan_from_document(json.loads(json.dumps(plan_to_document(day, plan)))).plan.runs == plan.runs


def test_times_out_of_order_are_refused():
    with pytest.raises(ValueError, match="in order"):
        RunProgress(run="R01", began_min=400, visits=(VisitDone(arrived_min=390),))
    with pytest.raises(ValueError, match="left_min of visit 1"):
        RunProgress(run="R01", began_min=300, visits=(VisitDone(arrived_min=390),), is_under_way=True)
    with pytest.raises(ValueError, match="left_min >= arrived_min"):
        VisitDone(arrived_min=390, left_min=380)
