"""
Crews: drivers with their licences and their week so far, transporters with their decks, and hired carriers.

A driver's clock figures are minutes; ``starts_from_min`` is the earliest start and ``home_by_min`` the latest end of
duty, both minutes of the planning day.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import NewType

from planner.model.moves import MoveKind
from planner.model.places import PlaceId

DriverId = NewType("DriverId", str)
TransporterId = NewType("TransporterId", str)
CarrierId = NewType("CarrierId", str)


class VehicleClass(StrEnum):
    """Vehicles that are alike in legal speed and size, so that they share one travel table."""

    CAR = "car"
    GOODS_3500 = "goods-3500"
    GOODS_7500 = "goods-7500"
    GOODS_HEAVY = "goods-heavy"

    @classmethod
    def of_mass(cls, gross_kg: int) -> "VehicleClass":
        """Return the class of a goods vehicle of that maximum mass."""
        if gross_kg <= 3500:
            return cls.GOODS_3500
        return cls.GOODS_7500 if gross_kg <= 7500 else cls.GOODS_HEAVY


@dataclass(frozen=True, kw_only=True, slots=True)
class WeekSoFar:
    """What a driver has done since the last weekly rest and in the fixed week, before the planning day; minutes."""

    driven_week_min: int = 0  # this fixed week, Monday 00:00 on
    driven_last_week_min: int = 0
    worked_week_min: int = 0
    duty_days: int = 0  # 24-hour periods used since the weekly rest ended
    extended_days: int = 0  # days over 9 h driving in this fixed week
    reduced_rests: int = 0  # since the last weekly rest
    last_duty_end_min: int | None = None  # minute of the planning day, negative for yesterday; None after a weekly rest
    weekly_rest_ended_min: int | None = None
    rest_owed_min: int = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Driver:
    """One person for one shift; ``licences`` are categories such as B, C1, C, CE."""

    driver_id: DriverId
    name: str
    base: PlaceId
    licences: frozenset[str]
    role: str = "plate driver"
    home: PlaceId | None = None  # where the shift starts and ends when not at the base
    starts_from_min: int = 360
    home_by_min: int = 1200
    phone: str = ""
    may_drive_plates: bool = True
    may_stay_out: bool = False
    week: WeekSoFar = field(default_factory=WeekSoFar)
    pinned_transporter: TransporterId | None = None

    @property
    def starts_at(self) -> PlaceId:
        """Where the duty begins and ends."""
        return self.home or self.base


@dataclass(frozen=True, kw_only=True, slots=True)
class Transporter:
    """A vehicle that carries cars; ``deck`` names its loading surface in the library of decks."""

    transporter_id: TransporterId
    name: str
    registration: str
    base: PlaceId
    deck: str
    gross_kg: int
    payload_kg: int
    slots: int
    trailer_kg: int = 0  # maximum mass of a trailer that is always drawn
    unladen_height_mm: int = 0
    is_electric: bool = False
    litres_per_100km: float | None = None  # measured; None: by the transport-appraisal formula
    tank_litres: int | None = None  # kWh of battery when electric; None: usual for its mass
    load_min: int = 12  # each car driven up, strapped and checked
    unload_min: int = 10

    @property
    def vehicle_class(self) -> VehicleClass:
        """Which travel table holds."""
        return VehicleClass.of_mass(self.gross_kg + self.trailer_kg)

    @property
    def is_large(self) -> bool:
        """Whether it is too large for a door marked "no large vehicle"."""
        return self.gross_kg + self.trailer_kg > 7500

    @property
    def licence(self) -> str:
        """The lowest driving-licence category that covers it."""
        return licence_for(self.gross_kg, self.trailer_kg, is_electric=self.is_electric)


def licence_for(gross_kg: int, trailer_kg: int, *, is_electric: bool = False) -> str:
    """
    Return the lowest driving-licence category for a vehicle and its trailer (gov.uk, driving licence categories).

    B reaches 4,250 kg for electric vehicles, 7,000 kg with a trailer (10 June 2025); C1E ends at 12,000 kg together.

    >>> licence_for(7500, 0), licence_for(7500, 3500), licence_for(20000, 18000)
    ('C1', 'C1E', 'CE')
    """
    together_kg = gross_kg + trailer_kg
    if gross_kg <= 3500 or (is_electric and gross_kg <= 4250 and together_kg <= 7000):
        return "B" if trailer_kg <= 3500 else "BE"
    if trailer_kg <= 750:
        return "C1" if gross_kg <= 7500 else "C"
    return "C1E" if gross_kg <= 7500 and together_kg <= 12_000 else "CE"


@dataclass(frozen=True, kw_only=True, slots=True)
class Carrier:
    """An outside firm that takes a move at a rate; ``cars`` is how many it takes on the day."""

    carrier_id: CarrierId
    name: str
    phone: str = ""
    cars: int = 1
    base_pence: int = 0
    pence_per_mile: int = 0
    minimum_pence: int = 0
    max_miles: int = 1000
    max_mass_kg: int = 3500
    kinds: frozenset[MoveKind] = frozenset(MoveKind)
    notice_by_min: int | None = None  # latest minute of the day before (negative) at which it can still be asked
