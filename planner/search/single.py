"""
Single-move itineraries: how one crew would do one move (with its part-exchange) alone.

They start every search, give the reason when nothing can be done, and price a move alone for a quote.
"""

from collections.abc import Iterator

from planner.model.crews import Driver, Transporter
from planner.model.day import Day
from planner.model.moves import Move
from planner.runs.crew_fit import covers
from planner.runs.run import Itinerary, Stop
from planner.search.crew_classes import driver_classes, transporter_types


def lead_moves(day: Day) -> tuple[Move, ...]:
    """Return the moves that are decided on; a part-exchange follows its delivery and is not among them."""
    return tuple(move for move in day.moves if move.tied_to is None)


def stops_for(day: Day, move: Move) -> tuple[Stop, ...]:
    """Return the stops that do one move, and its part-exchange when it has one."""
    follower = day.part_exchange_of.get(move.move_id)
    door = Stop(place=move.destination, leaves=(move.move_id,), takes=(follower.move_id,) if follower else ())
    stops = (Stop(place=move.origin, takes=(move.move_id,)), door)
    return (*stops, Stop(place=follower.destination, leaves=(follower.move_id,))) if follower else stops


def crews(day: Day, *, one_of_each: bool = False) -> Iterator[tuple[Driver, Transporter | None]]:
    """Yield every driver (or one of each class) alone and with every such transporter of the same base and licence."""
    drivers = tuple(item.one for item in driver_classes(day)) if one_of_each else day.drivers
    transporters = tuple(kind.one for kind in transporter_types(day)) if one_of_each else day.transporters
    for driver in drivers:
        if driver.may_drive_plates and covers(driver.licences, "B"):
            yield driver, None
        for transporter in transporters:
            if transporter.base == driver.base and covers(driver.licences, transporter.licence):
                yield driver, transporter


def alone(day: Day, move: Move, *, one_of_each: bool = False) -> Iterator[Itinerary]:
    """Yield every way in which one crew (or one of each class) does this move and nothing else; carriers last."""
    stops = stops_for(day, move)
    for driver, transporter in crews(day, one_of_each=one_of_each):
        yield Itinerary(
            driver=driver.driver_id,
            transporter=transporter.transporter_id if transporter else None,
            stops=stops,
            may_stay_out=driver.may_stay_out,
        )
    if day.policy.hired_carriers and move.move_id not in day.part_exchange_of:
        for carrier in day.carriers:
            yield Itinerary(driver=None, carrier=carrier.carrier_id, stops=stops)
