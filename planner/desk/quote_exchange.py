"""A part-exchange along with the delivery that is asked for: every way to bring it in on the same run."""

from collections.abc import Iterator
from dataclasses import replace

from planner.model.moves import Move, MoveId
from planner.runs.run import Itinerary, RunKind, Stop


def bringing_in(itinerary: Itinerary, delivery: MoveId, exchange: Move) -> Iterator[Itinerary]:
    """
    Yield the itinerary with the part-exchange taken where the delivery is left and itself left later; none by hired carrier.

    A driver on plates goes straight on with it; a transporter leaves it at a call it makes anyway or at one of its own.
    """
    stops = itinerary.stops
    at = next((number for number, stop in enumerate(stops) if delivery in stop.leaves), len(stops))
    if itinerary.kind is RunKind.HIRED or at == len(stops):
        return
    is_driven = itinerary.kind is RunKind.PLATE
    if is_driven and stops[at].takes:
        return
    head = (*stops[:at], replace(stops[at], takes=(*stops[at].takes, exchange.move_id)))
    for number in range(at + 1, at + 2 if is_driven else len(stops) + 1):
        tail = _left_before(stops[number:], exchange, is_driven=is_driven)
        yield replace(itinerary, stops=(*head, *stops[at + 1 : number], *tail))


def _left_before(later: tuple[Stop, ...], exchange: Move, *, is_driven: bool) -> tuple[Stop, ...]:
    """Return the later stops with the part-exchange left first, at the same call where that is at the same place."""
    joins = bool(later) and later[0].place == exchange.destination and not (is_driven and later[0].leaves)
    if joins:
        return (replace(later[0], leaves=(*later[0].leaves, exchange.move_id)), *later[1:])
    return (Stop(place=exchange.destination, leaves=(exchange.move_id,)), *later)
