"""A plan file states many figures twice; the referee finds each that its parts do not make."""

import json

import pytest

from planner.runs.plan_document import plan_from_document, plan_to_document
from planner.runs.referee import Rule, check_plan, check_stated
from tests.planner.runs.refereed import legal_day, legal_plan
from tests.sheet_days import a_day, a_plan


def document():
    return json.loads(json.dumps(plan_to_document(legal_day(), legal_plan())))


def test_a_plan_read_back_is_the_plan_written():
    """Hand-made says-texts and all: what the referee sees is what was planned."""
    read = plan_from_document(document())
    assert read.plan == legal_plan()
    assert check_stated(read.day, read.plan, read.document) == ()
    assert check_plan(read.day, read.plan) == ()


@pytest.mark.parametrize(("path", "value"), [
    (("cost_pence",), 204_162),
    (("runs_pence",), 54_164),
    (("gap",), 0.0),
    (("gap",), None),
    (("money_gap",), 0.5),
    (("date",), "2026-06-11"),
    (("notes",), ["Sizes were assumed."]),
    (("retailer",), "Another firm"),
    (("runs", 0, "cost_pence"), 29_744),
    (("runs", 0, "metres"), 130_001),
    (("runs", 0, "start"), "2026-06-10T07:01+01:00"),
    (("runs", 1, "end"), "2026-06-10T11:49+01:00"),
    (("runs", 1, "method"), "carried"),
    (("runs", 2, "kind"), "plate run"),
    (("runs", 0, "crew", "driver_name"), "Ola"),
    (("runs", 2, "crew", "carrier_name"), None),
    (("runs", 0, "visits", 1, "postcode"), "SO14 0YG"),
    (("runs", 0, "counters", 0, "left"), 9),
])  # fmt: skip
def test_each_false_figure_is_found(path, value):
    broken = document()
    place = broken
    for key in path[:-1]:
        place = place[key]
    assert place[path[-1]] != value
    place[path[-1]] = value
    read = plan_from_document(broken)
    assert {breach.rule for breach in check_stated(read.day, read.plan, read.document)} == {Rule.SUMS}
    assert check_plan(read.day, read.plan) == ()


@pytest.mark.parametrize(("key", "value"), [
    ("gate", "mot"), ("owner", "nobody"), ("to_do", "Nothing."), ("cut_off", "2026-06-10T23:59+01:00"), ("order", "S-9"),
])  # fmt: skip
def test_what_holds_an_order_is_what_the_day_says(key, value):
    written = json.loads(json.dumps(plan_to_document(a_day(), a_plan())))
    read = plan_from_document(written)
    sound = check_stated(read.day, read.plan, read.document)
    assert written["held"][0][key] != value
    written["held"][0][key] = value
    read = plan_from_document(written)
    found = [breach for breach in check_stated(read.day, read.plan, read.document) if breach not in sound]
    assert [breach.rule for breach in found if breach.where.startswith("held")] == [Rule.SUMS]
