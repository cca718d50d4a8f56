"""
Travel tables: metres and seconds between all places of a day, one table per vehicle class, along one and the same path.

Arrays are ``(n, n)`` in the order of ``Day.places``; ``-1`` where no road or ferry leads.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from planner.model.crews import VehicleClass

IntTable = npt.NDArray[np.int32]


class ChargeKind(StrEnum):
    """What is paid for on the way."""

    TOLL = "toll"
    ZONE = "zone"
    FERRY = "ferry"


@dataclass(frozen=True, kw_only=True, slots=True)
class ChargeBand:
    """
    A price in force between two minutes of the day for one vehicle class.

    ``pence`` is for each passage (tolls, ferries) or once a day (zones).  A band whose ``from_min`` is later than its
    ``to_min`` runs over midnight; equal ones hold all day.
    """

    vehicle_class: VehicleClass
    from_min: int
    to_min: int
    pence: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Charge:
    """One toll, charging zone or ferry as it stands on the day; bit ``k`` of a table's mask is ``Day.charges[k]``."""

    key: str
    name: str
    kind: ChargeKind
    bands: tuple[ChargeBand, ...]
    pay_by: str = ""  # how and by when, as printed
    must_book: bool = False
    review_after: date | None = None  # the price was read before this day and may have changed since
    source: str = ""

    def pence_at(self, vehicle_class: VehicleClass, minute: int) -> int:
        """Return the price for that class at that minute of the day; 0 when no band holds."""
        wall = minute % 1440
        for band in self.bands:
            since_from, length = (wall - band.from_min) % 1440, (band.to_min - band.from_min) % 1440 or 1440
            if band.vehicle_class is vehicle_class and since_from < length:
                return band.pence
        return 0

    def dearest(self, vehicle_class: VehicleClass, start_min: int, end_min: int) -> int:
        """Return the highest price for that class at any minute from ``start_min`` to ``end_min``, both included."""
        begins = (start_min + (band.from_min - start_min) % 1440 for band in self.bands)
        return max(self.pence_at(vehicle_class, minute) for minute in (start_min, *(at for at in begins if at <= end_min)))


#: The names of a table's arrays.
ARRAYS = ("metres", "seconds", "charge_mask", "ferry_seconds")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class TravelTable:
    """Metres, seconds and charges met, for one vehicle class; bit ``k`` of ``charge_mask`` is ``Day.charges[k]``."""

    vehicle_class: VehicleClass
    metres: IntTable
    seconds: IntTable
    charge_mask: npt.NDArray[np.int64]
    ferry_seconds: IntTable  # the part of ``seconds`` spent aboard a ferry, check-in included

    def __post_init__(self) -> None:
        shape = self.metres.shape
        if len(shape) != 2 or shape[0] != shape[1]:
            raise ValueError(f"Expected a square table, got shape {shape}.")
        for name in ("seconds", "charge_mask", "ferry_seconds"):
            if getattr(self, name).shape != shape:
                raise ValueError(f"Expected {name} of shape {shape}, got {getattr(self, name).shape}.")
        for array in (self.metres, self.seconds, self.charge_mask, self.ferry_seconds):
            array.setflags(write=False)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RideTable:
    """How a driver without a car gets from place to place by train, coach and taxi: minutes and pence; -1 where not."""

    minutes: IntTable
    fare_pence: IntTable

    def __post_init__(self) -> None:
        for array in (self.minutes, self.fare_pence):
            array.setflags(write=False)
