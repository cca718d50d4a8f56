"""
Rates in force on the planning day: wages, fuel, running cost, extras.

``rates.toml`` holds dated rows; ``intake`` picks those in force, so a ``Rates`` has one figure for each thing.  Decimal
pence here; costing rounds once, where it makes a line.
"""

from dataclasses import dataclass
from decimal import Decimal

from planner.model.cars import Fuel
from planner.model.crews import VehicleClass


@dataclass(frozen=True, kw_only=True, slots=True)
class Wage:
    """What a role earns.  Duty counts from start to end, breaks included; a night is a rest away and counts not."""

    pence_per_hour: Decimal
    minimum_shift_min: int = 240
    overtime_after_min: int = 540
    overtime_factor: Decimal = Decimal("1.25")
    night_from_min: int = 1320  # wall-clock minutes; the stretch may run over midnight
    night_to_min: int = 360
    night_extra_pence_per_hour: Decimal = Decimal(0)
    weekend_factor: Decimal = Decimal(1)  # on Saturdays, Sundays and bank holidays


@dataclass(frozen=True, kw_only=True, slots=True)
class RunningCost:
    """
    Cost of moving one vehicle of a class, beyond wages.

    Non-fuel cost is ``pence_per_km + pence_per_hour / (km/h)`` as in the transport-appraisal formula; ``day_pence`` is
    for a day on which it is used.
    """

    pence_per_km: Decimal
    pence_km_per_hour: Decimal = Decimal(0)
    day_pence: Decimal = Decimal(0)


@dataclass(frozen=True, kw_only=True, slots=True)
class Rates:
    """Everything that has a price on the planning day."""

    wages: dict[str, Wage]  # by role
    fuel_pence: dict[Fuel, Decimal]  # a litre, or a kWh of charge; a hybrid is priced as petrol when not given
    running: dict[VehicleClass, RunningCost]
    night_out_pence: Decimal = Decimal(6500)
    plate_day_pence: Decimal = Decimal(350)  # one set of plates with its insurance, for a day it is used
    revalet_pence: Decimal = Decimal(1800)  # cleaning after a driven delivery
    value_fall_pence_per_km: Decimal = Decimal(6)  # what an added kilometre takes off the buyer's car
    is_weekend: bool = False  # the day pays weekend wages


@dataclass(frozen=True, kw_only=True, slots=True)
class FuelCurve:
    """
    Litres (kWh) a kilometre at ``v`` km/h: ``a/v + b + c v + d v**2``, ``v`` held within its range.

    ``full_load_factor`` is consumption with full payload over that when empty; between them it is linear in mass.
    """

    a: float
    b: float
    c: float
    d: float
    slowest_kmh: float
    fastest_kmh: float
    full_load_factor: float = 1.0

    def per_km(self, kmh: float) -> float:
        """Return consumption for one kilometre, empty."""
        v = min(max(kmh, self.slowest_kmh), self.fastest_kmh)
        return self.a / v + self.b + self.c * v + self.d * v * v
