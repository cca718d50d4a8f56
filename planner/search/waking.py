"""
Waking: a day of three doors, solved only so that the compiled kernels are made or loaded before a real day needs them.

Numba keeps what it compiles on disk, so another process can do this while the roads of the real day are looked up.
"""

from datetime import date
from decimal import Decimal
from functools import cache

import numpy as np

from planner.clock import DayClock
from planner.model.cars import Car, Fuel, Registration
from planner.model.crews import Carrier, CarrierId, Driver, DriverId, Transporter, TransporterId, VehicleClass
from planner.model.day import Day
from planner.model.decks import library
from planner.model.moves import Move, MoveId, MoveKind, part_exchange_id
from planner.model.places import Compound, Place, PlaceId, Window
from planner.model.policy import Policy
from planner.model.rates import Rates, RunningCost, Wage
from planner.model.travel import RideTable, TravelTable

NUM_DOORS = 3
YARD = PlaceId("yard")


def waking_day() -> Day:
    """Return a small made-up day with every kind of crew and move."""
    places = tuple(
        Place(place_id=PlaceId(f"door {row}") if row else YARD, name=f"Door {row}", lng=-1.5 + row / 10, lat=52.0 + row / 10)
        for row in range(NUM_DOORS + 1)
    )
    size = (len(places), len(places))
    far = np.abs(np.subtract.outer(np.arange(size[0]), np.arange(size[0]))).astype(np.int32)
    none = np.zeros(size, np.int32)
    classes = (VehicleClass.CAR, VehicleClass.GOODS_7500)
    return Day(
        clock=DayClock(date(2026, 1, 7)),
        places=places,
        compounds=(Compound(place=places[0], window=Window(opens_min=300, closes_min=1300), plate_sets=2),),
        orders=(),
        moves=_moves(places),
        drivers=_drivers(),
        transporters=(
            Transporter(
                transporter_id=TransporterId("T"), name="Two-car", registration="T", base=YARD, deck="two-car-7500",
                gross_kg=7500, payload_kg=3000, slots=2,
            ),
        ),
        carriers=(Carrier(carrier_id=CarrierId("H"), name="Carrier", minimum_pence=40_000),),
        rates=Rates(
            wages={"driver": Wage(pence_per_hour=Decimal(1400))},
            fuel_pence=dict.fromkeys(Fuel, Decimal(140)),
            running=dict.fromkeys(VehicleClass, RunningCost(pence_per_km=Decimal(7))),
        ),
        policy=Policy(),
        charges=(),
        tables={
            vehicle_class: TravelTable(
                vehicle_class=vehicle_class, metres=far * 60_000, seconds=far * 3_600, charge_mask=none.astype(np.int64),
                ferry_seconds=none,
            )
            for vehicle_class in classes
        },
        rides=RideTable(minutes=far * 70, fare_pence=far * 2_000),
        decks={"two-car-7500": library()["two-car-7500"]},
    )  # fmt: skip


def _drivers() -> tuple[Driver, ...]:
    return tuple(
        Driver(driver_id=DriverId(name), name=name, base=YARD, licences=frozenset({"B", "C1"}), role="driver", may_stay_out=True)
        for name in ("D1", "D2", "D3")
    )


def _moves(places: tuple[Place, ...]) -> tuple[Move, ...]:
    car = Car(registration=Registration("WAKE"), make_model="Car", mass_kg=1200, length_mm=4100, height_mm=1480)
    window = Window(opens_min=480, closes_min=1080)
    deliveries = tuple(
        Move(
            move_id=MoveId(f"M{row}"), kind=MoveKind.DELIVERY, car=car, origin=YARD, destination=places[row].place_id,
            destination_window=window, destination_min=30, stays_behind_pence=150_000,
        )
        for row in range(1, len(places))
    )  # fmt: skip
    part_exchange = Move(
        move_id=part_exchange_id("M1"), kind=MoveKind.PART_EXCHANGE, car=car, origin=places[1].place_id, destination=YARD,
        origin_min=20, tied_to=MoveId("M1"),
    )  # fmt: skip
    return (*deliveries, part_exchange)


def wake() -> None:
    """Solve the small day; what it finds is thrown away.  What only large days need is compiled by them."""
    from planner.rules.books import PLATES, book_named
    from planner.rules.night_places import places
    from planner.rules.timetable_shapes import Duty, Step
    from planner.search.course import run
    from planner.search.solving import Solving

    run(Solving(waking_day(), seconds=60.0, rounds=6, progress=None))
    # no door of that day is far enough for a night out
    drives = (Step(duty=Duty.DRIVE, minutes=300, splittable=True),) * 2
    tuple(places(drives, book_named(PLATES), earliest_min=0))


@cache
def awake() -> None:
    """Make or load the compiled kernels once a process, so that it takes nothing from the seconds of a search."""
    wake()


if __name__ == "__main__":
    wake()
