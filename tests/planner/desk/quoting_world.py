"""An invented country for quoting: straight roads at 80 km/h, three compounds, crews of every kind, a day of moves."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

import numpy as np

from planner.clock import DayClock
from planner.desk.quote_day import Roads, RoadStrip
from planner.desk.quote_offers import Asking, with_offer
from planner.model.cars import Car, Fuel, Registration
from planner.model.crews import Carrier, CarrierId, Driver, DriverId, Transporter, TransporterId, VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.places import Compound, Place, PlaceId, Window
from planner.model.policy import Policy
from planner.model.rates import Rates, RunningCost, Wage
from planner.model.rides import ride_table
from planner.model.travel import TravelTable
from planner.runs.plan import NotPlaced, Plan

if TYPE_CHECKING:
    from planner.runs.run import Run

CIRCUITY = 1.25
KMH = {VehicleClass.CAR: 80.0, VehicleClass.GOODS_3500: 78.0, VehicleClass.GOODS_7500: 72.0, VehicleClass.GOODS_HEAVY: 68.0}
RATES = Rates(
    wages={
        "plate driver": Wage(pence_per_hour=Decimal(1350)),
        "transporter driver": Wage(pence_per_hour=Decimal(1650), minimum_shift_min=480),
    },
    fuel_pence={Fuel.PETROL: Decimal(142), Fuel.DIESEL: Decimal(149), Fuel.ELECTRIC: Decimal(40)},
    running={
        kind: RunningCost(pence_per_km=Decimal(each), pence_km_per_hour=Decimal(200), day_pence=Decimal(day))
        for kind, each, day in zip(VehicleClass, ("6.9", "10", "9.3", "18.1"), (1500, 4000, 6000, 14000), strict=True)
    },
)


def road_m(ones: list[Place], others: list[Place]) -> np.ndarray:
    """Metres of straight roads, a quarter longer than the crow flies."""
    here = np.radians([[place.lng, place.lat] for place in ones])[:, None, :]
    there = np.radians([[place.lng, place.lat] for place in others])[None, :, :]
    east = (here[..., 0] - there[..., 0]) * np.cos((here[..., 1] + there[..., 1]) / 2)
    north = here[..., 1] - there[..., 1]
    return np.rint(6_371_008.8 * np.hypot(east, north) * CIRCUITY).astype(np.int32)


def arrays(kind: VehicleClass, ones: list[Place], others: list[Place]) -> dict[str, np.ndarray]:
    metres = road_m(ones, others)
    nothing = np.zeros(metres.shape, np.int64)
    seconds = np.ceil(metres / 1000 / KMH[kind] * 3600).astype(np.int32)
    return {"metres": metres, "seconds": seconds, "charge_mask": nothing, "ferry_seconds": nothing.astype(np.int32)}


def roads_to(day: Day, doors: list[Place]) -> Roads:
    """The strips that the maps room would give."""
    old = list(day.places)
    return Roads(strips={
        kind: RoadStrip(out=arrays(kind, doors, [*old, *doors]), back=arrays(kind, old, doors)) for kind in day.tables
    })


def place(name: str, lng: float, lat: float) -> Place:
    return Place(place_id=PlaceId(name), name=name, lng=round(lng, 5), lat=round(lat, 5), postcode=name)


def a_car(number: int, rng: np.random.Generator) -> Car:
    return Car(
        registration=Registration(f"QQ{number:05d}"), make_model="Ardent Five", mass_kg=int(rng.integers(1000, 2100)),
        length_mm=4400, height_mm=1500, fuel=list(Fuel)[int(rng.integers(0, 4))],
    )  # fmt: skip


def world(moves: int = 100, seed: int = 1, plate_drivers: int = 26, transporters: int = 15) -> Day:
    rng = np.random.default_rng(seed)
    yards = [place("North yard", -1.6, 54.0), place("Mid yard", -1.9, 52.6), place("South yard", -0.6, 51.5)]
    doors = [place(f"D{number}", float(rng.uniform(-3.5, 0.8)), float(rng.uniform(50.9, 55.0))) for number in range(moves)]
    places = [*yards, *doors]
    car_tables = {kind: TravelTable(vehicle_class=kind, **arrays(kind, places, places)) for kind in VehicleClass}
    made = []
    for number, door in enumerate(doors):
        nearest = int(np.argmin(road_m([door], yards)[0]))
        opens = int(rng.choice([480, 720, 960]))
        made.append(Move(
            move_id=MoveId(f"M{number}"), kind=MoveKind.DELIVERY, car=a_car(number, rng), origin=yards[nearest].place_id,
            destination=door.place_id, destination_window=Window(opens_min=opens, closes_min=opens + 240), destination_min=30,
            stays_behind_pence=150_000,
        ))  # fmt: skip
    sizes = [(7500, 3000, 2), (18_000, 9000, 5), (32_000, 16_000, 8)]
    return Day(
        clock=DayClock(date(2026, 11, 26)), places=tuple(places),
        compounds=tuple(Compound(place=yard, window=Window(opens_min=300, closes_min=1320), plate_sets=12) for yard in yards),
        orders=(), moves=tuple(made),
        drivers=(
            *(Driver(driver_id=DriverId(f"P{number}"), name=f"Plate {number}", base=yards[number % 3].place_id,
                     licences=frozenset({"B"})) for number in range(plate_drivers)),
            *(Driver(driver_id=DriverId(f"L{number}"), name=f"Lorry {number}", base=yards[number % 3].place_id,
                     licences=frozenset({"B", "CE"}), role="transporter driver", starts_from_min=300, home_by_min=1260)
              for number in range(transporters)),
        ),
        transporters=tuple(
            Transporter(transporter_id=TransporterId(f"T{number}"), name=f"Transporter {number}", registration=f"TT{number}",
                        base=yards[number % 3].place_id, deck="d", gross_kg=sizes[number // 3 % 3][0],
                        payload_kg=sizes[number // 3 % 3][1], slots=sizes[number // 3 % 3][2])
            for number in range(transporters)
        ),
        carriers=(Carrier(carrier_id=CarrierId("C1"), name="Overland", cars=6, base_pence=6000, pence_per_mile=130, minimum_pence=12_000),),
        rates=RATES, policy=Policy(), charges=(), tables=car_tables, rides=ride_table(car_tables[VehicleClass.CAR], Policy()),
    )  # fmt: skip


def greedy_plan(day: Day) -> Plan:
    """Each move in turn where it costs least: no good plan, but a legal one of the right shape."""
    runs: tuple[Run, ...] = ()
    left = []
    for move in day.moves:
        offers = Asking(day, move, runs).offers(move.destination_window)
        if offers.best and offers.best[0].extra_pence < move.stays_behind_pence:
            runs = with_offer(runs, offers.best[0])
        else:
            left.append(NotPlaced(move=move.move_id, pence=move.stays_behind_pence, reason="No crew has room."))
    return Plan(runs=runs, not_placed=tuple(left))


def without_a_yard(day: Day, yard: int) -> Day:
    shut = tuple(replace(compound, window=None) if number == yard else compound for number, compound in enumerate(day.compounds))
    return replace(day, compounds=shut)
