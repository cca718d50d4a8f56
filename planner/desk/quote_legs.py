"""Leg costs: what is sure of one leg before it is timed, worked out once for vehicles that drive alike."""

from typing import NamedTuple

from planner.model.day import Day
from planner.model.places import PlaceId
from planner.runs.costing import fuel_pence, running_cost
from planner.runs.driven_legs import KMH_A_METRE_A_SECOND, Vehicle

NO_WAY = float("inf")


class LegCost(NamedTuple):
    """Pence of a leg when empty, pence more for each kilogram aboard, and minutes with reserve and ferry."""

    empty_pence: float
    each_kg_pence: float
    minutes: float

    def pence(self, kg: int) -> float:
        """Return the pence of the leg with so much aboard."""
        return self.empty_pence + self.each_kg_pence * kg


NO_LEG = LegCost(0.0, 0.0, 0.0)


class LegCosts:
    """
    Keeps the cost of legs, told apart by the key of their vehicle.

    They hold for every day with the same tables between these places, the same rates and policy.
    """

    def __init__(self) -> None:
        self._known: dict[tuple[int, PlaceId, PlaceId], LegCost] = {}
        self._kind_of: dict[str, int] = {}
        self._kinds: dict[object, int] = {}

    def of(self, day: Day, vehicle: Vehicle, origin: PlaceId, destination: PlaceId) -> LegCost:
        """Return the cost of a leg for a vehicle; from a place to itself there is none."""
        if origin == destination:
            return NO_LEG
        kind = self._kind_of.get(vehicle.key)
        if kind is None:
            alike = (vehicle.vehicle_class, vehicle.fuel, vehicle.curve, vehicle.payload_kg, vehicle.move is not None)
            kind = self._kind_of[vehicle.key] = self._kinds.setdefault(alike, len(self._kinds))
        found = self._known.get((kind, origin, destination))
        if found is None:
            found = self._known[kind, origin, destination] = _worked_out(day, vehicle, origin, destination)
        return found


def _worked_out(day: Day, vehicle: Vehicle, origin: PlaceId, destination: PlaceId) -> LegCost:
    table, cell = day.tables[vehicle.vehicle_class], (day.place_index[origin], day.place_index[destination])
    metres, seconds, ferry_s = int(table.metres[cell]), int(table.seconds[cell]), int(table.ferry_seconds[cell])
    if metres < 0 or seconds < 0:
        return LegCost(NO_WAY, 0.0, NO_WAY)
    drive_s, km = seconds - ferry_s, metres / 1000
    kmh = metres / drive_s * KMH_A_METRE_A_SECOND if drive_s > 0 else 0.0
    fuel = km * vehicle.curve.per_km(kmh) * float(fuel_pence(day, vehicle.fuel)) if drive_s > 0 else 0.0
    each_kg = fuel * (vehicle.curve.full_load_factor - 1) / vehicle.payload_kg if vehicle.payload_kg else 0.0
    minutes = drive_s / 60 * (1 + day.policy.reserve_percent / 100) + ferry_s / 60
    if vehicle.move is not None:
        return LegCost(fuel + km * float(day.rates.value_fall_pence_per_km), each_kg, minutes)
    rate = running_cost(day, vehicle.vehicle_class)
    running = km * float(rate.pence_per_km) + drive_s / 3600 * float(rate.pence_km_per_hour)
    return LegCost(fuel + running, each_kg, minutes)
