"""
What a crew may take: licence, plates, method, size and order of its stops, whatever the time.

Each check returns the first :class:`Refusal` it finds, or None.  Times are for :mod:`planner.runs.timing`.
"""

from collections.abc import Callable, Iterator

from planner.model.crews import Driver, Transporter, VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary, RunKind, Stop
from planner.units import miles

#: A licence of the key covers what each listed category covers (gov.uk, driving licence categories).
COVERS = {
    "B": {"B"},
    "BE": {"B", "BE"},
    "C1": {"B", "C1"},
    "C1E": {"B", "BE", "C1", "C1E"},
    "C": {"B", "C1", "C"},
    "CE": {"B", "BE", "C1", "C1E", "C", "CE"},
}


def covers(licences: frozenset[str], needed: str) -> bool:
    """Return whether any of ``licences`` covers the category ``needed``."""
    return any(needed in COVERS.get(licence, {licence}) for licence in licences)


def refuse(day: Day, itinerary: Itinerary) -> Refusal | None:
    """Return the first reason why this crew may not run these stops in this order, None when it may."""
    checks: tuple[Callable[[Day, Itinerary], Refusal | None], ...] = (
        refuse_order_of_stops,
        refuse_hired if itinerary.kind is RunKind.HIRED else refuse_driver,
    )
    if itinerary.kind is RunKind.PLATE:
        checks += (refuse_plates, refuse_driven_moves)
    elif itinerary.kind is RunKind.TRANSPORTER:
        checks += (refuse_carried_moves, refuse_load)
    for check in checks:
        refusal = check(day, itinerary)
        if refusal is not None:
            return refusal
    return None


def refuse_order_of_stops(day: Day, itinerary: Itinerary) -> Refusal | None:
    """Refuse cars left before they are taken, at another place, or kept; and part-exchanges apart from their delivery."""
    aboard: set[str] = set()
    move_of = day.move_of
    for stop in itinerary.stops:
        for move_id in stop.leaves:
            if move_id not in aboard or move_of[move_id].destination != stop.place:
                return Refusal(rule="order of stops", says=f"{move_id} is left at {stop.place} without being aboard for it")
            aboard.remove(move_id)
        for move_id in stop.takes:
            if move_of[move_id].origin != stop.place:
                return Refusal(rule="order of stops", says=f"{move_id} does not stand at {stop.place}")
            aboard.add(move_id)
            tied = move_of[move_id].tied_to
            if tied is not None and tied not in stop.leaves:
                return Refusal(rule="part-exchange", says=f"{move_id} is taken without {tied} being delivered in that visit")
    if aboard:
        return Refusal(rule="order of stops", says=f"{', '.join(sorted(aboard))} would still be aboard at the end")
    moves = itinerary.moves
    if len(set(moves)) != len(moves):
        return Refusal(rule="order of stops", says="a move is taken twice")
    return None


def refuse_hired(day: Day, itinerary: Itinerary) -> Refusal | None:
    """Refuse what a hired carrier does not take: kind, mass, distance, notice."""
    carrier = day.carrier_of[itinerary.carrier] if itinerary.carrier else None
    if carrier is None or len(itinerary.moves) != 1:
        return Refusal(rule="hired carrier", says="a hired carrier takes one move at a time")
    move = day.move_of[itinerary.moves[0]]
    metres = day.tables[VehicleClass.CAR].metres[day.place_index[move.origin], day.place_index[move.destination]]
    if move.kind not in carrier.kinds:
        return Refusal(rule="hired carrier", says=f"{carrier.name} takes no {move.kind}")
    if move.car.mass_kg > carrier.max_mass_kg:
        return Refusal(rule="hired carrier", says=f"{move.car.mass_kg} kg is above {carrier.name}'s {carrier.max_mass_kg} kg")
    if metres < 0 or miles(metres) > carrier.max_miles:
        return Refusal(rule="hired carrier", says=f"it is farther than {carrier.name}'s {carrier.max_miles} miles")
    if not move.may_be_carried:
        return Refusal(rule="method", says=f"{move.move_id} may not be carried")
    if not day.policy.hired_carriers:
        return Refusal(rule="policy", says="hired carriers are switched off in policy.toml")
    return refuse_pins(day, itinerary)


def refuse_driver(day: Day, itinerary: Itinerary) -> Refusal | None:
    """Refuse a driver without the licence or the leave for this vehicle, and pins that point elsewhere."""
    if itinerary.driver is None:
        return Refusal(rule="crew", says="nobody is named to drive")
    driver = day.driver_of[itinerary.driver]
    if itinerary.transporter is None:
        if not driver.may_drive_plates:
            return Refusal(rule="plates", says=f"{driver.name} does not drive on plates")
        if driver.pinned_transporter is not None:
            return Refusal(rule="pin", says=f"{driver.name} is pinned to transporter {driver.pinned_transporter}")
        return _refuse_licence(driver, "B", "a car") or refuse_pins(day, itinerary)
    transporter = day.transporter_of[itinerary.transporter]
    if driver.pinned_transporter not in (None, transporter.transporter_id):
        return Refusal(rule="pin", says=f"{driver.name} is pinned to transporter {driver.pinned_transporter}")
    if itinerary.support_driver is not None:
        return Refusal(rule="crew", says="a support car follows plate runs only")
    return _refuse_licence(driver, transporter.licence, transporter.name) or refuse_pins(day, itinerary)


def _refuse_licence(driver: Driver, needed: str, vehicle: str) -> Refusal | None:
    if covers(driver.licences, needed):
        return None
    held = ", ".join(sorted(driver.licences)) or "none"
    return Refusal(rule="licence", says=f"{driver.name} holds {held}; {vehicle} needs {needed}")


def refuse_pins(day: Day, itinerary: Itinerary) -> Refusal | None:
    """Refuse a move that is pinned to another driver or transporter."""
    for move_id in itinerary.moves:
        move = day.move_of[move_id]
        if move.pinned_driver not in (None, itinerary.driver):
            return Refusal(rule="pin", says=f"{move_id} is pinned to driver {move.pinned_driver}")
        if move.pinned_transporter not in (None, itinerary.transporter):
            return Refusal(rule="pin", says=f"{move_id} is pinned to transporter {move.pinned_transporter}")
    return None


def refuse_plates(day: Day, itinerary: Itinerary) -> Refusal | None:
    """Refuse more than one car at a time on plates, a second driver who may not drive, and too many cars a shift."""
    stops = [stop for stop in itinerary.stops if stop.leaves or stop.takes]  # at a door in vain the car stays in hand
    for earlier, later in zip(stops, (*stops[1:], None), strict=True):
        if len(earlier.takes) > 1:
            return Refusal(rule="plates", says=f"{len(earlier.takes)} cars cannot be driven at once on one set of plates")
        if earlier.takes and (later is None or later.leaves != earlier.takes):
            return Refusal(rule="plates", says=f"{earlier.takes[0]} is not left at the stop after it is taken")
    if len(itinerary.moves) > day.policy.driven_moves_a_shift:
        return Refusal(rule="policy", says=f"{len(itinerary.moves)} cars are more than {day.policy.driven_moves_a_shift} a shift")
    if itinerary.support_driver is not None:
        return _refuse_support(day, itinerary)
    return None


def has_crew(day: Day, itinerary: Itinerary) -> bool:
    """Return whether the crew of an itinerary, or its carrier, is among those of the day."""
    return (
        all(driver in day.driver_of for driver in itinerary.drivers)
        and (itinerary.transporter is None or itinerary.transporter in day.transporter_of)
        and (itinerary.carrier is None or itinerary.carrier in day.carrier_of)
    )


def _refuse_support(day: Day, itinerary: Itinerary) -> Refusal | None:
    first, second = (day.driver_of[name] for name in itinerary.drivers)
    if not day.policy.support_car_allowed:
        return Refusal(rule="policy", says="support cars are switched off in policy.toml")
    if second.driver_id == first.driver_id or second.starts_at != first.starts_at:
        return Refusal(rule="crew", says=f"{second.name} cannot follow {first.name}: they do not start together")
    if second.pinned_transporter is not None:
        return Refusal(rule="pin", says=f"{second.name} is pinned to transporter {second.pinned_transporter}")
    return _refuse_licence(second, "B", "the support car")


def refuse_driven_moves(day: Day, itinerary: Itinerary) -> Refusal | None:
    """Refuse cars that may not be driven, or not so far."""
    for move_id in itinerary.moves:
        move = day.move_of[move_id]
        metres = day.tables[driven_class(move)].metres[day.place_index[move.origin], day.place_index[move.destination]]
        if not (move.may_be_driven and move.car.may_be_driven):
            return Refusal(rule="method", says=f"{move_id} may not be driven")
        if metres > day.policy.driven_max_m:
            return Refusal(
                rule="policy",
                says=f"{move_id} is {miles(metres):.0f} miles, above {miles(day.policy.driven_max_m):.0f} on plates",
            )
        if move.car.range_m is not None and metres > move.car.range_m:
            return Refusal(
                rule="range",
                says=f"{move_id} goes {miles(move.car.range_m):.0f} miles on its charge; the way is {miles(metres):.0f}",
            )
    return None


def driven_class(move: Move) -> VehicleClass:
    """Return which travel table holds when this move's car is driven."""
    return VehicleClass.GOODS_3500 if move.car.is_van else VehicleClass.CAR


def refuse_carried_moves(day: Day, itinerary: Itinerary) -> Refusal | None:
    """Refuse cars that may not be carried, and large transporters at doors they cannot reach."""
    assert itinerary.transporter is not None
    transporter = day.transporter_of[itinerary.transporter]
    for move_id in itinerary.moves:
        move = day.move_of[move_id]
        if not move.may_be_carried:
            return Refusal(rule="method", says=f"{move_id} may not be carried")
        if move.no_large_vehicle and transporter.is_large:
            return Refusal(rule="access", says=f"{transporter.name} is too large for the door of {move_id}")
    return None


def refuse_load(day: Day, itinerary: Itinerary) -> Refusal | None:
    """Refuse more cars or more mass than the transporter has slots or payload for, after any stop."""
    assert itinerary.transporter is not None
    transporter = day.transporter_of[itinerary.transporter]
    move_of = day.move_of
    for _, aboard in aboard_after(itinerary):
        mass_kg = sum([move_of[move_id].car.mass_kg for move_id in aboard])
        if len(aboard) > transporter.slots:
            return Refusal(rule="slots", says=f"{len(aboard)} cars on {transporter.name}, which has {transporter.slots} slots")
        if mass_kg > transporter.payload_kg:
            return _over_payload(transporter, mass_kg)
    return None


def _over_payload(transporter: Transporter, mass_kg: int) -> Refusal:
    over = mass_kg - transporter.payload_kg
    return Refusal(
        rule="payload",
        says=f"{mass_kg} kg of cars on {transporter.name} is {over} kg above its payload of {transporter.payload_kg} kg",
    )


def aboard_after(itinerary: Itinerary) -> Iterator[tuple[Stop, tuple[MoveId, ...]]]:
    """Yield each stop with the moves that are aboard, or in the driver's hands, when it is done."""
    aboard: tuple[MoveId, ...] = ()
    for stop in itinerary.stops:
        aboard = tuple(move for move in aboard if move not in stop.leaves) + stop.takes
        yield stop, aboard
