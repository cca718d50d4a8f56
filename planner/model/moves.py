"""
Moves: one car from one place to another, the unit that planning places or leaves behind.

A part-exchange is ``tied_to`` the delivery at whose door it stands: the same crew takes it aboard in the same visit, or
both stay behind.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import NewType

from planner.model.cars import Car
from planner.model.orders import OrderRef
from planner.model.places import PlaceId, Window

MoveId = NewType("MoveId", str)


def part_exchange_id(order: str) -> MoveId:
    """Return the identifier of the part-exchange that belongs to an order."""
    return MoveId(f"{order}.PX")


class MoveKind(StrEnum):
    """Why a car moves."""

    DELIVERY = "delivery"
    PART_EXCHANGE = "part-exchange"
    RETURN = "return"
    TRANSFER = "transfer"


@dataclass(frozen=True, kw_only=True, slots=True)
class Move:
    """
    One car, from where it stands to where it goes.

    ``origin_min`` and ``destination_min`` are minutes of work at either end for this car (loading is added by the
    transporter).  ``stays_behind_pence`` is the price of not doing it today.
    """

    move_id: MoveId
    kind: MoveKind
    car: Car
    origin: PlaceId
    destination: PlaceId
    origin_window: Window | None = None  # None: whenever the compound there is open
    destination_window: Window | None = None
    origin_min: int = 0
    destination_min: int = 0
    may_be_driven: bool = True
    may_be_carried: bool = True
    no_large_vehicle: bool = False
    stays_behind_pence: int = 0
    tied_to: MoveId | None = None
    order: OrderRef | None = None
    pinned_driver: str | None = None
    pinned_transporter: str | None = None

    def __post_init__(self) -> None:
        if self.stays_behind_pence < 0:
            raise ValueError(f"Expected stays_behind_pence >= 0, got {self.stays_behind_pence}.")
