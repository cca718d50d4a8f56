"""Days and itineraries thrown together at random, with every corner that timing, costing and the referee must agree on."""

import math
import random
from dataclasses import replace
from datetime import date
from decimal import Decimal

import numpy as np

from planner.clock import DayClock
from planner.model.cars import Car, Fuel, Registration
from planner.model.crews import Carrier, CarrierId, Driver, DriverId, Transporter, TransporterId, VehicleClass, WeekSoFar
from planner.model.day import Day
from planner.model.decks import library
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.places import Compound, Place, PlaceId, Window
from planner.model.policy import Policy
from planner.model.rates import Rates, RunningCost, Wage
from planner.model.travel import Charge, ChargeBand, ChargeKind, RideTable, TravelTable
from planner.runs.run import Itinerary, Stop

#: Ordinary days, both clock-change Sundays, a Sunday before a new week and a Monday.
DATES = (date(2026, 6, 10), date(2026, 3, 29), date(2026, 10, 25), date(2026, 6, 14), date(2026, 6, 15), date(2026, 6, 12))
MARKS = "ABCDEFGHJK"


def random_day(seed: int) -> Day:
    """Return a day of some 12 places, 14 moves, 8 drivers and 5 transporters."""
    rng = random.Random(seed)
    places = tuple(
        Place(place_id=PlaceId(f"P{row}"), name=f"Place {row}", lng=rng.uniform(-3, 0), lat=rng.uniform(51, 54)) for row in range(12)
    )
    compounds = tuple(
        Compound(place=place, plate_sets=rng.randint(1, 3), bays=rng.choice([None, 1, 2]),
                 window=rng.choice([None, *[Window(opens_min=rng.choice([0, 300, 420]), closes_min=rng.choice([1080, 1320, 1440]))] * 9]))
        for place in places[:3]
    )  # fmt: skip
    charges = tuple(random_charge(rng, number) for number in range(4))
    return Day(
        clock=DayClock(rng.choice(DATES)), places=places, compounds=compounds, orders=(), moves=random_moves(rng, places),
        drivers=tuple(random_driver(rng, number, places) for number in range(8)),
        transporters=random_transporters(rng, places),
        carriers=tuple(
            Carrier(carrier_id=CarrierId(f"C{number}"), name=f"Carrier {number}", cars=rng.randint(1, 3),
                    base_pence=rng.randint(0, 5000), pence_per_mile=rng.randint(50, 150), minimum_pence=rng.choice([0, 9000]),
                    max_miles=rng.choice([60, 1000]), max_mass_kg=rng.choice([1800, 3500]))
            for number in range(2)
        ),
        rates=random_rates(rng), policy=random_policy(rng), charges=charges, tables=random_tables(rng, places, len(charges)),
        rides=random_rides(rng, places), decks=library() if rng.random() < 0.6 else {},
    )  # fmt: skip


def kilometres(one: Place, other: Place) -> float:
    """Flat-earth distance, good enough to make tables that hang together."""
    return math.hypot((one.lng - other.lng) * 67, (one.lat - other.lat) * 111)


def random_tables(rng: random.Random, places: tuple[Place, ...], num_charges: int) -> dict[VehicleClass, TravelTable]:
    size = len(places)
    tables = {}
    for vehicle_class, kmh in zip(VehicleClass, (80, 78, 72, 66), strict=True):
        metres, seconds, ferry = (np.zeros((size, size), np.int32) for _ in range(3))
        mask = np.zeros((size, size), np.int64)
        for row in range(size):
            for column in range(size):
                if row == column:
                    continue
                km = kilometres(places[row], places[column]) * rng.uniform(1.1, 1.4)
                metres[row, column], seconds[row, column] = int(km * 1000), int(km / kmh * 3600 * rng.uniform(0.9, 1.5))
                if rng.random() < 0.05:
                    ferry[row, column] = rng.choice([600, 2400, 4000])
                    seconds[row, column] += ferry[row, column]
                if rng.random() < 0.02:
                    seconds[row, column] = ferry[row, column]  # all of it aboard, or two places at one gate
                if rng.random() < 0.01:
                    metres[row, column] = seconds[row, column] = -1
                    ferry[row, column] = 0
                if rng.random() < 0.3:
                    mask[row, column] = rng.randrange(1 << num_charges)
        tables[vehicle_class] = TravelTable(
            vehicle_class=vehicle_class, metres=metres, seconds=seconds, charge_mask=mask, ferry_seconds=ferry
        )
    return tables


def random_rides(rng: random.Random, places: tuple[Place, ...]) -> RideTable:
    size = len(places)
    minutes, fares = np.zeros((size, size), np.int32), np.zeros((size, size), np.int32)
    for row in range(size):
        for column in range(size):
            if row != column:
                km = kilometres(places[row], places[column])
                minutes[row, column] = -1 if rng.random() < 0.02 else int(40 + km * 0.8)
                fares[row, column] = int(1200 + km * 14)
    return RideTable(minutes=minutes, fare_pence=fares)


def random_charge(rng: random.Random, number: int) -> Charge:
    spans = ((0, 0), (360, 1320), (1320, 360), (420, 1080))
    return Charge(
        key=f"charge {number}", name=f"Charge {number}", kind=list(ChargeKind)[number % 3],
        bands=tuple(
            ChargeBand(vehicle_class=vehicle_class, from_min=start, to_min=end, pence=rng.randint(100, 2000))
            for vehicle_class in VehicleClass if rng.random() < 0.8 for start, end in [rng.choice(spans)]
        ),
    )  # fmt: skip


def random_moves(rng: random.Random, places: tuple[Place, ...]) -> tuple[Move, ...]:
    made: list[Move] = []
    for number in range(12):
        kind = rng.choice([MoveKind.DELIVERY, MoveKind.DELIVERY, MoveKind.RETURN, MoveKind.TRANSFER])
        yard, door = rng.choice(places[:3]), rng.choice(places[3:])
        ends = {MoveKind.DELIVERY: (yard, door), MoveKind.RETURN: (door, yard)}.get(kind, (yard, rng.choice(places[:3])))
        window = Window(opens_min=rng.choice([480, 600, 720]), closes_min=rng.choice([840, 1080, 1200])) if rng.random() < 0.5 else None
        if ends[0] == ends[1]:
            continue
        made.append(Move(
            move_id=MoveId(f"M{number}"), kind=kind, car=random_car(rng, number), origin=ends[0].place_id,
            destination=ends[1].place_id, origin_min=rng.choice([0, 15, 20]), destination_min=rng.choice([0, 20, 30]),
            destination_window=window if ends[1] is door else None, origin_window=window if ends[0] is door else None,
            may_be_driven=rng.random() < 0.9, may_be_carried=rng.random() < 0.95, no_large_vehicle=rng.random() < 0.1,
            stays_behind_pence=rng.randint(0, 150_000), pinned_driver="D1" if rng.random() < 0.03 else None,
        ))  # fmt: skip
        if kind is MoveKind.DELIVERY and rng.random() < 0.3:
            made.append(Move(
                move_id=MoveId(f"X{number}"), kind=MoveKind.PART_EXCHANGE, car=random_car(rng, 50 + number),
                origin=door.place_id, destination=rng.choice(places[:3]).place_id, origin_min=20,
                tied_to=MoveId(f"M{number}"),
            ))  # fmt: skip
    return tuple(made)


def random_car(rng: random.Random, number: int) -> Car:
    return Car(
        registration=Registration(f"{MARKS[number // 10]}{MARKS[number % 10]}26CAR"), make_model="Ardent Five",
        mass_kg=rng.randint(900, 2400), length_mm=rng.randint(3600, 4900),
        height_mm=rng.randint(1420, 1850), fuel=rng.choice(list(Fuel)),
        range_m=rng.choice([None, None, None, 120_000]), is_van=rng.random() < 0.15, may_be_driven=rng.random() < 0.97,
    )  # fmt: skip


def random_driver(rng: random.Random, number: int, places: tuple[Place, ...]) -> Driver:
    licences = [{"B"}, {"B", "C1"}, {"C1"}, {"CE"}, {"C"}][number % 5]
    week = WeekSoFar()
    if rng.random() < 0.6:
        week = WeekSoFar(
            driven_week_min=rng.choice([0, 1500, 3000]), driven_last_week_min=rng.choice([0, 2500, 3360]),
            worked_week_min=rng.choice([0, 2000, 3300]), duty_days=rng.choice([0, 2, 5, 6]), extended_days=rng.choice([0, 1, 2]),
            reduced_rests=rng.choice([0, 2, 3]), last_duty_end_min=rng.choice([None, -600, -240, -200, -60]),
            weekly_rest_ended_min=rng.choice([None, -2 * 1440, -5 * 1440 - 300]),
        )  # fmt: skip
    return Driver(
        driver_id=DriverId(f"D{number}"), name=f"Driver {number}", base=rng.choice(places[:2]).place_id,
        licences=frozenset(licences), role=rng.choice(["plate driver", "transporter driver"]),
        home=rng.choice([None, None, rng.choice(places[3:]).place_id]), starts_from_min=rng.choice([180, 300, 360, 480]),
        home_by_min=rng.choice([900, 1140, 1260, 1500]), may_drive_plates=rng.random() < 0.95, may_stay_out=rng.random() < 0.5,
        week=week, pinned_transporter=TransporterId("T1") if rng.random() < 0.05 else None,
    )  # fmt: skip


def random_transporters(rng: random.Random, places: tuple[Place, ...]) -> tuple[Transporter, ...]:
    kinds = (
        (3500, 0, 1500, 1, "one-car-3500"), (3500, 3000, 2600, 2, ""), (7500, 0, 3000, 2, "two-car-7500"),
        (18000, 0, 9000, 5, "five-car-rigid"), (26000, 18000, 18000, 9, "nine-car-drawbar"),
    )  # fmt: skip
    return tuple(
        Transporter(transporter_id=TransporterId(f"T{number}"), name=f"Transporter {number}", registration=f"T{number}26VAN",
                    base=rng.choice(places[:2]).place_id, deck=deck, gross_kg=gross, payload_kg=payload, slots=slots,
                    trailer_kg=trailer, is_electric=rng.random() < 0.2, litres_per_100km=rng.choice([None, None, 31.5]))
        for number, (gross, trailer, payload, slots, deck) in enumerate(kinds)
    )  # fmt: skip


def random_rates(rng: random.Random) -> Rates:
    def tenths(low: int, high: int) -> Decimal:
        return Decimal(rng.randint(low, high)) / 10

    wages = {
        role: Wage(
            pence_per_hour=tenths(12000, 19000), minimum_shift_min=rng.choice([0, 240, 480]),
            overtime_after_min=rng.choice([420, 540]), overtime_factor=Decimal(rng.choice(["1", "1.25", "1.5"])),
            night_extra_pence_per_hour=tenths(0, 3000), weekend_factor=Decimal(rng.choice(["1", "1.33"])),
            night_from_min=rng.choice([1320, 1200, 60]), night_to_min=rng.choice([360, 420]),
        )
        for role in ("plate driver", "transporter driver")
    }  # fmt: skip
    fuel = {Fuel.PETROL: tenths(1300, 1500), Fuel.DIESEL: tenths(1400, 1600), Fuel.ELECTRIC: tenths(250, 700)}
    if rng.random() < 0.3:
        fuel[Fuel.HYBRID] = tenths(1300, 1500)
    running = {
        vehicle_class: RunningCost(pence_per_km=tenths(50, 120), pence_km_per_hour=tenths(0, 4000), day_pence=tenths(0, 80000))
        for vehicle_class in VehicleClass
    }
    return Rates(wages=wages, fuel_pence=fuel, running=running, is_weekend=rng.random() < 0.3,
                 value_fall_pence_per_km=tenths(0, 90))  # fmt: skip


def random_policy(rng: random.Random) -> Policy:
    return Policy(
        reserve_percent=rng.choice([0, 5, 7]), driven_max_m=rng.choice([450_000, 150_000]), walk_round_min=rng.choice([0, 15]),
        end_of_day_min=rng.choice([0, 10]), driven_moves_a_shift=rng.choice([1, 4]), nights_out=rng.random() < 0.8,
        support_car_allowed=rng.random() < 0.9, hired_carriers=rng.random() < 0.9, hand_in_at_compound_min=rng.choice([0, 10]),
        plate_driving_max_min=rng.choice([600, 480]), plate_duty_max_min=rng.choice([660, 600]),
        plate_break_every_min=rng.choice([120, 90]),
    )  # fmt: skip


def random_itinerary(day: Day, seed: int) -> Itinerary:
    """Return one that often is legal: cars taken and left in a sensible order by a crew drawn at random."""
    rng = random.Random(seed)
    roll = rng.random()
    if roll < 0.1:
        return hired_itinerary(day, rng)
    if roll < 0.5:
        return plate_itinerary(day, rng)
    return transporter_itinerary(day, rng)


def hired_itinerary(day: Day, rng: random.Random) -> Itinerary:
    move = rng.choice(day.moves)
    stops = (Stop(place=move.origin, takes=(move.move_id,)), Stop(place=move.destination, leaves=(move.move_id,)))
    return Itinerary(driver=None, carrier=rng.choice(day.carriers).carrier_id, stops=stops)


def leads(day: Day) -> list[Move]:
    return [move for move in day.moves if move.tied_to is None]


def plate_itinerary(day: Day, rng: random.Random) -> Itinerary:
    driver = rng.choice(day.drivers)
    stops: list[Stop] = []
    for move in rng.sample(leads(day), k=min(len(leads(day)), rng.choice([1, 1, 2, 3]))):
        pair = [Stop(place=move.origin, takes=(move.move_id,)), Stop(place=move.destination, leaves=(move.move_id,))]
        for tied in day.moves:
            if tied.tied_to == move.move_id:
                pair = [pair[0], replace(pair[1], takes=(tied.move_id,)), Stop(place=tied.destination, leaves=(tied.move_id,))]
        if stops and stops[-1].place == pair[0].place:
            stops[-1:] = [replace(stops[-1], takes=pair[0].takes)]
            pair = pair[1:]
        stops += pair
    second = None
    if rng.random() < 0.35:
        same = [other for other in day.drivers if other.starts_at == driver.starts_at]
        second = rng.choice(same if rng.random() < 0.95 else day.drivers).driver_id
    return Itinerary(driver=driver.driver_id, stops=tuple(stops), support_driver=second, may_stay_out=rng.random() < 0.5)


def transporter_itinerary(day: Day, rng: random.Random) -> Itinerary:
    transporter = rng.choice(day.transporters)
    driver = rng.choice(day.drivers)
    tied = {move.tied_to: move for move in day.moves if move.tied_to is not None}
    chosen = rng.sample(leads(day), k=min(len(leads(day)), rng.randint(1, max(1, min(5, transporter.slots + 1)))))
    waiting, aboard, stops = list(chosen), [], []
    while waiting or aboard:
        take = waiting and (not aboard or (len(aboard) < transporter.slots and rng.random() < 0.7))
        move = rng.choice(waiting if take else aboard)
        place = move.origin if take else move.destination
        here = stops.pop() if stops and stops[-1].place == place else Stop(place=place)
        if take:
            waiting.remove(move)
            aboard.append(move)
            stops.append(replace(here, takes=(*here.takes, move.move_id)))
        else:
            aboard.remove(move)
            if move.move_id in here.takes:  # taken and left at one place in one visit cannot be
                stops += [here, Stop(place=place, leaves=(move.move_id,))]
            else:
                stops.append(replace(here, leaves=(*here.leaves, move.move_id)))
            follower = tied.get(move.move_id)
            if follower is not None:
                stops[-1] = replace(stops[-1], takes=(*stops[-1].takes, follower.move_id))
                aboard.append(follower)
    return Itinerary(driver=driver.driver_id, transporter=transporter.transporter_id, stops=tuple(stops),
                     may_stay_out=rng.random() < 0.5)  # fmt: skip
