"""Sheets of a later version: only crews whose work ahead is another get a new one."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from planner.desk.day_book import planning
from planner.desk.day_book.book import open_book
from planner.desk.day_book.orders import take_in
from planner.desk.intake import read_day
from planner.model.orders import OrderRef
from planner.model.progress import Progress
from planner.runs.past import on_time
from planner.runs.plan_document import plan_to_document
from planner.runs.referee import check_plan
from planner.search.replan_today import replan_today
from tests.planner.desk import small_folder
from tests.planner.desk.quoting_world import greedy_plan
from tests.stand_in_geography import locate, travel_tables

AT = datetime(2026, 11, 26, 6, 0, tzinfo=UTC)
DAY = "2026-11-26"
ROWS = [small_folder.order(order=f"A{n}", registration=f"QA20 A{n}A", postcode=code) for n, code in enumerate(("NN11 4FD", "LE1 5TT"))]
DRIVERS = [{"driver": f"D{n}", "name": f"Bram Sampleton {n}", "base": "Yard", "licences": "B"} for n in (1, 2)]


@pytest.fixture(scope="module")
def planned():
    yard = [{"compound": "Yard", "postcode": "NN11 8QL", "plate_sets": "3"}]
    day = read_day(small_folder.files(orders=ROWS, drivers=DRIVERS, compounds=yard), locate=locate, tables=travel_tables)
    plan = greedy_plan(day)
    assert len(plan.runs) == 2
    return day, plan


@pytest.fixture
def book(where, planned):
    with open_book(where, may_make=True) as opened:
        with opened.change(actor="nell", at=AT) as change:
            take_in(change, ROWS, source="sales", on=DAY)
        publish(opened, *planned)
        yield opened


def publish(book, day, plan):
    raw = json.dumps(plan_to_document(day, plan)).encode()
    with book.change(actor="nell", at=AT + timedelta(minutes=1)) as change:
        planning.draw_up(change, day, plan, raw=raw)
        return planning.publish(change, day, plan, raw=raw)


def later(planned, late_min):
    """Replan when the first run has left where it loaded, that run late by some minutes."""
    day, plan = planned
    first = plan.runs[0]
    now_min = first.visits[0].end_min + 5
    told = [item for run in plan.runs if (item := on_time(run, now_min)) is not None]
    told = [replace(item, late_min=late_min) if item.run == first.run_id else item for item in told]
    found = replan_today(day, plan, Progress(now_min=now_min, runs=tuple(told)), rounds=1)
    assert check_plan(found.day, found.plan) == ()
    assert any(run.itinerary.past for run in found.plan.runs)
    return found


@pytest.mark.parametrize(("late_min", "is_new"), [(0, False), (4, False), (12, True)])
def test_what_is_done_and_a_few_minutes_are_no_news_on_paper(book, planned, late_min, is_new):
    found = later(planned, late_min)
    assert publish(book, found.day, found.plan).new_sheets == ((planned[1].runs[0].run_id,) if is_new else ())


def test_minutes_that_add_up_over_versions_make_a_new_sheet_in_the_end(book, planned):
    assert [publish(book, found.day, found.plan).new_sheets for found in (later(planned, 3), later(planned, 4), later(planned, 6))] == [
        (), (), (planned[1].runs[0].run_id,)]


def test_another_telephone_of_a_buyer_ahead_makes_a_new_sheet(book, planned):
    found = later(planned, 0)
    run = next(one for one in found.plan.runs if one.itinerary.past)
    ref = OrderRef(str(found.day.move_of[run.itinerary.moves[0]].order))
    orders = tuple(replace(one, buyer=replace(one.buyer, phone="07700 900555")) if one.ref == ref else one for one in found.day.orders)
    assert publish(book, replace(found.day, orders=orders), found.plan).new_sheets == (run.run_id,)
