"""Policy: every key may be changed and only to what it can be; the planning day; the gates' owners."""

from dataclasses import fields
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.desk.intake_policy import HouseRules, read_policy, usual_gates
from planner.model.orders import Gate
from planner.model.policy import Policy
from tests.planner.desk.small_folder import faults, only_fault, read


def policy(text):
    problems = []
    return (*read_policy(text, problems), [(problem.column, problem.says) for problem in problems])


def test_an_empty_file_is_the_usual_policy():
    assert policy("") == (Policy(), HouseRules(), [])


@pytest.mark.parametrize("field", fields(Policy), ids=lambda field: field.name)
def test_every_key_of_the_policy_may_be_changed(field):
    new = {bool: not field.default, str: "other", int: 7, float: 7.5}[type(field.default)]
    written = {True: "true", False: "false"}[new] if isinstance(new, bool) else f'"{new}"' if isinstance(new, str) else new
    found, _, problems = policy(f"{field.name} = {written}")
    assert problems == []
    assert getattr(found, field.name) == new


@pytest.mark.parametrize(("text", "column", "says"), [
    ("handover_mins = 30", "handover_mins", "this key is not known"),
    ("handover_min = 30.5", "handover_min", "a whole number is expected"),
    ('handover_min = "30"', "handover_min", "a whole number is expected"),
    ("handover_min = true", "handover_min", "a whole number is expected"),
    ("handover_min = -1", "handover_min", "a figure from 0 to a thousand million is expected"),
    ("ride_kmh = nan", "ride_kmh", "a figure from 0 to a thousand million is expected"),
    ("nights_out = 1", "nights_out", "true or false is expected"),
    ("retailer = 1", "retailer", "text in quotes is expected"),
    ('day = "29/02/2027"', "day", "2027 has no 29 February"),
    ('zone = "Europe/Lundon"', "zone", "this time zone is not known"),
    ('blank_gates = "maybe"', "blank_gates", '"passed" or "not passed" is expected'),
    ('ignored_columns = "orders.x"', "ignored_columns", "a list is expected"),
    ('ignored_columns = ["x"]', "ignored_columns", "a table and a column are expected"),
    ("gates = 1", "gates", "a group is expected"),
    ('[gates.fund]\nowner = "x"', "gates.fund", "this is no gate"),
    ('[gates.funds]\nowners = "x"', "gates.funds", "this is no key of a gate"),
    ("[gates.funds]\ndays_before = 9", "gates.funds", "days_before is a whole number from 0 to 7"),
    ('[gates.funds]\ncut_off = "25:00"', "gates.funds", "there is no such time"),
    ('door_opens = "20:00"\ndoor_closes = "08:00"', "door_closes", "doors close at 08:00, before they open at 20:00"),
])
def test_slips_are_named(text, column, says):
    assert policy(text)[2] == [(column, says)]


def test_every_gate_has_somebody_who_looks_after_it():
    assert set(usual_gates()) == set(Gate)
    assert all(rule.owner and rule.to_do.endswith(".") for rule in usual_gates().values())


class TestThePlanningDay:
    def test_is_named_by_the_policy_and_overruled_by_the_command(self):
        assert read().clock.day == date(2026, 11, 26)
        assert read(on=date(2026, 11, 27)).clock.day == date(2026, 11, 27)

    def test_missing_is_one_problem_beside_those_of_the_rows(self):
        assert only_fault(policy="") == ("policy.toml", None, "day", "no planning day is given")

    def test_missing_with_no_promise_to_go_by_is_still_a_problem(self):
        assert ("policy.toml", None, "day", "no planning day is given") in faults(policy="", orders=[])


@given(st.text() | st.dictionaries(st.sampled_from([*(field.name for field in fields(Policy)), "day", "gates", "zone"]), st.sampled_from(
    ["1", '"x"', "true", "[1]", "{a = 1}", "2026-01-01", "nan", "1e400", "08:00:00"])).map(lambda keys: "\n".join(f"{key} = {value}" for key, value in keys.items())))
def test_no_text_makes_it_fail_otherwise(text):
    found, rules, _ = policy(text)
    assert isinstance(found, Policy)
    assert isinstance(rules, HouseRules)
