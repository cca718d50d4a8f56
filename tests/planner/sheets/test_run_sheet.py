"""The run sheet says what the plan says, and only what each visit needs."""

import re
from dataclasses import asdict, replace

import pytest

from planner.runs.run import Counter
from planner.sheets.cautions import cautions, run_facts
from planner.sheets.run_sheet import hours_row, run_sheet
from planner.sheets.run_steps import run_steps
from planner.sheets.stamp import Stamp
from planner.sheets.words import words
from tests.sheet_days import a_day, a_plan, eleven_cars, transporter_run


@pytest.fixture
def sheets():
    day, plan = a_day(), a_plan()
    return {run.run_id: run_sheet(day, plan, run, stamp=Stamp(version="abc", made_at="now")) for run in plan.runs}


def test_every_visit_of_the_itinerary_is_called_once_in_order(sheets):
    day, plan = a_day(), a_plan()
    for run in plan.runs:
        calls = [step.call.number for step in sheets[run.run_id].steps if step.call]
        assert calls == [str(number + 1) for number in range(len(run.itinerary.stops if run.activities else run.visits))]
        assert sheets[run.run_id].start == (day.clock.wall(run.start_min) if run.activities else "")


def test_a_hired_carrier_is_given_windows_and_no_times_of_ours(sheets):
    assert (sheets["R3"].start, sheets["R3"].end) == ("", "")
    assert {(step.start, step.minutes) for step in sheets["R3"].steps} == {("", "")}


def test_every_car_goes_on_once_and_off_once(sheets):
    for run in a_plan().runs:
        signs = [(line.sign, line.car.replace(" ", "")) for step in sheets[run.run_id].steps if step.call for line in step.call.cars]
        assert len(signs) == 2 * len(run.itinerary.moves) == len(set(signs))


def test_a_break_on_the_road_says_after_how_many_miles(sheets):
    # two of three hours of a leg of 200 km are driven before it: 200000 * 120 / 180 / 1609.344 = 82.8 miles
    breaks = [step for step in sheets["R1"].steps if step.kind == "break"]
    assert [step.detail for step in breaks] == ["on the way, after about 83 miles", "at Cardiff"]


def test_the_window_the_wait_and_the_way_home(sheets):
    cardiff = next(step for step in sheets["R1"].steps if step.call and step.call.number == "2")
    assert (cardiff.start, cardiff.call.window) == ("11:00", "11:00-16:00")
    assert sheets["R1"].way_home == "Home in the part-exchange: OLD1PX Corvane Dart."
    assert sheets["R2"].way_home == ""


def test_a_toll_is_printed_with_how_to_pay_and_that_its_price_is_old(sheets):
    (row,) = sheets["R1"].charges
    assert row.amount == "about £2.50"
    assert "midnight" in row.pay_by
    assert row.warning == "Price may have changed: look it up."


def test_no_visit_shows_more_than_it_needs(sheets):
    """UK GDPR art. 5(1)(c), data minimisation: no e-mail, no price, no full name, and nobody else's address at a visit."""
    for sheet in sheets.values():
        text = str(asdict(sheet))
        assert "never@printed" not in text
        assert "199" not in re.sub(r"<svg.*?</svg>", "", text)
        assert "Ann Mary" not in text
    kettering = next(step for step in sheets["R2"].steps if step.call and step.call.number == "2")
    assert "Glossop" not in str(asdict(kettering))


def test_a_car_that_may_not_be_driven_says_so_at_both_ends(sheets):
    lines = [line for step in sheets["R2"].steps if step.call for line in step.call.cars if "CD34" in line.car]
    assert [line.warning for line in lines] == ["NOT ON THE ROAD"] * 2


def test_eleven_cars_are_listed_in_loading_order_with_their_mass():
    day, plan = eleven_cars()
    sheet = run_sheet(day, plan, plan.runs[0])
    first = next(step.call for step in sheet.steps if step.call)
    assert [line.car[:8] for line in first.cars][:2] == ["EL10 VEN", "EL09 VEN"]  # the last to come off goes on first
    assert "in the order of visit 1" in sheet.loading
    assert "13,750 kg" in sheet.loading  # 11 x 1250


def test_slots_and_roads_are_printed_when_given():
    day, plan = a_day(), a_plan()
    run = plan.runs[1]
    back, front = run.itinerary.moves
    slots = (((back, "1"), (front, "2")), ((back, "1"),), ())
    visits = tuple(replace(visit, slots=after) for visit, after in zip(run.visits, slots, strict=False))
    run = replace(run, visits=(*visits, run.visits[3]))
    sheet = run_sheet(day, replace(plan, runs=(run,)), run, roads=lambda *_: ("A14", "A43"))
    calls = [step.call for step in sheet.steps if step.call]
    assert [[line.where for line in call.cars] for call in calls] == [["slot 1", "slot 2"], ["slot 2"], ["slot 1"]]
    assert any("by A14, A43" in step.detail for step in sheet.steps)


@pytest.mark.parametrize(("used", "limit", "is_count", "left", "tight"), [
    (342, 600, False, "4 h 18", False), (655, 660, False, "0 h 05", True), (10, 20, False, "0 h 10", False), (0, 2, True, "2", False), (2, 2, True, "0", True)])
def test_what_is_left_of_a_limit(used, limit, is_count, left, tight):
    row = hours_row(Counter(rule="x", used=used, limit=limit, source="test", is_count=is_count), "plates", words())
    assert (row.left, row.is_tight) == (left, tight)


def test_a_sound_car_that_is_to_be_carried_is_not_called_unfit():
    day, run = a_day(), transporter_run()
    wished = replace(day, moves=tuple(replace(one, may_be_driven=False) if one.move_id == "H-101" else one for one in day.moves))
    lines = {line.car: line.warning for step in run_steps(wished, run) if step.call for line in step.call.cars}
    assert lines["AB12 CDE Aldine Vesper 1.2"] == "CARRIED, NO ADDED MILES"
    assert lines["CD34 EFG Tamar Pilgrim Estate"] == "NOT ON THE ROAD"  # no MOT: the law comes first
    (unfit,) = [caution for caution in cautions(run_facts(wished, run)) if caution.code == "C05"]
    assert "CD34 EFG" in unfit.says
    assert "AB12 CDE" not in unfit.says
