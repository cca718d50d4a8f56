"""
Said since: what the office changed after a plan was published, as it bears on the rest of that day.

An order that was withdrawn or is held is not delivered any more, its car goes back where it is aboard; a crew that is off
takes no more work.  Pins and orders that came in since wait for a plan that is made from the day folder.
"""

from dataclasses import replace

from planner.desk.day_book.orders import CANCELLED
from planner.desk.day_book.reader import Reader
from planner.model.crews import DriverId, TransporterId
from planner.model.day import Day
from planner.model.moves import MoveKind
from planner.model.progress import MoveEnd, MoveOutcome, Progress


def with_said_since(reader: Reader, day: Day, progress: Progress) -> Progress:
    """Return the progress with orders withdrawn or held, and crews off, as the book has them now."""
    off = {held.value["crew"] for held in reader.now(thing="crew off", day=day.clock.day.isoformat())}
    stopped = {held.subject for held in reader.now(thing="hold")}
    known = {outcome.move for outcome in progress.outcomes}
    outcomes = [
        MoveOutcome(move=move.move_id, end=MoveEnd.CANCELLED) for move in day.moves
        if move.kind is MoveKind.DELIVERY and move.order is not None and move.move_id not in known
        and move.destination not in day.compound_of  # else its car is on the way back already
        and (move.order in stopped or (reader.value("order", move.order) or {}).get("state") == CANCELLED)
    ]  # fmt: skip
    return replace(
        progress, outcomes=(*progress.outcomes, *outcomes),
        drivers_out=progress.drivers_out | {DriverId(name) for name in off if name in day.driver_of},
        transporters_out=progress.transporters_out | {TransporterId(name) for name in off if name in day.transporter_of},
    )  # fmt: skip
