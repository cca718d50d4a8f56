"""Rates: the row in force on the day, and every gap or slip named."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.desk.intake_rates import read_rates
from planner.model.cars import Fuel
from planner.model.crews import VehicleClass

ON = date(2026, 11, 26)


def rates(text, on=ON, *, roles=(), fuels=(), classes=()):
    problems = []
    return read_rates(text, on, problems, roles=roles, fuels=fuels, classes=classes), [
        (problem.column, problem.says) for problem in problems]


def wage(start, pence, more=""):
    return f'[[wages]]\nfrom = {start}\nrole = "plate driver"\npence_per_hour = {pence}\n{more}\n'


@pytest.mark.parametrize(("on", "pence"), [
    (date(2026, 3, 31), 1310), (date(2026, 4, 1), 1365), (date(2027, 3, 31), 1365), (date(2027, 4, 1), 1420),
])
def test_the_latest_row_that_has_started_holds(on, pence):
    text = wage("2027-04-01", 1420) + wage("2025-04-01", 1310) + wage("2026-04-01", 1365)
    found, problems = rates(text, on, roles=["plate driver"])
    assert problems == []
    assert found.wages["plate driver"].pence_per_hour == pence


@given(st.lists(st.integers(0, 1000), unique=True, min_size=1, max_size=8), st.integers(-10, 1010))
def test_the_row_in_force_is_the_one_a_plain_search_finds(starts, on):
    zero = date(2026, 1, 1)
    text = "".join(f"[[fuel]]\nfrom = {zero + timedelta(days=start)}\npetrol = {start}\n" for start in starts)
    found, problems = rates(text, zero + timedelta(days=on))
    assert problems == []
    begun = [start for start in starts if start <= on]
    assert found.fuel_pence == ({Fuel.PETROL: max(begun)} if begun else {})


def test_a_row_that_has_ended_holds_no_more():
    text = wage("2026-04-01", 1365, "until = 2026-11-25")
    assert rates(text, date(2026, 11, 25), roles=["plate driver"])[1] == []
    assert rates(text, ON, roles=["plate driver"])[1] == [("", "no wage of a plate driver is in force on 26 November 2026")]


def test_a_fuel_may_change_alone():
    text = "[[fuel]]\nfrom = 2026-01-01\npetrol = 130\ndiesel = 140.5\n[[fuel]]\nfrom = 2026-10-01\npetrol = 136.9\n"
    assert rates(text)[0].fuel_pence == {Fuel.PETROL: Decimal("136.9"), Fuel.DIESEL: Decimal("140.5")}


def test_figures_are_exact_decimals_never_floats():
    text = '[[running]]\nfrom = 2026-01-01\nvehicle = "car"\npence_per_km = 6.885\n'
    assert rates(text)[0].running[VehicleClass.CAR].pence_per_km == Decimal("6.885")


def test_night_may_be_given_as_clock_times():
    found = rates(wage("2026-04-01", 1365, 'night_from_min = "22:30"\nnight_to_min = 300'))[0].wages["plate driver"]
    assert (found.night_from_min, found.night_to_min) == (1350, 300)


def test_a_hybrid_is_priced_as_petrol_when_not_given():
    assert rates("[[fuel]]\nfrom = 2026-01-01\npetrol = 130\n", fuels=[Fuel.HYBRID])[1] == []
    assert rates("[[fuel]]\nfrom = 2026-01-01\ndiesel = 130\n", fuels=[Fuel.HYBRID])[1] == [
        ("", "no price of hybrid is in force on 26 November 2026")]


@pytest.mark.parametrize(("text", "column", "says"), [
    ("[[wage]]\nfrom = 2026-01-01", "wage", "this group is not known"),
    ("wages = 3", "wages", "a list of rows is expected"),
    ("wages = [3]", "wages no. 1", "a row of named figures is expected"),
    ("[[wages]]\npence_per_hour = 1", "wages no. 1", "the day from which it holds is missing"),
    ("[[wages]]\nfrom = 2026-01-01\npence_per_hour = 1", "wages no. 1", "the role is missing"),
    ('[[wages]]\nfrom = 2026-01-01\nrole = "r"', "wages", "pence_per_hour is missing in the row in force"),
    (wage("2026-01-01", '"12"'), "wages no. 1", "pence_per_hour is a figure from 0 up"),
    (wage("2026-01-01", -1), "wages no. 1", "pence_per_hour is a figure from 0 up"),
    (wage("2026-01-01", "true"), "wages no. 1", "pence_per_hour is a figure from 0 up"),
    (wage("2026-01-01", 1, "minimum_shift_min = 2.5"), "wages", "minimum_shift_min is a whole number of minutes"),
    (wage("2026-01-01", 1, "overtime = 2"), "wages no. 1", "this is no key of wages"),
    (wage("2026-01-01", 1, "until = 2025-01-01"), "wages no. 1", "it ends before it starts"),
    (wage("2026-01-01", 1) + wage("2026-01-01", 2), "wages no. 2", "plate driver has two rows from 2026-01-01"),
    ('[[running]]\nfrom = 2026-01-01\nvehicle = "lorry"\npence_per_km = 1', "running no. 1", "this is no vehicle class"),
    ('[[fuel]]\nfrom = "29/02/2027"\npetrol = 1', "fuel no. 1", "2027 has no 29 February"),
    ("[[fuel]]\nfrom = 2026-01-01\npetrol = nan", "fuel no. 1", "petrol is a figure from 0 up"),
])
def test_slips_are_named(text, column, says):
    assert rates(text)[1] == [(column, says)]


@pytest.mark.parametrize("text", ["[[wages]", "from = ", "= 3", "[[fuel]]\nfrom = 2027-02-29\npetrol = 1"])
def test_what_is_no_toml_is_one_problem(text):
    (_, says), = rates(text, roles=["plate driver"], fuels=[Fuel.PETROL], classes=[VehicleClass.CAR])[1]
    assert says.startswith("this is not valid TOML")


@given(st.text() | st.lists(st.sampled_from(["[[wages]]", "from = 2026-01-01", "role = 'r'", "pence_per_hour = 1", "[fuel]", "petrol = 'x'", "[[fuel]]", "petrol = inf"])).map("\n".join))
def test_no_text_makes_it_fail_otherwise(text):
    rates(text, roles=["r"], fuels=list(Fuel), classes=list(VehicleClass))
