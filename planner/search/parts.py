"""
Parts: a big day cut into smaller days that share nothing, by base and direction, with the crews dealt out among them.

A move goes with the base where its car stands or is taken to, unless only another's crews can do it in time: a car that
stands far from its buyer, who is at home late.  Every move, driver, transporter, set of plates and hired car goes to exactly
one part, so plans of the parts are together a plan of the day.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from planner.model.crews import Carrier, Driver, Transporter, VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId
from planner.model.places import PlaceId
from planner.runs.refusal import Refusal
from planner.runs.timing import lay_out
from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.single import alone, lead_moves
from planner.search.tasks import is_collected

MOST_A_PART = 600


def parts_of(day: Day, *, most: int = MOST_A_PART) -> tuple[Day, ...]:
    """Return the day in parts of at most ``most`` moves or so, the day itself when it is small enough."""
    if len(day.moves) <= most or not day.drivers:
        return (day,)
    sectors = _sectors(day, most)
    return tuple(_with_crews(day, sectors))


def _sectors(day: Day, most: int) -> list[tuple[PlaceId, tuple[Move, ...]]]:
    """Return bases with their moves, each base's moves cut by direction as often as needed."""
    crews = _one_of_each(day)
    groups: dict[PlaceId, list[Move]] = {}
    for move in lead_moves(day):
        groups.setdefault(_base_of(move, crews), []).append(move)
    tied: dict[MoveId, list[Move]] = {}
    for move in day.moves:
        if move.tied_to is not None:
            tied.setdefault(move.tied_to, []).append(move)
    found = []
    for base, leads in groups.items():
        leads.sort(key=lambda move: (_bearing(day, base, move), move.move_id))
        size = sum(1 + len(tied.get(move.move_id, ())) for move in leads)
        cuts = math.ceil(size / most)
        for cut in range(cuts):
            some = leads[cut * len(leads) // cuts : (cut + 1) * len(leads) // cuts]
            found.append((base, tuple(item for move in some for item in (move, *tied.get(move.move_id, ())))))
    return found


def _one_of_each(day: Day) -> dict[PlaceId, Day]:
    """Return for each base the day with one crew of each kind that is there, and no other."""
    drivers = [item.one for item in driver_classes(day)]
    transporters = [kind.one for kind in transporter_types(day)]
    return {
        base: replace(
            day, drivers=tuple(one for one in drivers if one.base == base), carriers=(),
            transporters=tuple(one for one in transporters if one.base == base),
        )
        for base in dict.fromkeys(driver.base for driver in day.drivers)
    }  # fmt: skip


def _base_of(move: Move, crews: Mapping[PlaceId, Day]) -> PlaceId:
    """Return the base with the shortest way to the move and back, of those with a crew that can do it alone if any has."""
    nearest = sorted(crews, key=lambda base: (_round_m(crews[base], base, move), base))
    return next((base for base in nearest if _can(crews[base], move)), nearest[0])


def _can(crews: Day, move: Move) -> bool:
    return any(not isinstance(lay_out(crews, way), Refusal) for way in alone(crews, move))


def _round_m(day: Day, base: PlaceId, move: Move) -> int:
    """Return the metres from a base by way of the move back to it."""
    metres = day.tables[VehicleClass.CAR].metres
    way = [day.place_index[place] for place in (base, move.origin, move.destination, base)]
    return int(metres[way[:-1], way[1:]].sum())


def _bearing(day: Day, base: PlaceId, move: Move) -> float:
    door = day.place_of[move.origin if is_collected(day, move) else move.destination]
    here = day.place_of[base]
    return math.atan2((door.lng - here.lng) * math.cos(math.radians(here.lat)), door.lat - here.lat)


def _with_crews(day: Day, sectors: Sequence[tuple[PlaceId, tuple[Move, ...]]]) -> list[Day]:
    weights = [len(moves) for _, moves in sectors]
    drivers: list[list[Driver]] = [[] for _ in sectors]
    transporters: list[list[Transporter]] = [[] for _ in sectors]
    pinned = {move.pinned_driver: part for part, (_, moves) in enumerate(sectors) for move in moves if move.pinned_driver}
    kept = {move.pinned_transporter: part for part, (_, moves) in enumerate(sectors) for move in moves if move.pinned_transporter}
    for item in driver_classes(day):
        for driver, part in zip(item.drivers, _dealt(sectors, item.one.base, len(item.drivers)), strict=True):
            drivers[pinned.get(driver.driver_id, kept.get(driver.pinned_transporter or "", part))].append(driver)
    for kind in transporter_types(day):
        for transporter, part in zip(kind.transporters, _dealt(sectors, kind.one.base, len(kind.transporters)), strict=True):
            transporters[kept.get(transporter.transporter_id, part)].append(transporter)
    made = []
    for part, (_, moves) in enumerate(sectors):
        compounds = tuple(
            replace(item, plate_sets=_dealt(sectors, item.place_id, item.plate_sets).count(part)) for item in day.compounds
        )
        carriers = tuple(_fewer(item, _shares(weights, item.cars).count(part)) for item in day.carriers)
        made.append(replace(
            day, moves=moves, drivers=tuple(drivers[part]), transporters=tuple(transporters[part]), compounds=compounds,
            carriers=tuple(item for item in carriers if item.cars),
        ))  # fmt: skip
    return made


def _fewer(carrier: Carrier, cars: int) -> Carrier:
    return replace(carrier, cars=cars)


def _dealt(sectors: Sequence[tuple[PlaceId, tuple[Move, ...]]], base: PlaceId, count: int) -> list[int]:
    """Return the part of each of ``count`` things of one base: parts of that base by their moves, else all parts."""
    own = [len(moves) if place == base else 0 for place, moves in sectors]
    return _shares(own if any(own) else [len(moves) for _, moves in sectors], count)


def _shares(weights: Sequence[int], count: int) -> list[int]:
    """Return ``count`` parts, each as often as its weight asks, dealt evenly."""
    total, dealt, given = sum(weights), list[int](), [0] * len(weights)
    for turn in range(1, count + 1):
        part = max(range(len(weights)), key=lambda rank: (weights[rank] * turn / total - given[rank], -rank))
        given[part] += 1
        dealt.append(part)
    return dealt
