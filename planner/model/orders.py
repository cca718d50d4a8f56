"""
Orders: sold cars, each with its buyer, its promise and the gates it has to pass.

A gate not named in ``gates`` counts as passed; ``first_unpassed`` is what holds an order.
"""

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import NewType

from planner.model.cars import Car
from planner.model.places import Place, PlaceId, Window

OrderRef = NewType("OrderRef", str)


class Method(StrEnum):
    """How a car may travel; also what an order may wish for."""

    ANY = "any"
    CARRIED = "carried"
    DRIVEN = "driven"


class Gate(StrEnum):
    """Something that must be true before a car may leave, in the order in which the office looks at them."""

    FUNDS = "funds"
    PAPERS = "papers"
    IDENTITY = "identity"
    PROVENANCE = "provenance"
    MOT = "mot"
    INSPECTION = "inspection"
    SERVICE = "service"
    RECALL = "recall"
    VALET = "valet"
    KEYS = "keys"
    BOOK_PACK = "book_pack"
    INSURANCE = "insurance"
    TAX = "tax"
    FUEL = "fuel"
    PART_EXCHANGE = "part_exchange"


@dataclass(frozen=True, kw_only=True, slots=True)
class Promise:
    """The date and the window given to the buyer; the window is in minutes of that date's own day."""

    day: date
    window: Window


@dataclass(frozen=True, kw_only=True, slots=True)
class Buyer:
    """Who takes the car; only what a visit needs."""

    name: str
    phone: str
    address: tuple[str, ...]
    email: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Hold:
    """Why an order may not leave: the gate, who owns it and the minute by which it must be passed."""

    gate: Gate
    owner: str
    cut_off_min: int
    to_do: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Order:
    """
    One sold car to one buyer; ``part_exchange`` is the buyer's old car, collected in the same visit.

    A car fetched from a door (a return, or a transfer from a supplier) has an order too, whose ``stands_at`` is that door:
    the kind of its move tells which it is.
    """

    ref: OrderRef
    car: Car
    stands_at: PlaceId
    buyer: Buyer
    door: Place
    promise: Promise
    method: Method = Method.ANY
    part_exchange: Car | None = None
    access_notes: str = ""
    no_large_vehicle: bool = False
    gates: dict[Gate, bool] = field(default_factory=dict)
    hold: Hold | None = None
    priority: int = 1  # multiplies the price of a promise not kept
    charge_pence: int | None = None  # what the buyer pays for delivery; None when nobody said
    notes: str = ""

    @property
    def first_unpassed(self) -> Gate | None:
        """The first gate that is not passed, None when the order is ready."""
        return next((gate for gate in Gate if not self.gates.get(gate, True)), None)
