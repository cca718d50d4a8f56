"""
The day: everything known for one planning day, frozen before planning.

``Day`` refuses what cannot be true together; ``intake`` turns that into problems that name file, row and column.
"""

from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property

from planner.clock import DayClock
from planner.model.crews import Carrier, CarrierId, Driver, DriverId, Transporter, TransporterId, VehicleClass
from planner.model.decks import Deck
from planner.model.moves import Move, MoveId
from planner.model.orders import Order, OrderRef
from planner.model.places import Compound, Place, PlaceId
from planner.model.policy import Policy
from planner.model.rates import Rates
from planner.model.travel import Charge, RideTable, TravelTable


@dataclass(frozen=True, kw_only=True, eq=False)
class Day:
    """
    One planning day.

    ``places`` gives the order of rows and columns in every table.  ``moves`` are only those that may leave: what is
    held stands in ``held``.  ``notes`` are things the office should know, such as sizes that were assumed.
    """

    clock: DayClock
    places: tuple[Place, ...]
    compounds: tuple[Compound, ...]
    orders: tuple[Order, ...]
    moves: tuple[Move, ...]
    drivers: tuple[Driver, ...]
    transporters: tuple[Transporter, ...]
    carriers: tuple[Carrier, ...]
    rates: Rates
    policy: Policy
    charges: tuple[Charge, ...]
    tables: dict[VehicleClass, TravelTable]
    rides: RideTable
    decks: dict[str, Deck] = field(default_factory=dict)  # by name, as transporters name them
    held: tuple[Order, ...] = ()
    later: tuple[Order, ...] = ()  # deliveries promised for later dates; their doors are not among the places
    notes: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        named_once: tuple[tuple[str, list[str]], ...] = (
            ("place", [place.place_id for place in self.places]),
            ("move", [move.move_id for move in self.moves]),
            ("driver", [driver.driver_id for driver in self.drivers]),
            ("transporter", [transporter.transporter_id for transporter in self.transporters]),
            ("order", [order.ref for orders in (self.orders, self.held, self.later) for order in orders]),
        )
        for what, keys in named_once:
            if len(set(keys)) < len(keys):
                twice = sorted(key for key, times in Counter(keys).items() if times > 1)
                raise ValueError(f"Expected each {what} once, got {', '.join(twice)} twice.")
        known = set(named_once[0][1])
        named: set[str] = {end for move in self.moves for end in (move.origin, move.destination)}
        named |= {driver.starts_at for driver in self.drivers} | {transporter.base for transporter in self.transporters}
        if strangers := sorted(named - known):
            raise ValueError(f"Expected every place in places, got {', '.join(strangers)} elsewhere.")
        for table in self.tables.values():
            if table.metres.shape[0] != len(self.places):
                raise ValueError(f"Expected tables of {len(self.places)} places, got {table.metres.shape[0]}.")

    @cached_property
    def place_index(self) -> dict[PlaceId, int]:
        """Row and column of each place in the tables."""
        return {place.place_id: row for row, place in enumerate(self.places)}

    @cached_property
    def place_of(self) -> dict[PlaceId, Place]:
        """Places by identifier."""
        return {place.place_id: place for place in self.places}

    @cached_property
    def compound_of(self) -> dict[PlaceId, Compound]:
        """Compounds by place."""
        return {compound.place_id: compound for compound in self.compounds}

    @cached_property
    def move_of(self) -> dict[MoveId, Move]:
        """Moves by identifier."""
        return {move.move_id: move for move in self.moves}

    @cached_property
    def part_exchange_of(self) -> dict[MoveId, Move]:
        """The part-exchange of each delivery that has one, by the delivery."""
        return {move.tied_to: move for move in self.moves if move.tied_to is not None}

    @cached_property
    def order_of(self) -> dict[OrderRef, Order]:
        """Orders by reference, held ones too."""
        return {order.ref: order for order in (*self.orders, *self.held)}

    @cached_property
    def driver_of(self) -> dict[DriverId, Driver]:
        """Drivers by identifier."""
        return {driver.driver_id: driver for driver in self.drivers}

    @cached_property
    def transporter_of(self) -> dict[TransporterId, Transporter]:
        """Transporters by identifier."""
        return {transporter.transporter_id: transporter for transporter in self.transporters}

    @cached_property
    def carrier_of(self) -> dict[CarrierId, Carrier]:
        """Hired carriers by identifier."""
        return {carrier.carrier_id: carrier for carrier in self.carriers}
