"""Tolls, zones and ferries: dated, priced by class and hour, and met by the paths that use them."""

from datetime import date

import pytest

from maps.crossings import charge_on, crossings
from maps.gazetteer import locate
from maps.travel import path, travel_tables
from planner.model.crews import VehicleClass
from planner.model.travel import ChargeKind

CAR, VAN, HEAVY = VehicleClass.CAR, VehicleClass.GOODS_3500, VehicleClass.GOODS_HEAVY
BY_KEY = {each.key: each for each in crossings()}


@pytest.mark.parametrize(("key", "day", "vehicle", "minute", "pence"), [
    # Dartford: published charges before and from 1 September 2025; free from 22:00 to 06:00.
    ("dartford", date(2025, 8, 31), CAR, 720, 250), ("dartford", date(2025, 9, 1), CAR, 720, 350), ("dartford", date(2025, 9, 1), VAN, 720, 420),
    ("dartford", date(2026, 3, 2), HEAVY, 360, 840), ("dartford", date(2026, 3, 2), CAR, 1320, 0), ("dartford", date(2026, 3, 2), CAR, 359, 0),
    # Mersey Gateway from 1 April 2025; Tyne Tunnels from 1 May 2026.
    ("mersey-gateway", date(2026, 3, 2), HEAVY, 0, 960), ("tyne-tunnels", date(2026, 4, 30), CAR, 600, 250), ("tyne-tunnels", date(2026, 5, 1), CAR, 600, 260),
    # London: Monday 07-18, Sunday 12-18, none on Christmas Day or 1 January; 15 pounds until 1 January 2026, 18 after.
    ("london-congestion", date(2026, 3, 2), CAR, 420, 1800), ("london-congestion", date(2026, 3, 2), CAR, 419, 0),
    ("london-congestion", date(2026, 3, 1), CAR, 700, 0), ("london-congestion", date(2026, 3, 1), CAR, 720, 1800),
    ("london-congestion", date(2025, 12, 15), CAR, 720, 1500), ("london-congestion", date(2025, 12, 25), CAR, 720, 0),
    # Blackwall and Silvertown (from memory): the peak is northbound in the morning, southbound in the evening, Monday to Friday.
    ("blackwall-north", date(2026, 3, 2), CAR, 420, 400), ("blackwall-south", date(2026, 3, 2), CAR, 420, 150), ("blackwall-south", date(2026, 3, 2), HEAVY, 1000, 1000),
    ("blackwall-north", date(2026, 3, 1), CAR, 420, 150), ("blackwall-north", date(2026, 3, 2), CAR, 1320, 0), ("blackwall-north", date(2025, 4, 6), CAR, 720, 0),
    ("london-congestion", date(2026, 1, 1), CAR, 720, 0), ("london-congestion", date(2026, 4, 3), CAR, 660, 0),  # Good Friday before noon
])
def test_prices_hold_by_day_class_and_hour(key, day, vehicle, minute, pence):
    assert charge_on(BY_KEY[key], day).pence_at(vehicle, minute) == pence


def test_only_older_vehicles_pay_in_a_clean_air_zone():
    """Clean air zones: Birmingham is class D (cars too), Bath class C (no cars)."""
    day = date(2026, 3, 2)
    assert charge_on(BY_KEY["birmingham-caz"], day).pence_at(CAR, 600) == 0
    assert charge_on(BY_KEY["birmingham-caz"], day, older=frozenset({CAR})).pence_at(CAR, 600) == 800
    assert charge_on(BY_KEY["bath-caz"], day, older=frozenset({CAR, HEAVY})).pence_at(CAR, 600) == 0
    assert charge_on(BY_KEY["bath-caz"], day, older=frozenset({CAR, HEAVY})).pence_at(HEAVY, 600) == 10_000


def test_a_price_past_its_review_is_doubtful_and_one_before_the_first_is_not_guessed():
    assert charge_on(BY_KEY["m6-toll"], date(2026, 3, 2)).review_after is not None
    assert charge_on(BY_KEY["dartford"], date(2026, 3, 2)).review_after is None
    assert charge_on(BY_KEY["dartford"], date(2000, 1, 1)).bands == ()


def test_every_row_has_its_source_and_its_dates():
    for each in crossings():
        if each.kind is ChargeKind.FERRY:
            continue
        assert each.row["source"]
        assert each.row["read"] < each.row["review"]
        assert each.gate or len(each.area) >= 4


@pytest.mark.parametrize(("pair", "key"), [
    (("Dartford", "Grays"), "dartford"), (("HU1 2AA", "DN18 5AA"), "humber"), (("SO14 0YG", "PO30 1UD"), "ferry-southampton-cowes"),
    (("KA22 8DB", "KA27 8AX"), "ferry-ardrossan-brodick"), (("NE33 1AA", "NE30 1AA"), "tyne-tunnels"),
])
def test_paths_name_what_they_use(pair, key):
    found = path(*(locate(text) for text in pair), CAR, day=date(2026, 3, 2))
    assert key in [charge.key for charge in found.charges]


def test_tolls_can_be_avoided():
    ends = [locate("HU1 2AA"), locate("DN18 5AA")]
    tolled, free = path(*ends), path(*ends, avoid_tolls=True)
    assert free.metres > tolled.metres
    assert not [charge for charge in free.charges if charge.kind is ChargeKind.TOLL]
    held, charges = travel_tables(ends, [CAR], day=date(2026, 3, 2), avoid_tolls=True)
    assert held[CAR].metres[0, 1] == free.metres
    assert not [charge for charge in charges if charge.kind is ChargeKind.TOLL]


def test_a_door_inside_a_zone_meets_it_and_one_outside_does_not():
    day = date(2026, 3, 2)
    inside = path(locate("SL6 1AA"), locate("WC2N 5DU"), day=day)
    assert {"london-congestion", "london-ulez"} <= {charge.key for charge in inside.charges}
    outside = path(locate("SL6 1AA"), locate("RG1 1AA"), day=day)
    assert not {"london-congestion", "london-ulez"} & {charge.key for charge in outside.charges}


@pytest.mark.parametrize(("ends", "key", "pays"), [
    # Roads beside a toll road, a bridge or a zone (public maps, from memory): the A5 by Wall runs along the M6 Toll, the A3024
    # crosses Northam Bridge above the Itchen Bridge, the A4 runs under Clifton Bridge, and the M25 and M8 are in no zone.
    (("52.6560,-1.8340", "52.6730,-1.8600"), "m6-toll", False), (("50.9060,-1.3960", "50.8960,-1.3200"), "itchen", False),
    (("BS1 4DJ", "BS23 1AA"), "clifton", False), (("ME14 1HH", "CB2 1AA"), "london-ulez", False),
    (("EH54 5DB", "PA1 1AA"), "glasgow-lez", False), (("RM13 9YZ", "ME14 1HH"), "london-ulez", True),
    (("WS13 6LU", "WV1 1AA"), "m6-toll", True), (("52.6620,-1.9340", "52.6900,-2.0300"), "m6-toll", True), (("50.8990,-1.3960", "50.8930,-1.3780"), "itchen", True),
    (("51.480,0.020", "51.530,0.005"), "blackwall-north", True), (("51.480,0.020", "51.530,0.005"), "blackwall-south", False),
    (("51.530,0.005", "51.480,0.020"), "blackwall-south", True), (("51.530,0.005", "51.480,0.020"), "blackwall-north", False),
])
def test_paths_name_those_they_meet_and_no_others(ends, key, pays):
    found = path(*(locate(text) for text in ends), CAR, day=date(2026, 3, 2))
    assert (key in [charge.key for charge in found.charges]) is pays, found.roads


def test_avoiding_tolls_leaves_the_free_roads_beside_them_alone():
    """The A5 by Wall and the A4 under Clifton Bridge are no toll roads."""
    for ends in (("52.6480,-1.8340", "52.6510,-1.8900"), ("51.4570,-2.6290", "51.4510,-2.6250")):
        places = [locate(text) for text in ends]
        assert path(*places, avoid_tolls=True).metres <= path(*places).metres
