"""A day made by hand for costing: four places whose legs run at 80, 60 and 40 km/h, so that published figures apply."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import numpy as np

from planner.clock import DayClock
from planner.model.cars import Car, Fuel, Registration
from planner.model.crews import Carrier, CarrierId, Driver, DriverId, Transporter, TransporterId, VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.places import Compound, Place, PlaceId, Window
from planner.model.policy import Policy
from planner.model.rates import Rates, RunningCost, Wage
from planner.model.travel import Charge, ChargeBand, ChargeKind, RideTable, TravelTable
from planner.runs.run import Activity, ActivityKind, Itinerary, Run, RunId, Stop

YARD, AYR, BEE, FAR = (PlaceId(name) for name in ("yard", "door-a", "door-b", "door-far"))
NAMES = (YARD, AYR, BEE, FAR)
#: Metres and seconds of each pair, both ways alike: 80, 60, 40 km/h and a long leg at 100 km/h.
LEGS = {
    (0, 1): (80_000, 3_600),
    (1, 2): (30_000, 1_800),
    (0, 2): (20_000, 1_800),
    (0, 3): (150_000, 5_400),
    (1, 3): (90_000, 3_240),
    (2, 3): (120_000, 4_320),
}


def table(vehicle_class: VehicleClass, masks: dict[tuple[int, int], int] | None = None) -> TravelTable:
    metres, seconds, mask = (np.zeros((4, 4), np.int32) for _ in range(3))
    for (row, column), (length, time) in LEGS.items():
        metres[row, column] = metres[column, row] = length
        seconds[row, column] = seconds[column, row] = time
    for (row, column), bits in (masks or {}).items():
        mask[row, column] = mask[column, row] = bits
    return TravelTable(
        vehicle_class=vehicle_class, metres=metres, seconds=seconds, charge_mask=mask.astype(np.int64),
        ferry_seconds=np.zeros((4, 4), np.int32),
    )


def car(mark: str, mass_kg: int, **changes: object) -> Car:
    return replace(
        Car(registration=Registration(mark), make_model="Ardent Five", mass_kg=mass_kg, length_mm=4400, height_mm=1500), **changes
    )


def charge(key: str, kind: ChargeKind, **bands: tuple[int, int, int]) -> Charge:
    """A charge with one band for each class, as from, to, pence."""
    return Charge(
        key=key, name=key, kind=kind,
        bands=tuple(
            ChargeBand(vehicle_class=VehicleClass(name.replace("_", "-")), from_min=start, to_min=end, pence=pence)
            for name, (start, end, pence) in bands.items()
        ),
    )


#: Bit 0: by day only, as at a crossing that is free at night.  Bit 1: a zone, once a day.  Bit 2: a ferry.
CHARGES = (
    charge("Long Bridge", ChargeKind.TOLL, car=(360, 1320, 350), goods_3500=(360, 1320, 420), goods_7500=(360, 1320, 420)),
    charge("Old Town", ChargeKind.ZONE, car=(0, 0, 800), goods_7500=(0, 0, 5000)),
    charge("Narrow Sound", ChargeKind.FERRY, car=(0, 0, 2650)),
)


def move(number: int, kind: MoveKind, of: Car, origin: PlaceId, destination: PlaceId, **changes: object) -> Move:
    return replace(Move(move_id=MoveId(f"M{number}"), kind=kind, car=of, origin=origin, destination=destination,
                        origin_min=20, destination_min=30), **changes)


RATES = Rates(
    wages={
        "plate driver": Wage(pence_per_hour=Decimal(1300), minimum_shift_min=240, overtime_after_min=540),
        "transporter driver": Wage(
            pence_per_hour=Decimal(1560), minimum_shift_min=480, overtime_after_min=540, overtime_factor=Decimal("1.5"),
            night_extra_pence_per_hour=Decimal(240),
        ),
    },
    fuel_pence={Fuel.PETROL: Decimal("141.9"), Fuel.DIESEL: Decimal("148.5"), Fuel.ELECTRIC: Decimal(30)},
    running={
        VehicleClass.CAR: RunningCost(pence_per_km=Decimal("6.885"), pence_km_per_hour=Decimal("188.486"), day_pence=Decimal(1500)),
        VehicleClass.GOODS_3500: RunningCost(pence_per_km=Decimal("10.001"), pence_km_per_hour=Decimal("65.321")),
        VehicleClass.GOODS_7500: RunningCost(pence_per_km=Decimal("9.309"), pence_km_per_hour=Decimal("365.78"), day_pence=Decimal(6000)),
    },
)

MOVES = (
    move(1, MoveKind.DELIVERY, car("AB12CDE", 1500), YARD, AYR),
    move(2, MoveKind.DELIVERY, car("FG34HJK", 1200, fuel=Fuel.DIESEL), YARD, BEE),
    move(3, MoveKind.PART_EXCHANGE, car("LM05NPR", 1100), AYR, YARD, tied_to=MoveId("M1")),
    move(4, MoveKind.DELIVERY, car("ST71UVW", 1900, fuel=Fuel.ELECTRIC), YARD, FAR),
)


def worked_day(**changes: object) -> Day:
    masks = {(0, 1): 0b001, (1, 2): 0b010, (0, 2): 0b010, (1, 3): 0b100}
    places = tuple(Place(place_id=name, name=name, lng=-1.5, lat=53.0 + row / 10) for row, name in enumerate(NAMES))
    day = Day(
        clock=DayClock(date(2026, 6, 10)), places=places,
        compounds=(Compound(place=places[0], window=Window(opens_min=300, closes_min=1300), plate_sets=4),),
        orders=(), moves=MOVES,
        drivers=(
            Driver(driver_id=DriverId("D1"), name="Ola", base=YARD, licences=frozenset({"B"})),
            Driver(driver_id=DriverId("D2"), name="Pip", base=YARD, licences=frozenset({"B", "C1"}), role="transporter driver"),
            Driver(driver_id=DriverId("D3"), name="Quin", base=YARD, licences=frozenset({"B"})),
        ),
        transporters=(
            Transporter(transporter_id=TransporterId("T1"), name="Two-car", registration="WX22YZA", base=YARD, deck="two-car",
                        gross_kg=7500, payload_kg=3000, slots=2),
        ),
        carriers=(Carrier(carrier_id=CarrierId("C1"), name="Overland", base_pence=4000, pence_per_mile=95, minimum_pence=9000),),
        rates=RATES, policy=Policy(), charges=CHARGES,
        tables={cls: table(cls, masks) for cls in (VehicleClass.CAR, VehicleClass.GOODS_3500, VehicleClass.GOODS_7500)},
        rides=RideTable(minutes=np.full((4, 4), 90, np.int32), fare_pence=np.full((4, 4), 2320, np.int32)),
    )  # fmt: skip
    return replace(day, **changes)


def step(kind: ActivityKind, start_min: int, end_min: int, origin: PlaceId, destination: PlaceId | None = None, *,
         metres: int = 0, aboard: tuple[str, ...] = ()) -> Activity:  # fmt: skip
    return Activity(
        kind=kind, start_min=start_min, end_min=end_min, origin=origin, destination=destination or origin, metres=metres,
        aboard=tuple(MoveId(name) for name in aboard),
    )


def transporter_run(start_min: int = 420) -> Run:
    """Yard to A with two cars, a break on the way, to B with one, empty home; 420 minutes of duty from ``start_min``."""
    t = start_min
    drive, work, rest = ActivityKind.DRIVE, ActivityKind.OTHER_WORK, ActivityKind.BREAK
    itinerary = Itinerary(
        driver=DriverId("D2"), transporter=TransporterId("T1"),
        stops=(
            Stop(place=YARD, takes=(MoveId("M1"), MoveId("M2"))),
            Stop(place=AYR, leaves=(MoveId("M1"),)),
            Stop(place=BEE, leaves=(MoveId("M2"),)),
        ),
    )  # fmt: skip
    return Run(
        run_id=RunId("R1"), itinerary=itinerary, book="over-3500", visits=(), costs=(),
        activities=(
            step(work, t, t + 39, YARD),
            step(drive, t + 39, t + 79, YARD, AYR, metres=80_000, aboard=("M1", "M2")),
            step(rest, t + 79, t + 124, YARD),
            step(drive, t + 124, t + 147, YARD, AYR, aboard=("M1", "M2")),
            step(work, t + 147, t + 230, AYR),
            step(drive, t + 230, t + 262, AYR, BEE, metres=30_000, aboard=("M2",)),
            step(work, t + 262, t + 378, BEE),
            step(drive, t + 378, t + 410, BEE, YARD, metres=20_000),
            step(work, t + 410, t + 420, YARD),
        ),
    )  # fmt: skip


def plate_run(*, support: bool = False) -> Run:
    """M4 driven 150 km to the far door and home by train, or followed by a support car; 600 minutes of duty."""
    itinerary = Itinerary(
        driver=DriverId("D1"), support_driver=DriverId("D3") if support else None,
        stops=(Stop(place=YARD, takes=(MoveId("M4"),)), Stop(place=FAR, leaves=(MoveId("M4"),))),
    )  # fmt: skip
    home = (
        step(ActivityKind.DRIVE, 650, 1080, FAR, YARD, metres=150_000)
        if support
        else step(ActivityKind.RIDE, 650, 1080, FAR, YARD)
    )
    return Run(
        run_id=RunId("R2"), itinerary=itinerary, book="plates", visits=(), costs=(),
        activities=(
            step(ActivityKind.OTHER_WORK, 480, 495, YARD),
            step(ActivityKind.DRIVE, 495, 590, YARD, FAR, metres=150_000, aboard=("M4",)),
            step(ActivityKind.OTHER_WORK, 590, 650, FAR),
            home,
        ),
    )  # fmt: skip
