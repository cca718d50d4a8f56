"""Tolls, zones and ferries on a run sheet: once a day or each passage, at the price of the vehicle that meets them."""

from dataclasses import replace

import numpy as np
import pytest

from planner.model.crews import VehicleClass
from planner.model.travel import ChargeBand, ChargeKind
from planner.sheets.charges_met import charge_rows
from planner.sheets.words import words
from tests.sheet_days import SEVERN, a_day, plate_run, transporter_run


def met_everywhere(kind, *bands):
    """The day with one charge that every leg meets."""
    day = a_day(charges=(replace(SEVERN, kind=kind, bands=bands),))
    tables = {key: replace(table, charge_mask=np.ones_like(table.charge_mask)) for key, table in day.tables.items()}
    return replace(day, tables=tables)


def band(vehicle_class, pence, from_min=0, to_min=0):
    return ChargeBand(vehicle_class=vehicle_class, from_min=from_min, to_min=to_min, pence=pence)


def test_a_zone_is_listed_once_a_day_for_each_vehicle_and_a_toll_at_each_passage():
    prices = (band(VehicleClass.CAR, 900), band(VehicleClass.GOODS_7500, 5000))
    zone, toll = (met_everywhere(kind, *prices) for kind in (ChargeKind.ZONE, ChargeKind.TOLL))
    (row,) = charge_rows(zone, transporter_run(), words())
    assert (row.name, row.amount) == ("Long Bridge toll (to Kettering, Glossop, Daventry preparation centre)", "about £50.00")
    assert len(charge_rows(toll, transporter_run(), words())) == 3
    assert [row.vehicle[-9:] for row in charge_rows(zone, plate_run(), words())] == ["(EV70ZZZ)", " (OLD1PX)"]


def test_the_price_is_that_of_the_class_and_hour_and_not_the_dearest_of_any():
    """The legs of the transporter, a 7.5-tonner, begin at 07:40, 09:40 and 13:35; it pays from 06:00 to 12:00."""
    day = met_everywhere(ChargeKind.TOLL, band(VehicleClass.GOODS_HEAVY, 9900), band(VehicleClass.GOODS_7500, 300, 360, 720))
    rows = charge_rows(day, transporter_run(), words())
    assert [(row.amount, row.has_receipt) for row in rows] == [("about £3.00", True), ("about £3.00", True), ("free at that hour", False)]


@pytest.mark.parametrize(
    ("kind", "says", "has_receipt"),
    [(ChargeKind.ZONE, "free if it meets the zone's rules", False), (ChargeKind.FERRY, "ask when booking", True)],
)
def test_what_has_no_price_says_why(kind, says, has_receipt):
    row = charge_rows(met_everywhere(kind), transporter_run(), words())[0]
    assert (row.amount, row.has_receipt) == (says, has_receipt)
