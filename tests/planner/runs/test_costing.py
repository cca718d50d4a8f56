"""Costing: two runs worked by hand to the penny, then each rule on its own."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.clock import DayClock
from planner.faults import NoRate
from planner.model.cars import Fuel
from planner.model.crews import CarrierId, DriverId, VehicleClass
from planner.model.moves import MoveId
from planner.model.rates import Wage
from planner.model.travel import ChargeKind
from planner.runs.costing import price
from planner.runs.driven_legs import driven_legs, vehicle_of_sold_car, vehicle_of_transporter
from planner.runs.leg_prices import LegPrices
from planner.runs.run import ActivityKind, CostKind, Itinerary, Run, RunId, Stop
from planner.runs.shift import duty_min, night_min
from tests.planner.runs.worked_day import (
    AYR,
    BEE,
    FAR,
    MOVES,
    RATES,
    YARD,
    charge,
    plate_run,
    step,
    table,
    transporter_run,
    worked_day,
)


def lines(day, run) -> dict[CostKind, int]:
    total: dict[CostKind, int] = {}
    for line in price(day, run):
        total[line.kind] = total.get(line.kind, 0) + line.pence
    return total


def test_a_transporter_run_by_hand():
    """
    A 7.5 t two-car transporter, payload 3,000 kg: 80 km at 80 km/h with 2,700 kg aboard, 30 km at 60 km/h with
    1,200 kg, 20 km at 40 km/h empty, in 420 minutes of duty.

    wages        480 min (minimum shift) x 1560 p / 60                                          = 12,480
    fuel         litres/km of OGV1 at 80, 60, 40 km/h 0.178571, 0.168524, 0.191339 (TAG A1.3);
                 fully laden burns 0.54068 / 0.46138 = 1.171876 of empty (2025 factors)
                 80 x 0.178571 x (1 + 0.171876 x 2700/3000) = 14.28568 x 1.154688 = 16.4955
                 30 x 0.168524 x (1 + 0.171876 x 1200/3000) =  5.05572 x 1.068750 =  5.4033
                 20 x 0.191339 x 1                                                =  3.8268
                 25.7256 litres x 148.5 p = 3,820.25                                            =  3,820
    running      130 km x 9.309 p + (1 + 0.5 + 0.5) h x 365.78 p = 1,210.17 + 731.56 = 1,941.73 =  1,942
    vehicle day                                                                                 =  6,000
    toll         one passage at 07:39, goods class                                              =    420
    zone         met on two legs, paid once                                                     =  5,000
                                                                                         total    29,662
    """
    assert lines(worked_day(), transporter_run()) == {
        CostKind.WAGES: 12_480,
        CostKind.FUEL: 3_820,
        CostKind.RUNNING: 1_942,
        CostKind.VEHICLE_DAY: 6_000,
        CostKind.TOLL: 420,
        CostKind.ZONE: 5_000,
    }
    assert sum(line.pence for line in price(worked_day(), transporter_run())) == 29_662


def test_a_plate_run_by_hand():
    """
    An electric car driven 150 km at 100 km/h, the driver home by train, 600 minutes of duty.

    wages        600 min x 1300 p / 60                                    = 13,000
    overtime     60 min above 540 x (1.25 - 1) x 1300 p / 60              =    325
    charge       150 km x 0.220656352 kWh (TAG A1.3.11) x 30 p = 992.95   =    993
    fares                                                                 =  2,320
    plates                                                                =    350
    re-valet                                                              =  1,800
    fall         150 km x 6 p                                             =    900
                                                                   total    19,688
    """
    assert lines(worked_day(), plate_run()) == {
        CostKind.WAGES: 13_000,
        CostKind.OVERTIME: 325,
        CostKind.CHARGE: 993,
        CostKind.FARE: 2_320,
        CostKind.PLATES: 350,
        CostKind.REVALET: 1_800,
        CostKind.VALUE_FALL: 900,
    }
    assert sum(line.pence for line in price(worked_day(), plate_run())) == 19_688


def test_a_support_car_follows_there_and_back():
    """300 km at 100 km/h: 0.063618 l/km x 300 x 141.9 p = 2,708.2; 300 x 6.885 + 3 h x 188.486 = 2,630.96; two drivers."""
    found = lines(worked_day(), plate_run(support=True))
    assert found[CostKind.FUEL] == 2_708
    assert found[CostKind.RUNNING] == 2_631
    assert found[CostKind.VEHICLE_DAY] == 1_500
    assert (found[CostKind.WAGES], found[CostKind.OVERTIME]) == (26_000, 650)
    assert CostKind.FARE not in found


def test_a_hired_carrier_by_hand():
    """150 km = 93.2057 miles x 95 p + 4,000 p = 12,854.5; 20 km would be 5,180.6, below the least of 9,000."""
    day = worked_day()
    for move, pence in ((MOVES[3], 12_855), (MOVES[1], 9_000)):
        stops = (Stop(place=move.origin, takes=(move.move_id,)), Stop(place=move.destination, leaves=(move.move_id,)))
        itinerary = Itinerary(driver=None, carrier=CarrierId("C1"), stops=stops)
        run = Run(run_id=RunId("H"), itinerary=itinerary, book="", activities=(), visits=(), costs=())
        (line,) = price(day, run)
        assert (line.kind, line.pence, line.move) == (CostKind.HIRED, pence, move.move_id)


@pytest.mark.parametrize(("start_min", "pence"), [(359, 0), (360, 420), (1319, 420), (1320, 0)])
def test_a_crossing_that_is_free_at_night_is_priced_when_its_leg_starts(start_min, pence):
    """As at the Dartford crossing, charged 06:00 to 22:00: free at 05:59 and at 22:00, not at 06:00 and 21:59."""
    run = transporter_run(start_min - 39)
    assert lines(worked_day(), run).get(CostKind.TOLL, 0) == pence


def test_a_toll_is_priced_by_the_class_that_passes():
    """As at the Mersey Gateway from 1 April 2025: class 2 (car, small van) 2.40, class 3 (small lorry) 7.20."""
    gateway = charge("Gateway", ChargeKind.TOLL, car=(0, 0, 240), goods_3500=(0, 0, 240), goods_7500=(0, 0, 720))
    tables = {cls: table(cls, {(0, 1): 1, (0, 3): 1}) for cls in (VehicleClass.CAR, VehicleClass.GOODS_7500)}
    day = worked_day(charges=(gateway,), tables=tables)
    assert lines(day, transporter_run())[CostKind.TOLL] == 720
    assert [line.move for line in price(day, plate_run()) if line.kind is CostKind.TOLL] == ["M4"]
    assert lines(day, plate_run())[CostKind.TOLL] == 240
    assert lines(day, plate_run(support=True))[CostKind.TOLL] == 3 * 240


def test_a_zone_is_paid_at_its_dearest_passage_by_each_vehicle():
    zone = charge("Zone", ChargeKind.ZONE, car=(600, 1440, 900), goods_7500=(700, 1440, 5000))
    tables = {cls: table(cls, {(0, 1): 1, (0, 2): 1, (0, 3): 1}) for cls in (VehicleClass.CAR, VehicleClass.GOODS_7500)}
    day = worked_day(charges=(zone,), tables=tables)
    assert lines(day, transporter_run())[CostKind.ZONE] == 5000  # first leg at 07:39 is free, the last at 13:18 is not
    assert lines(day, plate_run(support=True))[CostKind.ZONE] == 900  # the sold car passes before 10:00, the support car later


@pytest.mark.parametrize(("from_min", "to_min", "pence"), [
    (0, 0, 5000), (-1, 0, 0), (-60, 1, 5000), (1, 2, 5000), (108, 109, 5000), (109, 110, 0),
])  # fmt: skip
def test_a_zone_is_paid_by_who_is_on_the_way_at_any_minute_of_its_hours(from_min, to_min, pence):
    """
    A leg to the zone lasts 108 minutes from 07:39, a break included: hours that end before or begin after cost nothing.

    As at the London congestion charge (07:00 to 18:00, Transport for London, from memory) for who sets off at 06:45 and arrives
    at 08:31.
    """
    run = transporter_run()
    day = worked_day()
    first = driven_legs(day, run)[0]
    start, end = first.start_min, first.end_min
    hours = (start + from_min, start + to_min) if (from_min, to_min) != (0, 0) else (0, 0)
    assert (start, end - start) == (459, 108)
    zone = charge("Zone", ChargeKind.ZONE, goods_7500=(*hours, 5000))
    ends = sorted((day.place_index[first.origin], day.place_index[first.destination]))
    day = worked_day(charges=(zone,), tables={VehicleClass.GOODS_7500: table(VehicleClass.GOODS_7500, {tuple(ends): 1})})
    assert lines(day, run).get(CostKind.ZONE, 0) == pence


def test_weekend_wages_carry_into_overtime():
    rates = replace(RATES, is_weekend=True,
                    wages={"plate driver": Wage(pence_per_hour=Decimal(1300), weekend_factor=Decimal("1.5"))})  # fmt: skip
    found = lines(worked_day(rates=rates), plate_run())
    assert (found[CostKind.WAGES], found[CostKind.OVERTIME]) == (19_500, 488)  # 487.5 rounds up


def test_night_minutes_are_paid_on_top_across_midnight():
    """Duty 04:00 to 11:00: two hours before 06:00 x 240 p; and 20:00 to 03:00: five hours after 22:00."""
    assert lines(worked_day(), transporter_run(240))[CostKind.NIGHT_PREMIUM] == 480
    assert lines(worked_day(), transporter_run(1200))[CostKind.NIGHT_PREMIUM] == 1200


def test_night_follows_the_clock_on_the_wall_when_clocks_change():
    """On 25 October 2026 clocks go back at 02:00: from midnight to 06:00 by the wall seven hours pass."""
    wage = Wage(pence_per_hour=Decimal(1), night_from_min=1320, night_to_min=360)
    run = replace(plate_run(), activities=(step(ActivityKind.OTHER_WORK, 0, 600, YARD),))
    assert night_min(run, DayClock(date(2026, 10, 25)), wage) == 420
    assert night_min(run, DayClock(date(2026, 3, 29)), wage) == 300
    assert night_min(run, DayClock(date(2026, 6, 10)), wage) == 360


def test_the_rest_of_a_night_out_is_no_duty():
    night = (
        step(ActivityKind.DRIVE, 480, 900, YARD, FAR, metres=1),
        step(ActivityKind.REST, 900, 1560, FAR),
        step(ActivityKind.DRIVE, 1560, 1700, FAR, YARD, metres=1),
    )
    run = replace(transporter_run(), activities=night, nights=1)
    assert duty_min(run) == 420 + 140
    assert lines(worked_day(), run)[CostKind.NIGHT_OUT] == 6500


def test_a_rest_by_day_is_duty():
    """Three hours of rest between two windows split the daily rest, yet nobody goes home: wages run on."""
    day = (
        step(ActivityKind.DRIVE, 480, 600, YARD, FAR, metres=1),
        step(ActivityKind.REST, 600, 780, FAR),
        step(ActivityKind.DRIVE, 780, 900, FAR, YARD, metres=1),
    )
    assert duty_min(replace(transporter_run(), activities=day)) == 420


def test_a_leg_cut_by_breaks_counts_once():
    assert [leg.metres for leg in driven_legs(worked_day(), transporter_run())] == [80_000, 30_000, 20_000]


def test_a_ferry_is_paid_and_a_leg_of_nothing_but_ferry_burns_nothing():
    car = table(VehicleClass.CAR, {(0, 3): 0b100})
    sailed = replace(car, ferry_seconds=car.seconds.copy())
    day = worked_day(tables={VehicleClass.CAR: sailed})
    found = lines(day, plate_run())
    assert found[CostKind.FERRY] == 2650
    assert CostKind.CHARGE not in found


@pytest.mark.parametrize(
    ("rates", "says"),
    [
        ({"wages": {}}, "rates.toml: no wage for a plate driver is in force on 10 June 2026. Add a row"),
        ({"fuel_pence": {Fuel.PETROL: Decimal(1)}}, "no price of charging is in force"),
        ({"running": {}}, "no running cost for car is in force"),
    ],
)
def test_what_has_no_rate_says_so_with_a_remedy(rates, says):
    with pytest.raises(NoRate, match=says):
        price(worked_day(rates=replace(RATES, **rates)), plate_run(support=True))


def test_a_hybrid_is_priced_as_petrol_when_no_price_is_given():
    moves = (*MOVES[:3], replace(MOVES[3], car=replace(MOVES[3].car, fuel=Fuel.HYBRID)))
    # 150 km x 0.063618 l/km x 0.12825/0.16272 x 141.9 p = 1,067.3
    assert lines(worked_day(moves=moves), plate_run())[CostKind.FUEL] == 1_067


@given(start=st.integers(0, 1500), rate=st.integers(0, 4000), seats=st.booleans())
def test_no_line_is_ever_negative_or_empty(start, rate, seats):
    rates = replace(RATES, wages={role: replace(wage, pence_per_hour=Decimal(rate)) for role, wage in RATES.wages.items()})
    day = worked_day(rates=rates)
    for run in (transporter_run(start), plate_run(support=seats)):
        assert all(line.pence > 0 for line in price(day, run))


def test_leg_prices_add_up_to_the_lines_of_a_run():
    """The sums that a search makes of arrays are costing's own, before rounding."""
    day = worked_day()
    prices = LegPrices.of(day, vehicle_of_transporter(day.transporters[0]))
    places = day.place_index
    fuel = running = 0.0
    for origin, destination, kg in ((YARD, AYR, 2700), (AYR, BEE, 1200), (BEE, YARD, 0)):
        cell = places[origin], places[destination]
        fuel += prices.fuel_pence[cell] + prices.kg_pence[cell] * kg
        running += prices.running_pence[cell]
    assert fuel == pytest.approx(sum(leg.burnt for leg in driven_legs(day, transporter_run())) * 148.5, rel=1e-12)
    found = lines(day, transporter_run())
    assert (round(fuel), round(running)) == (found[CostKind.FUEL], found[CostKind.RUNNING])
    assert prices.passage_pence[places[YARD], places[AYR]] == 0  # free at night, so nothing is sure
    assert prices.zone_mask[places[AYR], places[BEE]] == 0b010


def test_leg_prices_of_a_sold_car_hold_its_fall_in_value_and_no_running_cost():
    day = worked_day()
    prices = LegPrices.of(day, vehicle_of_sold_car(day, MoveId("M4")))
    cell = day.place_index[YARD], day.place_index[FAR]
    assert prices.empty_pence[cell] == pytest.approx(150 * 0.220656352 * 30 + 150 * 6)
    assert prices.passage_pence[day.place_index[AYR], day.place_index[FAR]] == 2650


def test_where_no_road_leads_a_leg_has_no_price():
    car = table(VehicleClass.CAR)
    metres = car.metres.copy()
    metres[0, 3] = -1
    day = worked_day(tables={VehicleClass.CAR: replace(car, metres=metres)})
    prices = LegPrices.of(day, vehicle_of_sold_car(day, MoveId("M4")))
    assert np.isinf(prices.empty_pence[0, 3])
    assert np.isfinite(prices.empty_pence[3, 0])


def test_who_drives_is_looked_up_by_role():
    day = worked_day()
    run = replace(transporter_run(), itinerary=replace(transporter_run().itinerary, driver=DriverId("D1")))
    assert lines(day, run)[CostKind.WAGES] == 420 * 1300 // 60
