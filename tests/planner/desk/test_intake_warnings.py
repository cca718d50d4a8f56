"""Warnings: an island without a ferry, a car nobody can carry, and promises priced below money."""

from dataclasses import replace

import numpy as np
import pytest

from planner.desk.intake_warnings import dearest_alone_pence, warnings
from planner.model.travel import TravelTable
from tests.planner.desk.small_folder import order, read

HOURS = 3600


def with_roads(day, metres, seconds):
    far = lambda value: np.array([[0, value], [value, 0]], dtype=np.int32)  # noqa: E731
    return replace(day, tables={kind: TravelTable(
        vehicle_class=kind, metres=far(metres), seconds=far(seconds), charge_mask=np.zeros((2, 2), np.int64), ferry_seconds=far(0))
        for kind in day.tables})


def test_an_ordinary_day_has_none():
    assert warnings(with_roads(read(), 80_000, HOURS)) == ()


def test_a_place_that_no_road_reaches_is_named():
    (says,) = warnings(with_roads(read(), -1, -1))
    assert says == "A1: no road or ferry leads from Yard to LA9 4PU; it stays behind."


def test_a_car_that_must_be_carried_and_that_nobody_carries_is_named():
    day = with_roads(read(orders=[order(method="carried", mass_kg="1401")]), 80_000, HOURS)
    assert warnings(day) == ("A1: 1401 kg must be carried, and nobody carries so much; it stays behind.",)


def test_the_dearest_way_by_hand():
    """
    80 km an hour for 2 x 80 km, one transporter with 10 l/100 km measured: fuel 160 x 0.1 x 144 = 2304; running 160 x 10 = 1600;
    wages (2 + 2) h x 1400 x 1.25 = 7000; no night: 10904 pence.
    """
    row = {"transporter": "T1", "registration": "QT20 AAA", "base": "Yard", "deck": "one-car-3500", "gross_kg": "3500",
           "payload_kg": "1400", "slots": "1", "litres_per_100km": "10"}
    day = with_roads(read(transporters=[row]), 80_000, HOURS)
    assert dearest_alone_pence(day, day.moves[0]) == 10_904


@pytest.mark.parametrize(("late_pence", "warned"), [(10_903, True), (10_905, False)])
def test_promises_priced_below_money_are_named(late_pence, warned):
    row = {"transporter": "T1", "registration": "QT20 AAA", "base": "Yard", "deck": "one-car-3500", "gross_kg": "3500",
           "payload_kg": "1400", "slots": "1", "litres_per_100km": "10"}
    day = read(transporters=[row], policy=f"day = 2026-11-26\nlate_first_day_pence = {late_pence}")
    found = warnings(with_roads(day, 80_000, HOURS))
    assert any("Raise late_first_day_pence" in says for says in found) is warned
