"""
A day with one more order: the asked delivery as a move, its door as a place, its roads joined to the travel tables.

The roads come from the maps room as two strips for each class: from the new doors to every place, and from every place
to the new doors.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from planner.model.cars import Car
from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.orders import Method, OrderRef
from planner.model.places import Place, PlaceId, Window
from planner.model.policy import Policy
from planner.model.rides import ride_table
from planner.model.travel import ARRAYS, Charge, RideTable, TravelTable


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RoadStrip:
    """
    Roads between ``m`` new doors and the ``n`` places of a day, for one class.

    Each array of ``out`` is ``(m, n + m)``, from the doors to every place, the doors themselves last; each of ``back`` is
    ``(n, m)``, from the places to the doors.  Keys and meanings are those of a travel table.
    """

    out: dict[str, npt.NDArray[np.int64]]
    back: dict[str, npt.NDArray[np.int64]]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Roads:
    """The strips of every class of a day; bit ``k`` of their charge masks is ``charges[k]``."""

    strips: dict[VehicleClass, RoadStrip]
    charges: tuple[Charge, ...] = ()


#: Returns the roads between new doors and the places of a day.
RoadsTo = Callable[[Day, Sequence[Place]], Roads]


@dataclass(frozen=True, kw_only=True, slots=True)
class Asked:
    """
    One delivery somebody asks about; ``origin`` is where the car stands, ``window`` minutes of the planning day.

    ``order`` is the order of the day for which it is asked, None when there is none yet; ``part_exchange`` the move of the
    buyer's old car, which is taken in the same visit.
    """

    reference: str
    door: Place
    car: Car
    origin: PlaceId
    method: Method = Method.ANY
    no_large_vehicle: bool = False
    window: Window | None = None
    order: OrderRef | None = None
    part_exchange: Move | None = None

    @property
    def move_id(self) -> MoveId:
        """The move under which the plan knows it."""
        return MoveId(self.reference)

    @property
    def moves_it_adds(self) -> frozenset[MoveId]:
        """The moves under which the plan knows it and its part-exchange."""
        return frozenset((self.move_id, *((self.part_exchange.move_id,) if self.part_exchange else ())))


def move_of(asked: Asked, policy: Policy) -> Move:
    """Return the asked delivery as a move; leaving it behind costs a late promise."""
    return Move(
        move_id=asked.move_id,
        kind=MoveKind.DELIVERY,
        car=asked.car,
        origin=asked.origin,
        destination=asked.door.place_id,
        destination_window=asked.window,
        destination_min=policy.handover_min,
        may_be_driven=asked.method is not Method.CARRIED,
        may_be_carried=asked.method is not Method.DRIVEN,
        no_large_vehicle=asked.no_large_vehicle,
        stays_behind_pence=policy.late_first_day_pence,
    )


def with_doors(day: Day, doors: Sequence[Place], roads: Roads) -> Day:
    """Return the day with more places, its tables joined to their roads, and the charges that those meet."""
    known = {charge.key: bit for bit, charge in enumerate(day.charges)}
    fresh = tuple(charge for charge in roads.charges if charge.key not in known)
    bits = {bit: known.get(charge.key, len(day.charges)) for bit, charge in enumerate(roads.charges)}
    for number, charge in enumerate(fresh):
        bits[roads.charges.index(charge)] = len(day.charges) + number
    tables = {kind: joined(table, roads.strips[kind], bits) for kind, table in day.tables.items()}
    rides = joined_rides(day.rides, tables[VehicleClass.CAR], day.policy)
    return replace(day, places=(*day.places, *doors), charges=(*day.charges, *fresh), tables=tables, rides=rides)


def with_asked(day: Day, asked: Asked) -> Day:
    """Return the day with the asked delivery and its part-exchange among its moves, in place of an earlier version of them."""
    moves = tuple(move for move in day.moves if move.move_id not in asked.moves_it_adds)
    extra = () if asked.part_exchange is None else (asked.part_exchange,)
    return replace(day, moves=(*moves, move_of(asked, day.policy), *extra))


def joined(table: TravelTable, strip: RoadStrip, bits: Mapping[int, int]) -> TravelTable:
    """Return a travel table with the strip's doors after its own places; ``bits`` renumbers the strip's charges."""
    size = table.metres.shape[0]
    arrays = {}
    for name in ARRAYS:
        old, out, back = getattr(table, name), strip.out[name], strip.back[name]
        if name == "charge_mask":
            out, back = renumbered(out, bits), renumbered(back, bits)
        grown = np.empty((size + back.shape[1],) * 2, old.dtype)
        grown[:size, :size] = old
        grown[:size, size:] = back
        grown[size:, :] = out
        arrays[name] = grown
    return TravelTable(vehicle_class=table.vehicle_class, **arrays)


def renumbered(mask: npt.NDArray[np.int64], bits: Mapping[int, int]) -> npt.NDArray[np.int64]:
    """Return a charge mask whose bit ``k`` has become bit ``bits[k]``."""
    if not mask.any() or all(old == new for old, new in bits.items()):
        return mask
    made = np.zeros(mask.shape, np.int64)
    for old, new in bits.items():
        made |= ((mask >> old) & 1) << new
    return made


def joined_rides(rides: RideTable, car: TravelTable, policy: Policy) -> RideTable:
    """Return a ride table that also covers the places at the end of ``car``; what it knew already stays."""
    size = rides.minutes.shape[0]
    fresh = ride_table(car, policy)
    grown = {name: getattr(fresh, name).copy() for name in ("minutes", "fare_pence")}
    for name, array in grown.items():
        array[:size, :size] = getattr(rides, name)
    return RideTable(**grown)


def without_roads(strip: RoadStrip) -> bool:
    """Return whether no road leads to the first door of the strip."""
    return bool(np.all(strip.back["metres"][:, 0] < 0))
