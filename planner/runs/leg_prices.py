"""
Leg prices: what every possible leg of one vehicle costs, as arrays, so that a search agrees with costing.

Arrays are ``(n, n)`` in the order of ``Day.places``, in pence, unrounded; ``inf`` where no road or ferry leads.  A leg
with ``kg`` aboard costs ``empty_pence + kg_pence * kg`` and the passages that stand in ``passage_pence``; charging zones
are met once a run and therefore only named, in ``zone_mask``.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planner.model.day import Day
from planner.model.rates import FuelCurve
from planner.model.travel import Charge, ChargeKind
from planner.runs.costing import fuel_pence, running_cost
from planner.runs.driven_legs import KMH_A_METRE_A_SECOND, Vehicle

FloatTable = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LegPrices:
    """
    Prices of all legs of one vehicle.

    ``passage_pence`` is the least that tolls and ferries of the leg cost at any minute of the day, so that sums of it
    are a lower bound; what a leg pays at its own minute is for costing.  A sold car has no running cost
    (``running_pence`` is 0), its fall in value stands in ``value_fall_pence``.
    """

    vehicle: Vehicle
    fuel_pence: FloatTable
    kg_pence: FloatTable  # fuel on top for each kilogram aboard
    running_pence: FloatTable
    value_fall_pence: FloatTable
    passage_pence: FloatTable
    zone_mask: npt.NDArray[np.int64]

    @classmethod
    def of(cls, day: Day, vehicle: Vehicle) -> "LegPrices":
        """
        Return the prices of a vehicle's legs.

        Raises
        ------
        NoRate
            If its fuel or its class has no rate on the day.

        """
        table = day.tables[vehicle.vehicle_class]
        drive_s = (table.seconds - table.ferry_seconds).astype(np.float64)
        km = table.metres / 1000.0
        no_road = (table.metres < 0) | (table.seconds < 0)
        fuel = km * _per_km(vehicle.curve, table.metres, drive_s) * float(fuel_pence(day, vehicle.fuel))
        kg = fuel * (vehicle.curve.full_load_factor - 1.0) / vehicle.payload_kg if vehicle.payload_kg else np.zeros_like(fuel)
        running, fall = np.zeros_like(fuel), np.zeros_like(fuel)
        if vehicle.move is None:
            rate = running_cost(day, vehicle.vehicle_class)
            running = km * float(rate.pence_per_km) + drive_s / 3600.0 * float(rate.pence_km_per_hour)
        else:
            fall = km * float(day.rates.value_fall_pence_per_km)
        for array in (fuel, kg, running, fall):
            array[no_road] = np.inf
        passages = [(bit, charge) for bit, charge in enumerate(day.charges) if charge.kind is not ChargeKind.ZONE]
        zones = sum(1 << bit for bit, charge in enumerate(day.charges) if charge.kind is ChargeKind.ZONE)
        least = {bit: least_pence(charge, vehicle) for bit, charge in passages}
        return cls(
            vehicle=vehicle,
            fuel_pence=fuel,
            kg_pence=kg,
            running_pence=running,
            value_fall_pence=fall,
            passage_pence=_of_mask(table.charge_mask, least),
            zone_mask=table.charge_mask & zones,
        )

    @property
    def empty_pence(self) -> FloatTable:
        """What a leg costs with nothing aboard, passages not counted."""
        return self.fuel_pence + self.running_pence + self.value_fall_pence


def least_pence(charge: Charge, vehicle: Vehicle) -> int:
    """Return the least a passage costs that vehicle at any minute of the day."""
    edges = {minute for band in charge.bands for minute in (band.from_min, band.to_min)}
    return min((charge.pence_at(vehicle.vehicle_class, minute) for minute in (0, *edges)), default=0)


def _of_mask(mask: npt.NDArray[np.int64], prices: dict[int, int]) -> FloatTable:
    total = np.zeros(mask.shape)
    for bit, amount in prices.items():
        if amount:
            total += ((mask >> bit) & 1) * float(amount)
    return total


def _per_km(curve: FuelCurve, metres: npt.NDArray[np.int32], drive_s: FloatTable) -> FloatTable:
    """Return litres (kWh) a kilometre, empty, of each leg; 0 for a leg without driving."""
    drives = drive_s > 0
    kmh = np.where(drives, metres / np.where(drives, drive_s, 1.0) * KMH_A_METRE_A_SECOND, 1.0)
    v = np.clip(kmh, curve.slowest_kmh, curve.fastest_kmh)
    return np.where(drives, curve.a / v + curve.b + curve.c * v + curve.d * v * v, 0.0)
