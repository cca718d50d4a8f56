"""
Invented days: moves, crews and travel tables of any size from a seed, for benchmarks and tests.

Doors are scattered about British towns (rough positions from memory, nobody's house); roads are straight lines
times 1.27 with slower speeds nearer than 25 km.  Nothing here is a real firm, person or address.
"""

import math
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np

from planner.clock import DayClock
from planner.model.cars import Car, Fuel, Registration
from planner.model.crews import Carrier, CarrierId, Driver, DriverId, Transporter, TransporterId, VehicleClass
from planner.model.day import Day
from planner.model.decks import library
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.places import Compound, Place, PlaceId, Window
from planner.model.policy import Policy
from planner.model.rates import Rates, RunningCost, Wage
from planner.model.travel import RideTable, TravelTable

TOWNS = (  # lng, lat, weight: rough centres, from memory
    (-0.12, 51.51, 9), (-1.90, 52.48, 5), (-2.24, 53.48, 5), (-1.55, 53.80, 4), (-1.47, 53.38, 3), (-2.99, 53.41, 3),
    (-2.59, 51.45, 3), (-1.15, 52.95, 3), (-1.13, 52.63, 2), (-3.18, 51.48, 2), (-1.61, 54.97, 2), (-1.40, 50.90, 2),
    (-1.26, 51.75, 2), (0.12, 52.20, 2), (1.30, 52.63, 1), (-4.25, 55.86, 2), (-3.19, 55.95, 2), (-4.14, 50.37, 1),
    (-3.53, 50.72, 1), (-0.76, 52.04, 2), (-0.14, 50.83, 2), (-2.18, 53.00, 2), (-1.51, 52.41, 2), (-0.34, 53.74, 1),
)  # fmt: skip
COMPOUNDS = ((-1.30, 52.60), (-1.75, 53.55), (-1.80, 51.56), (-0.45, 51.80), (-3.40, 55.90))
BODIES = ((1050, 3650, 1480), (1250, 4200, 1460), (1450, 4350, 1500), (1650, 4500, 1660), (1950, 4750, 1720), (2250, 4950, 1850))
KMH = {VehicleClass.CAR: (38, 92), VehicleClass.GOODS_3500: (37, 90), VehicleClass.GOODS_7500: (35, 80), VehicleClass.GOODS_HEAVY: (33, 76)}


@dataclass(frozen=True, kw_only=True, slots=True)
class Shape:
    """What a day looks like: how many moves, how wide the windows, how large the decks."""

    moves: int = 60
    compounds: int = 1
    window_min: int = 240
    decks: tuple[int, ...] = (1, 2, 6)
    crews_for: float = 1.0  # above one: more crews than the moves need


def invented_day(shape: Shape, seed: int) -> Day:
    """Return a day of that shape; the same seed gives the same day."""
    rng = np.random.default_rng(seed)
    hubs = [Place(place_id=PlaceId(f"C{k}"), name=f"Compound {k}", lng=lng, lat=lat) for k, (lng, lat) in enumerate(COMPOUNDS[: shape.compounds])]
    places, moves = list(hubs), []
    chances = np.array([town[2] for town in TOWNS], float)
    while len(moves) < shape.moves:
        number = len(places)
        town = TOWNS[rng.choice(len(TOWNS), p=chances / chances.sum())]
        door = Place(place_id=PlaceId(f"D{number}"), name=f"Door {number}", lng=float(town[0] + rng.normal(0, 0.18)), lat=float(town[1] + rng.normal(0, 0.11)))
        places.append(door)
        moves += _moves_at(door, number, hubs, shape, rng)
    moves = moves[: shape.moves]
    drivers, transporters = _crews(shape, hubs, rng)
    return Day(
        clock=DayClock(date(2026, 6, 10)), places=tuple(places),
        compounds=tuple(Compound(place=hub, window=Window(opens_min=360, closes_min=1200), plate_sets=max(4, shape.moves // 5)) for hub in hubs),
        orders=(), moves=tuple(moves), drivers=drivers, transporters=transporters,
        carriers=(Carrier(carrier_id=CarrierId("H0"), name="Outside carrier", cars=max(2, shape.moves // 15), base_pence=9000, pence_per_mile=130, minimum_pence=16000, max_miles=500),),
        rates=_rates(), policy=Policy(), charges=(), tables=_tables(places), rides=_rides(places),
    )  # fmt: skip


def with_library_decks(day: Day) -> Day:
    """Return an invented day with decks of the library, on which the sizes of cars bind; without them only slots and payload do."""
    names = {"two-car": "two-car-7500", "three-car": "four-car-rigid", "six-car": "six-car-rigid"}
    return replace(day, decks={name: library()[known] for name, known in names.items()})


def _moves_at(door: Place, number: int, hubs: list[Place], shape: Shape, rng: np.random.Generator) -> list[Move]:
    hub = hubs[int(rng.integers(len(hubs)))]
    opens = int(rng.choice(np.arange(480, max(481, 1200 - shape.window_min + 1), 60)))
    window = Window(opens_min=opens, closes_min=opens + shape.window_min)
    if rng.random() < 0.08:
        return [Move(move_id=MoveId(f"R{number}"), kind=MoveKind.RETURN, car=_car(f"RT{number:04d}", rng), origin=door.place_id, destination=hub.place_id,
                     origin_window=window, origin_min=20, stays_behind_pence=12_000)]  # fmt: skip
    may_be_driven = bool(rng.random() > 0.25)
    large = bool(rng.random() < 0.1)
    found = [Move(move_id=MoveId(f"M{number}"), kind=MoveKind.DELIVERY, car=_car(f"SD{number:04d}", rng), origin=hub.place_id, destination=door.place_id,
                  destination_window=window, destination_min=30, may_be_driven=may_be_driven, no_large_vehicle=large, stays_behind_pence=150_000)]  # fmt: skip
    if rng.random() < 0.25:
        found.append(Move(move_id=MoveId(f"P{number}"), kind=MoveKind.PART_EXCHANGE, car=_car(f"PX{number:04d}", rng), origin=door.place_id, destination=hub.place_id,
                          origin_window=window, origin_min=20, no_large_vehicle=large, stays_behind_pence=12_000, tied_to=found[0].move_id))  # fmt: skip
    return found


def _car(plate: str, rng: np.random.Generator) -> Car:
    mass, length, height = BODIES[int(rng.integers(len(BODIES)))]
    fuel = (Fuel.PETROL, Fuel.PETROL, Fuel.DIESEL, Fuel.HYBRID, Fuel.ELECTRIC)[int(rng.integers(5))]
    return Car(registration=Registration(plate), make_model="Invented Saloon", mass_kg=mass, length_mm=length, height_mm=height, fuel=fuel,
               range_m=300_000 if fuel is Fuel.ELECTRIC else None)  # fmt: skip


TRUCKS = {1: (3500, 1350, "single"), 2: (7500, 3200, "two-car"), 3: (12_000, 5_200, "three-car"), 6: (18_000, 9_500, "six-car"), 9: (40_000, 17_000, "nine-car")}


def _crews(shape: Shape, hubs: list[Place], rng: np.random.Generator) -> tuple[tuple[Driver, ...], tuple[Transporter, ...]]:
    drivers, transporters = [], []
    share = math.ceil(shape.moves * shape.crews_for / len(shape.decks))
    for deck in shape.decks:
        gross, payload, name = TRUCKS[deck]
        for k in range(max(1, math.ceil(share / (deck * 1.2)))):
            base = hubs[k % len(hubs)].place_id
            number = len(transporters)
            transporters.append(Transporter(transporter_id=TransporterId(f"T{number}"), name=f"{name} {k + 1}", registration=f"TR{number:02d}", base=base, deck=name, gross_kg=gross, payload_kg=payload if deck > 1 else 2300, slots=deck))  # fmt: skip
            drivers.append(Driver(driver_id=DriverId(f"L{number}"), name=f"Lorry driver {number}", base=base, licences=frozenset({"CE"}), role="transporter driver", starts_from_min=360, home_by_min=1200, may_drive_plates=False))  # fmt: skip
    for k in range(max(2, shape.moves // 6)):
        early = int(rng.choice([360, 420]))
        drivers.append(Driver(driver_id=DriverId(f"P{k}"), name=f"Plate driver {k}", base=hubs[k % len(hubs)].place_id, licences=frozenset({"B"}), starts_from_min=early, home_by_min=1200))  # fmt: skip
    return tuple(drivers), tuple(transporters)


def _rates() -> Rates:
    return Rates(
        wages={"plate driver": Wage(pence_per_hour=Decimal(1250)), "transporter driver": Wage(pence_per_hour=Decimal(1650))},
        fuel_pence={Fuel.PETROL: Decimal(135), Fuel.DIESEL: Decimal(142), Fuel.ELECTRIC: Decimal(30)},
        running={
            VehicleClass.CAR: RunningCost(pence_per_km=Decimal(5), day_pence=Decimal(1500)),
            VehicleClass.GOODS_3500: RunningCost(pence_per_km=Decimal(8), day_pence=Decimal(3000)),
            VehicleClass.GOODS_7500: RunningCost(pence_per_km=Decimal(12), day_pence=Decimal(5000)),
            VehicleClass.GOODS_HEAVY: RunningCost(pence_per_km=Decimal(18), day_pence=Decimal(9000)),
        },
    )


def _tables(places: list[Place]) -> dict[VehicleClass, TravelTable]:
    straight = _straight_m(places)
    zero = np.zeros(straight.shape, np.int32)
    made = {}
    for kind, (slow, fast) in KMH.items():
        metres = np.rint(straight * 1.27).astype(np.int32)
        near = np.minimum(metres, 25_000)
        seconds = np.rint(near * 3.6 / slow + (metres - near) * 3.6 / fast).astype(np.int32)
        made[kind] = TravelTable(vehicle_class=kind, metres=metres, seconds=seconds, charge_mask=zero.astype(np.int64), ferry_seconds=zero.copy())
    return made


def _rides(places: list[Place]) -> RideTable:
    km = _straight_m(places) * 1.27 / 1000
    policy = Policy()
    far = km * 1000 > policy.ride_shortest_m
    minutes = np.where(far, policy.ride_fixed_min + km / policy.ride_kmh * 60, 25 * (km > 0))
    fares = np.where(far, policy.ride_fixed_pence + km * policy.ride_pence_per_km, 600 * (km > 0))
    return RideTable(minutes=np.ceil(minutes).astype(np.int32), fare_pence=np.rint(fares).astype(np.int32))


def _straight_m(places: list[Place]) -> np.ndarray:
    lng, lat = (np.radians([getattr(place, name) for place in places]) for name in ("lng", "lat"))
    a = np.sin((lat[:, None] - lat) / 2) ** 2 + np.cos(lat[:, None]) * np.cos(lat) * np.sin((lng[:, None] - lng) / 2) ** 2
    return 2 * 6_371_000 * np.arcsin(np.sqrt(a))
