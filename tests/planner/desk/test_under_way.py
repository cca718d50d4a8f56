"""A day under way: what was told becomes progress, and every run is expected from there by the rules of planning."""

from dataclasses import replace

import pytest

from planner.desk.day_book.happenings import Happening
from planner.desk.day_book.planning import crew_of
from planner.desk.day_book.road_events import RoadEvent
from planner.desk.day_book.under_way import progress_of
from planner.desk.intake import read_day
from planner.desk.run_ahead import runs_ahead
from planner.model.moves import MoveId
from planner.model.progress import MoveEnd, RunProgress, Stopped, VisitDone
from planner.runs.costing import price
from planner.runs.past import on_time, past_of, with_silent
from planner.runs.referee import check_plan, check_run
from planner.runs.timing import lay_out
from tests.planner.desk import small_folder
from tests.planner.desk.quoting_world import greedy_plan
from tests.stand_in_geography import locate, travel_tables

DOORS = ("NN11 4FD", "CV21 4HZ", "LE1 5TT")


@pytest.fixture(scope="module")
def planned():
    """A published day of two plate runs, A0 and A2; A1 stays behind."""
    orders = [small_folder.order(order=f"A{n}", registration=f"QA20 A{n}A", postcode=code) for n, code in enumerate(DOORS)]
    drivers = [{"driver": f"D{n}", "name": f"Bram Sampleton {n}", "base": "Yard", "licences": "B"} for n in (1, 2, 3)]
    yard = [{"compound": "Yard", "postcode": "NN11 8QL", "plate_sets": "3"}]
    day = read_day(small_folder.files(orders=orders, drivers=drivers, compounds=yard), locate=locate, tables=travel_tables)
    plan = greedy_plan(day)
    assert check_plan(day, plan) == ()
    return day, plan


@pytest.fixture(scope="module")
def run(planned):
    """The run that takes A0 to its door."""
    return next(one for one in planned[1].runs if "A0" in one.itinerary.moves)


def ref_of(day, run, visit):
    return str(day.move_of[(*run.visits[visit].leaves, *run.visits[visit].takes)[0]].order)


def door(day, run, count=0):
    return [n for n, visit in enumerate(run.visits) if visit.place not in day.compound_of][count]


def told(run, *rows):
    return [RoadEvent(crew=crew_of(run), order=ref, transporter=run.itinerary.transporter, what=Happening(what), at_min=at,
                      late_min=more[0] if more else None, says="") for ref, what, at, *more in rows]


def progress(planned, run, *rows, now_min):
    day, plan = planned
    return progress_of(day, plan, told(run, *rows), now_min=now_min)


def test_a_run_nobody_told_of_has_no_progress_and_is_expected_as_planned(planned):
    day, plan = planned
    found = progress_of(day, plan, [], now_min=0)
    assert found.runs == ()
    assert [one.run for one in runs_ahead(day, plan, found)] == list(plan.runs)
    assert not any(one.is_heard_of or one.at_risk for one in runs_ahead(day, plan, found))


def test_arrivals_and_endings_become_visits_and_what_was_not_told_is_as_planned(planned, run):
    day, _ = planned
    at = door(day, run)
    visit = run.visits[at]
    rows = ((None, "on duty", run.start_min), (ref_of(day, run, at), "arrived", visit.arrive_min + 7), (ref_of(day, run, at), "handed over", visit.end_min + 9))
    own = progress(planned, run, *rows, now_min=1440).of(run.run_id)
    assert own.began_min == run.start_min
    assert own.visits[at] == VisitDone(arrived_min=visit.arrive_min + 7, left_min=visit.end_min + 9)
    assert [one.arrived_min for one in own.visits[:at]] == [one.arrive_min for one in run.visits[:at]]
    assert own.is_under_way
    before = progress(planned, run, *rows, now_min=visit.arrive_min + 7).of(run.run_id)
    assert before.visits[at].left_min is None, "what comes later is not looked at"


def test_an_ending_alone_tells_the_arrival_too(planned, run):
    day, _ = planned
    at = door(day, run)
    visit = run.visits[at]
    own = progress(planned, run, (ref_of(day, run, at), "handed over", visit.end_min), now_min=1440).of(run.run_id)
    assert own.visits[at].arrived_min == visit.end_min - (visit.end_min - visit.start_min)


def test_off_duty_ends_every_visit(planned, run):
    own = progress(planned, run, (None, "on duty", run.start_min), (None, "off duty", run.end_min + 5), now_min=1440).of(run.run_id)
    assert own.off_duty_min == run.end_min + 5
    assert len(own.visits) == len(run.visits)


def test_a_crew_that_is_on_time_is_expected_as_planned_and_the_referee_agrees(planned, run):
    day, plan = planned
    at = door(day, run)
    ref = ref_of(day, run, at)
    rows = ((None, "on duty", run.start_min), (ref, "arrived", run.visits[at].arrive_min), (ref, "handed over", run.visits[at].end_min))
    found = progress_of(day, plan, told(run, *rows), now_min=run.visits[at].end_min)
    ahead = next(one for one in runs_ahead(day, plan, found) if one.run.run_id == run.run_id)
    assert ahead.is_heard_of
    assert ahead.next_visit == at + 1
    assert ahead.at_risk == ()
    assert ahead.run.end_min == run.end_min


def test_a_promise_is_raised_before_it_is_late_with_whom_to_ring(planned, run):
    day, plan = planned
    at = door(day, run, -1)
    late_min = run.visits[at].window.closes_min - run.visits[at].start_min + 30
    rows = ((None, "on duty", run.start_min), (None, "left", run.start_min + 1), (None, "late", run.start_min + 2, late_min))
    found = progress_of(day, plan, told(run, *rows), now_min=run.start_min + 2)
    assert found.of(run.run_id).late_min == late_min
    ahead = next(one for one in runs_ahead(day, plan, found) if one.run.run_id == run.run_id)
    ref = ref_of(day, run, at)
    risk = next(one for one in ahead.at_risk if one.order == ref)
    assert risk.late_min > 0
    assert risk.expected_min >= risk.closes_min > found.now_min
    assert (risk.buyer, risk.phone) == (day.order_of[ref].buyer.name, day.order_of[ref].buyer.phone)
    others = [one for one in runs_ahead(day, plan, found) if one.run.run_id != run.run_id]
    assert not any(one.at_risk for one in others)


def test_a_slight_delay_keeps_within_law_and_windows(planned):
    day, plan = planned
    for run in plan.runs:
        if not run.activities:
            continue
        found = progress_of(day, plan, told(run, (None, "on duty", run.start_min), (None, "left", run.start_min + 1), (None, "late", run.start_min + 2, 5)),
                            now_min=run.start_min + 2)
        ahead = next(one for one in runs_ahead(day, plan, found) if one.run.run_id == run.run_id)
        if not ahead.rule:
            assert check_run(day, ahead.run) == ()


def test_breakdown_and_illness_stop_a_run_until_it_goes_again(planned, run):
    rows = ((None, "on duty", run.start_min), (None, "breakdown", run.start_min + 30))
    found = progress(planned, run, *rows, now_min=1440)
    assert found.of(run.run_id).stopped.says == "breakdown"
    assert found.transporters_out == frozenset([run.itinerary.transporter] if run.itinerary.transporter else [])
    again = progress(planned, run, *rows, (None, "going again", run.start_min + 90), now_min=1440)
    assert again.of(run.run_id).stopped is None
    assert again.transporters_out == frozenset()
    ill = progress(planned, run, (None, "driver ill", run.start_min - 60), now_min=1440)
    assert ill.drivers_out == frozenset([run.itinerary.driver])
    assert ill.of(run.run_id) is None, "it has not begun"


def left_at(run):
    """The minute at which a run leaves where it loads."""
    return run.visits[0].end_min


def test_a_crew_whose_first_word_is_that_it_is_late_went_as_planned_until_then(planned, run):
    at = left_at(run) + 5
    found = progress(planned, run, (None, "late", at, 40), now_min=at + 1).of(run.run_id)
    assert found == replace(on_time(run, at), late_min=40)
    ahead = next(one for one in runs_ahead(*planned, progress(planned, run, (None, "late", at, 40), now_min=at + 1)) if one.run.run_id == run.run_id)
    assert ahead.is_heard_of
    assert ahead.run.visits[1].start_min == run.visits[1].start_min + 40


def test_a_crew_that_is_late_before_it_begins_begins_as_much_later(planned, run):
    found = progress(planned, run, (None, "late", run.start_min - 60, 40), now_min=run.start_min - 50)
    assert found.of(run.run_id) == RunProgress(run=str(run.run_id), began_min=run.start_min + 40)
    ahead = next(one for one in runs_ahead(*planned, found) if one.run.run_id == run.run_id)
    assert ahead.run.start_min == run.start_min + 40
    assert ahead.run.visits[1].start_min == run.visits[1].start_min + 40


@pytest.mark.parametrize("what", ["breakdown", "driver ill"])
def test_a_crew_whose_first_word_is_that_it_stops_has_its_cars_with_it_once_it_has_loaded(planned, run, what):
    at = left_at(run) + 5
    found = progress(planned, run, (None, what, at), now_min=at + 30).of(run.run_id)
    assert found == replace(on_time(run, at), stopped=Stopped(at_min=at, says=what))
    assert progress(planned, run, (None, what, run.visits[0].arrive_min), now_min=at).of(run.run_id) is None, "nothing was loaded yet"


def test_every_promise_of_a_crew_that_cannot_go_on_is_raised(planned, run):
    at = left_at(run) + 5
    late = progress(planned, run, (None, "breakdown", at), now_min=at + 1)
    ill = progress(planned, run, (None, "driver ill", run.start_min - 60), now_min=at + 60)
    for found in (late, ill):
        ahead = next(one for one in runs_ahead(*planned, found) if one.run.run_id == run.run_id)
        assert ahead.stopped
        assert [(risk.order, risk.is_stranded) for risk in ahead.at_risk] == [("A0", True)]
    again = progress(planned, run, (None, "breakdown", at), (None, "going again", at + 5), now_min=at + 6)
    assert not any(one.at_risk for one in runs_ahead(*planned, again))


def test_a_delay_beyond_the_law_is_told_with_its_rule(planned, run):
    """Fourteen hours late: the shift of 13 hours and the rest after it cannot be kept, whatever is done on the way."""
    at = left_at(run) + 5
    found = progress(planned, run, (None, "late", at, 840), now_min=at + 1)
    ahead = next(one for one in runs_ahead(*planned, found) if one.run.run_id == run.run_id)
    assert ahead.rule
    assert ahead.says
    assert [risk.order for risk in ahead.at_risk] == ["A0"]


def test_silent_runs_are_held_to_be_as_planned_but_not_those_of_a_crew_that_is_out(planned, run):
    day, plan = planned
    now_min = max(left_at(one) for one in plan.runs) + 5
    silent = with_silent(plan, progress_of(day, plan, [], now_min=now_min))
    assert [item.run for item in silent.runs] == [one.run_id for one in plan.runs]
    assert all(item == on_time(one, now_min) for item, one in zip(silent.runs, plan.runs, strict=True))
    out = with_silent(plan, progress(planned, run, (None, "driver ill", run.start_min - 60), now_min=now_min))
    assert [item.run for item in out.runs] == [one.run_id for one in plan.runs if one.run_id != run.run_id]
    assert with_silent(plan, out) == out


def test_what_became_of_cars_is_told_by_move(planned, run):
    day, _ = planned
    at = door(day, run)
    ref = ref_of(day, run, at)
    found = progress(planned, run, (ref, "refused", run.visits[at].end_min), now_min=1440)
    assert [(outcome.move, outcome.end) for outcome in found.outcomes] == [(MoveId(ref), MoveEnd.REFUSED)]
    assert progress(planned, run, (ref, "part-exchange not as described", run.visits[at].end_min), now_min=1440).outcomes == (), "it has none"


def test_leaving_the_own_compound_ends_the_visit_there(planned, run):
    own = progress(planned, run, (None, "on duty", run.start_min), (None, "left", run.start_min + 20), now_min=1440).of(run.run_id)
    assert own.visits == (VisitDone(arrived_min=run.start_min, left_min=run.start_min + 20),)
    assert own.is_under_way


def test_a_plan_made_while_the_day_ran_goes_on_from_its_own_past(planned, run):
    day, plan = planned
    at = door(day, run)
    visit = run.visits[at]
    rows = ((None, "on duty", run.start_min), (ref_of(day, run, at), "arrived", visit.arrive_min))
    first = progress(planned, run, *rows, now_min=visit.arrive_min + 1)
    again = lay_out(day, replace(run.itinerary, past=past_of(run, first.of(run.run_id), now_min=first.now_min)), run_id=run.run_id)
    again = replace(again, costs=price(day, again))
    assert check_run(day, again) == ()
    second = (day, replace(plan, runs=tuple(again if one is run else one for one in plan.runs)))
    quiet = progress(second, again, *rows, now_min=visit.arrive_min + 2).of(run.run_id)
    assert quiet.began_min == run.start_min
    assert len(quiet.visits) == at + 1
    more = (*rows, (ref_of(day, run, at), "handed over", visit.end_min + 3), (None, "late", visit.end_min + 4, 12))
    later = progress(second, again, *more, now_min=visit.end_min + 5).of(run.run_id)
    assert later.late_min == 12
    assert later.is_under_way
