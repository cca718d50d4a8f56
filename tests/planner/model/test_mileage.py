"""Approved mileage rates: GOV.UK, travel - mileage and fuel rates and allowances (45p, 25p, passenger 5p)."""

from decimal import Decimal

import pytest

from planner.model.mileage import approved_pence


@pytest.mark.parametrize(
    ("miles", "so_far", "pounds"),
    [
        (12_000, 0, 5_000),  # 10,000 x 0.45 + 2,000 x 0.25
        (10_000, 0, 4_500),
        (10_001, 0, Decimal("4500.25")),
        (2_000, 9_000, 700),  # 1,000 x 0.45 + 1,000 x 0.25
        (100, 10_000, 25),
        (100, 11_000, 25),
    ],
)
def test_the_rate_steps_down_after_ten_thousand_miles(miles, so_far, pounds):
    assert approved_pence(miles, so_far=so_far) == Decimal(pounds) * 100


def test_each_colleague_carried_adds_five_pence_a_mile():
    assert approved_pence(100, passengers=2) == 100 * 45 + 2 * 5 * 100
