"""
Driven legs: every road that a run's vehicles drive, with what it burns, as costing, emissions and reports need it.

A leg is one road between two places by one vehicle.  In a run with a support car that car drives every leg too: it
follows the sold car and carries the driver where there is none.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from planner.model.cars import Car, Fuel
from planner.model.crews import Transporter, VehicleClass
from planner.model.day import Day
from planner.model.fuel import SUPPORT_CAR, curve_of_car, curve_of_transporter
from planner.model.moves import MoveId
from planner.model.places import PlaceId
from planner.model.rates import FuelCurve
from planner.runs.crew_fit import driven_class
from planner.runs.run import Activity, ActivityKind, Run

KMH_A_METRE_A_SECOND = 3.6


@dataclass(frozen=True, kw_only=True, slots=True)
class Vehicle:
    """
    What is driven, as its costs see it; ``key`` tells vehicles of one run apart.

    ``move`` is set when it is a sold car.  ``payload_kg`` is 0 where load makes no difference.
    """

    key: str
    name: str
    vehicle_class: VehicleClass
    fuel: Fuel
    curve: FuelCurve
    payload_kg: int = 0
    move: MoveId | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class DrivenLeg:
    """One road: ``drive_s`` without reserve and without ferry; ``aboard`` are the moves that get nearer by it."""

    vehicle: Vehicle
    origin: PlaceId
    destination: PlaceId
    start_min: int
    end_min: int  # when the wheel is left, breaks on the way included
    metres: int
    drive_s: int
    charge_mask: int
    aboard: tuple[MoveId, ...]
    aboard_kg: int

    @property
    def kmh(self) -> float:
        """The mean speed while driving; 0 for a leg that is all ferry."""
        return self.metres / self.drive_s * KMH_A_METRE_A_SECOND if self.drive_s > 0 else 0.0

    @property
    def burnt(self) -> float:
        """Litres, or kWh of charge."""
        if self.drive_s <= 0:
            return 0.0
        vehicle = self.vehicle
        laden = 1.0
        if vehicle.payload_kg:
            laden += (vehicle.curve.full_load_factor - 1.0) * self.aboard_kg / vehicle.payload_kg
        return self.metres / 1000 * vehicle.curve.per_km(self.kmh) * laden


@lru_cache(maxsize=256)
def vehicle_of_transporter(transporter: Transporter) -> Vehicle:
    """Return a transporter as a vehicle."""
    return Vehicle(
        key=transporter.transporter_id,
        name=transporter.name,
        vehicle_class=transporter.vehicle_class,
        fuel=Fuel.ELECTRIC if transporter.is_electric else Fuel.DIESEL,
        curve=curve_of_transporter(transporter),
        payload_kg=transporter.payload_kg,
    )


def vehicle_of_sold_car(day: Day, move_id: MoveId) -> Vehicle:
    """Return a sold car, driven on plates, as a vehicle."""
    move = day.move_of[move_id]
    return _sold_car(move_id, move.car, driven_class(move))


@lru_cache(maxsize=8192)
def _sold_car(move_id: MoveId, car: Car, vehicle_class: VehicleClass) -> Vehicle:
    return Vehicle(
        key=car.registration,
        name=f"{car.make_model} ({car.registration})",
        vehicle_class=vehicle_class,
        fuel=car.fuel,
        curve=curve_of_car(car),
        move=move_id,
    )


def support_car() -> Vehicle:
    """Return the car in which a second driver follows."""
    return _SUPPORT_CAR


_SUPPORT_CAR = Vehicle(
    key="support car", name="Support car", vehicle_class=VehicleClass.CAR, fuel=Fuel.PETROL, curve=SUPPORT_CAR
)


def driven_legs(day: Day, run: Run) -> tuple[DrivenLeg, ...]:
    """Return every leg that the run drives, in order; where a support car follows, its leg comes after the sold car's."""
    return tuple(_driven_legs(day, run))


def _driven_legs(day: Day, run: Run) -> Iterator[DrivenLeg]:
    transporter, followed = run.itinerary.transporter, run.itinerary.support_driver is not None
    for first, end_min in _drives(run):
        if transporter is not None:
            yield _leg(day, vehicle_of_transporter(day.transporter_of[transporter]), first, end_min)
            continue
        if first.aboard:
            yield _leg(day, vehicle_of_sold_car(day, first.aboard[0]), first, end_min)
        if followed:
            yield _leg(day, _SUPPORT_CAR, first, end_min)


def _drives(run: Run) -> Iterator[tuple[Activity, int]]:
    """Yield the first slice of each driven leg and its end: breaks cut a leg into slices that share origin and destination."""
    first: Activity | None = None
    end_min = 0
    for activity in run.activities:
        if activity.kind not in (ActivityKind.DRIVE, ActivityKind.RIDE):
            continue
        is_more = activity.kind is ActivityKind.DRIVE and first is not None and _ends(first) == _ends(activity)
        if first is not None and not is_more:
            yield first, end_min
        first = (first if is_more else activity) if activity.kind is ActivityKind.DRIVE else None
        end_min = activity.end_min
    if first is not None:
        yield first, end_min


def _ends(activity: Activity) -> tuple[PlaceId, PlaceId]:
    return activity.origin, activity.destination


def _leg(day: Day, vehicle: Vehicle, first: Activity, end_min: int) -> DrivenLeg:
    table = day.tables[vehicle.vehicle_class]
    row, column = day.place_index[first.origin], day.place_index[first.destination]
    return DrivenLeg(
        vehicle=vehicle,
        origin=first.origin,
        destination=first.destination,
        start_min=first.start_min,
        end_min=end_min,
        metres=int(table.metres[row, column]),
        drive_s=int(table.seconds[row, column]) - int(table.ferry_seconds[row, column]),
        charge_mask=int(table.charge_mask[row, column]),
        aboard=() if vehicle is _SUPPORT_CAR else first.aboard,
        aboard_kg=sum(day.move_of[move].car.mass_kg for move in first.aboard) if vehicle.payload_kg else 0,
    )
