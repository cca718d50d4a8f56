"""Speeds: never above the law, near the published averages, and later never means earlier."""

from datetime import date

import numpy as np
import pytest

from maps.gazetteer import locate
from maps.postcodes import NATIONS
from maps.roads import RoadClass, Setting
from maps.speeds import speed_table
from maps.speeds_by_hour import peak_factor, seconds_leaving
from maps.travel import path
from planner.model.crews import VehicleClass
from planner.model.places import Nation

KMH = 1.609344


@pytest.mark.parametrize(("vehicle", "nation", "single", "dual", "motorway"), [
    # gov.uk national speed limits (mph); 56 mph limiter above 3.5 t (from memory).
    (VehicleClass.CAR, Nation.ENGLAND, 60, 70, 70), (VehicleClass.GOODS_3500, Nation.ENGLAND, 50, 60, 70),
    (VehicleClass.GOODS_7500, Nation.ENGLAND, 50, 56, 56), (VehicleClass.GOODS_HEAVY, Nation.ENGLAND, 50, 56, 56),
    (VehicleClass.GOODS_HEAVY, Nation.SCOTLAND, 40, 50, 56), (VehicleClass.CAR, Nation.SCOTLAND, 60, 70, 70),
    (VehicleClass.GOODS_HEAVY, Nation.WALES, 50, 56, 56),
])
def test_no_speed_is_above_the_limit_of_the_class(vehicle, nation, single, dual, motorway):
    table = speed_table(vehicle, nation)
    assert table[RoadClass.MOTORWAY].max() <= motorway * KMH
    assert table[RoadClass.DUAL].max() <= dual * KMH
    assert table[RoadClass.SINGLE].max() <= single * KMH
    assert table[np.ix_([RoadClass.SINGLE, RoadClass.MINOR], [Setting.CITY, Setting.INNER])].max() <= 30 * KMH


def test_larger_vehicles_and_denser_places_are_never_faster():
    for nation in NATIONS:
        tables = [speed_table(each, nation) for each in VehicleClass]
        for table in tables:
            assert (np.diff(table[:, [Setting.OPEN, Setting.VILLAGE, Setting.TOWN, Setting.CITY, Setting.INNER]], axis=1) <= 0).all()
            assert (table[:, Setting.HILL] <= table[:, Setting.OPEN]).all()
        for larger, smaller in zip(tables[1:], tables, strict=False):
            assert (larger <= smaller).all()


def test_a_peak_departure_near_a_large_town_is_slower():
    found = path(locate("M1 1AE"), locate("WA1 1AA"))
    assert seconds_leaving(found.pieces, 450) > seconds_leaving(found.pieces, 660) > seconds_leaving(found.pieces, 180)
    friday, saturday, easter_monday = date(2026, 3, 6), date(2026, 3, 7), date(2026, 4, 6)
    assert seconds_leaving(found.pieces, 480, day=friday) == seconds_leaving(found.pieces, 480)
    for quiet in (saturday, easter_monday):  # a bank holiday is no working day
        assert seconds_leaving(found.pieces, 480, day=quiet) < seconds_leaving(found.pieces, 480)


def test_after_midnight_the_traffic_is_that_of_the_next_day():
    found = path(locate("PL1 1AA"), locate("NE1 4LP"))  # some eight hours: from Sunday evening into Monday's morning peak
    sunday, monday, minute = date(2026, 3, 1), date(2026, 3, 2), 60
    assert seconds_leaving(found.pieces, 1440 + minute, day=sunday) == seconds_leaving(found.pieces, minute, day=monday)
    assert seconds_leaving(found.pieces, 1400, day=sunday) > seconds_leaving(found.pieces, 1400, day=date(2026, 3, 7))


def test_pieces_add_up_to_the_path():
    found = path(locate("SO14 0YG"), locate("LS1 4DY"))
    assert -(-sum(piece.ms for piece in found.pieces) // 1000) == pytest.approx(found.seconds, abs=1)


def test_leaving_later_never_means_arriving_earlier():
    for ends in (("M1 1AE", "B1 1AA"), ("SO14 0YG", "PO30 1UD"), ("EH1 1YZ", "G1 1XX")):
        pieces = path(*(locate(text) for text in ends)).pieces
        arrivals = [minute * 60 + seconds_leaving(pieces, minute) for minute in range(0, 1500, 7)]
        assert (np.diff(arrivals) > 0).all()


def test_the_working_day_average_is_one():
    for kind in ((RoadClass.MOTORWAY, Setting.OPEN), (RoadClass.SINGLE, Setting.OPEN), (RoadClass.SINGLE, Setting.TOWN)):
        day = [peak_factor(minute, *kind) for minute in range(420, 1140)]
        assert np.mean(day) == pytest.approx(1, abs=0.05)
