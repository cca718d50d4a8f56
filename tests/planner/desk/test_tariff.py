"""Tariff: each rule by hand, tax as the law splits it, and every fault of a file named at once."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.desk.tariff import Band, Beyond, Islands, Tariff, charge
from planner.desk.tariff_file import minute_of, read_tariff, window_of
from planner.faults import BadFiles
from planner.model.places import Window

BANDED = Tariff(free_miles=20, bands=(Band(up_to_miles=50, pence=9900), Band(up_to_miles=120, pence=19900)),
                floor_pence=5900, cap_pence=39900)  # fmt: skip


def test_near_doors_are_free_and_the_retailer_bears_the_cost():
    found = charge(BANDED, cost_pence=8000, miles=20)
    assert (found.charge_pence, found.vat_pence, found.absorbed_pence) == (0, 0, 8000)
    assert found.says == "free within 20 miles"


@pytest.mark.parametrize(("miles", "pence"), [(20.1, 9900), (50, 9900), (50.1, 19900), (120, 19900)])
def test_a_band_holds_up_to_its_distance(miles, pence):
    assert charge(BANDED, cost_pence=8000, miles=miles).charge_pence == pence


def test_a_price_of_99_pounds_holds_16_50_of_tax():
    """A sixth of a price is tax at the standard rate of 20% (the VAT fraction, HMRC notice 700, from memory): 99 / 6 = 16.50."""
    found = charge(BANDED, cost_pence=9000, miles=50)
    assert (found.vat_pence, found.net_pence) == (1650, 8250)
    assert found.absorbed_pence == 9000 - 8250


def test_beyond_the_bands_it_is_cost_and_margin_and_tax_in_whole_pounds():
    """200.01 x 1.1 x 1.2 = 264.0132 pounds, up to 265."""
    found = charge(BANDED, cost_pence=20_001, miles=121)
    assert found.charge_pence == 26_500
    assert found.says == "cost plus 10% and 20% VAT"
    assert found.absorbed_pence == 0


def test_floor_and_cap_hold():
    assert charge(BANDED, cost_pence=100, miles=121).charge_pence == 5900
    assert charge(BANDED, cost_pence=90_000, miles=121).charge_pence == 39_900
    assert "at most £399.00" in charge(BANDED, cost_pence=90_000, miles=121).says


def test_islands_and_far_doors_are_by_arrangement_where_the_tariff_says_so():
    assert charge(BANDED, cost_pence=1, miles=5, by_ferry=True).charge_pence is None
    assert charge(replace(BANDED, islands=Islands.AS_MAINLAND), cost_pence=1, miles=30, by_ferry=True).charge_pence == 9900
    far = charge(replace(BANDED, beyond=Beyond.BY_ARRANGEMENT), cost_pence=1, miles=121)
    assert (far.charge_pence, far.says) == (None, "beyond 120 miles is by arrangement")


@given(cost=st.integers(0, 200_000), miles=st.floats(0, 900), margin=st.integers(0, 100))
def test_charge_is_tax_and_net_and_what_is_borne_is_never_negative(cost, miles, margin):
    found = charge(replace(BANDED, margin_percent=Decimal(margin)), cost_pence=cost, miles=miles)
    assert found.charge_pence == found.vat_pence + found.net_pence
    assert found.absorbed_pence == max(0, cost - found.net_pence)
    assert found.charge_pence == 0 or 5900 <= found.charge_pence <= 39_900


GOOD = """
free_miles = 20
margin_percent = 12.5
floor = 59
cap = 399.00
round_up_to = 5
beyond = "cost plus"
islands = "as mainland"
hold_min = 45
horizon_days = 10
cut_off = "15:30"
weekdays = ["Mon", "Tue", "Sat"]
bank_holidays = true
windows = ["08:00-12:00", "12:00-18:00"]
[[bands]]
up_to_miles = 50
charge = 99
"""


def test_a_file_is_read_whole():
    assert read_tariff(GOOD) == Tariff(
        free_miles=20, margin_percent=Decimal("12.5"), floor_pence=5900, cap_pence=39900, round_up_to_pence=500,
        islands=Islands.AS_MAINLAND, hold_min=45, horizon_days=10, cut_off_min=930, weekdays=frozenset({0, 1, 5}),
        bank_holidays=True, windows=(Window(opens_min=480, closes_min=720), Window(opens_min=720, closes_min=1080)),
        bands=(Band(up_to_miles=50, pence=9900),),
    )  # fmt: skip


def test_an_empty_file_is_the_usual_tariff():
    assert read_tariff("") == Tariff()


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("margin_percent = -5", "tariff.toml, margin_percent: is below zero; a percentage is not ('-5'). Write zero or more."),
        ("floor = 10.005", "tariff.toml, floor: has parts of a penny ('10.005'). Write pounds with at most two decimals."),
        ("cap = true", "tariff.toml, cap: is no sum of money ('True'). Write a plain figure."),
        ('free_miles = "far"', "tariff.toml, free_miles: is no distance ('far'). Write a plain figure."),
        ("hold_min = 7.5", "tariff.toml, hold_min: is no whole number ('7.5'). Leave the decimals out."),
        ('beyond = "free"', "tariff.toml, beyond: is not known ('free'). Write 'cost plus' or 'by arrangement'."),
        ('cut_off = "25:00"', "tariff.toml, cut_off: is no time of day ('25:00'). Write it as \"16:00\"."),
        ("bank_holidays = 1", "tariff.toml, bank_holidays: is neither true nor false ('1'). Write true or false."),
        ('windows = ["12:00-08:00"]', "the earlier time first."),
        ("windows = []", "tariff.toml, windows: is empty; without windows nothing can be promised ('[]'). Name one at least"),
        ('windows = "08:00-12:00"', "is no list of windows"),
        ('weekdays = ["Monday"]', "holds Monday"),
        ("bands = [{up_to_miles = 5}]", "bands[1]: is no band (\"{'up_to_miles': 5}\"). Each band has up_to_miles and charge"),
        (
            "bands = [{up_to_miles = 5, charge = 1}, {up_to_miles = 9, charge = -3}]",
            "tariff.toml, bands[2].charge: is below zero; a sum of money is not ('-3'). Write zero or more.",
        ),
        ("bands = [{up_to_miles = 9, charge = 1}, {up_to_miles = 5, charge = 2}]", "are not in order of distance"),
        ("floor = 20\ncap = 10", "tariff.toml, cap: is below floor, 10 against 20 pounds. Swap the two."),
        ("colour = 'red'", "is no key of a tariff"),
        ("hold_min = 99999999999999", "hold_min: is above 43200 ('99999999999999'). Write 43200 at most."),
        ("horizon_days = 4000000", "horizon_days: is above 366"),
        ("margin_percent = 1e30", "margin_percent: is above 1000"),
        ("floor = inf", "floor: is no sum of money ('Infinity'). Write a plain figure."),
        ("free_miles = nan", "free_miles: is no distance"),
        ("floor = = 2", "tariff.toml: cannot be read"),
    ],
)
def test_what_is_wrong_is_named_with_a_remedy(line, says):
    with pytest.raises(BadFiles) as fault:
        read_tariff(line)
    assert says in str(fault.value)


def test_a_tariff_of_another_name_is_called_by_it():
    with pytest.raises(BadFiles, match=r"^spring\.toml, cap: is below floor"):
        read_tariff("floor = 20\ncap = 10", file="spring.toml")


def test_every_fault_of_a_file_is_named_at_once():
    with pytest.raises(BadFiles) as fault:
        read_tariff('margin_percent = -1\nfloor = "x"\nshape = 1')
    assert [problem.column for problem in fault.value.problems] == ["margin_percent", "floor", "shape"]


def test_times_and_windows_are_read_as_written():
    assert [minute_of(text) for text in ("08:00", "8:05", "24:00", "24:01", "8.00", "")] == [480, 485, 1440, None, None, None]
    assert window_of("08:00–12:00") == Window(opens_min=480, closes_min=720)
    assert [window_of(text) for text in ("08:00", "12:00-12:00", "a-b")] == [None, None, None]
