"""The caution library: each trigger prints its caution and no other (table of cautions: HSE HSG136, Highway Code, gov.uk, as named there)."""

import re
from dataclasses import fields, replace
from html import unescape

import pytest

from planner.model.moves import MoveId
from planner.sheets.cautions import RunFacts, cautions, run_facts, triggers
from planner.sheets.html_pages import html_pages
from planner.sheets.run_sheet import run_sheet
from tests.sheet_days import a_day, a_plan, hired_run, plate_run, transporter_run

FORBIDS = {"C04", "C05", "C06"}  # driving, or driving on under what is too low
NAMED_ONLY = {"height"}  # fills a hole of another trigger, prints nothing by itself


def fact(name: str) -> RunFacts:
    is_text = {field.name: field.type in ("str", str) for field in fields(RunFacts)}[name]
    return RunFacts(**{name: "AB12 CDE" if is_text else True})


@pytest.mark.parametrize(("code", "trigger"), sorted(triggers().items()))
def test_each_trigger_prints_its_caution_and_no_other(code, trigger):
    assert [caution.code for caution in cautions(fact(trigger))] == [code]


@pytest.mark.parametrize(("code", "trigger"), sorted(triggers().items()))
def test_the_page_prints_it_and_no_other_and_boxes_what_forbids_driving(code, trigger):
    day, plan = a_day(), a_plan()
    sheet = replace(run_sheet(day, plan, plan.runs[0]), cautions=cautions(fact(trigger)))
    page = unescape(html_pages([sheet], title=""))
    printed = {other for other, other_trigger in triggers().items() if cautions(fact(other_trigger))[0].says in page}
    assert printed == {code}
    boxed = re.findall(r'<[^>]*class="box"[^>]*>(.*?)</', page, flags=re.DOTALL)
    assert [cautions(fact(trigger))[0].says in text for text in boxed] == ([True] if code in FORBIDS else [])


def test_no_trigger_is_without_a_caution_and_no_two_share_one():
    assert sorted(triggers().values()) == sorted({field.name for field in fields(RunFacts)} - NAMED_ONLY)


def test_nothing_true_prints_nothing():
    assert cautions(RunFacts()) == ()


def codes(day, run, **more):
    return {caution.code for caution in cautions(run_facts(day, run, **more))}


def test_a_plate_run_with_a_part_exchange_and_a_toll():
    assert codes(a_day(), plate_run()) == {"C01", "C02", "C04", "C10", "C12", "C13", "C14", "C16", "C17"}


def test_a_transporter_run_with_a_car_that_must_not_be_driven():
    assert codes(a_day(), transporter_run()) == {"C01", "C03", "C04", "C05", "C06", "C07", "C08", "C14", "C16", "C18"}


def test_a_hired_carrier_gets_none_of_ours():
    assert codes(a_day(), hired_run()) == set()


def test_planned_loaded_height_is_printed_when_known():
    (height,) = [c for c in cautions(run_facts(a_day(), transporter_run(), loaded_height_mm=4312)) if c.code == "C06"]
    assert "4.32 m" in height.says  # never rounded down


def test_upper_deck_and_electric_weight_follow_deck_and_car():
    day = a_day()
    big = replace(day.transporters[0], slots=9)
    electric = replace(day.move_of[MoveId("H-101")], car=day.move_of[MoveId("H-102")].car)
    day = replace(day, transporters=(big,), moves=tuple(electric if move.move_id == "H-101" else move for move in day.moves))
    found = {caution.code: caution.says for caution in cautions(run_facts(day, transporter_run()))}
    assert "C09" in found
    assert "2140 kg" in found["C11"]
    assert "3300 kg" in found["C11"]


def test_rules_against_driving_stand_out_and_come_first():
    found = cautions(run_facts(a_day(), transporter_run()))
    assert [caution.code for caution in found if caution.stands_out] == ["C04", "C05", "C06"] == [caution.code for caution in found[:3]]
