"""Promises: how many deliveries were promised up to a day, and how many of them a plan keeps, wherever they are told."""

from typing import NamedTuple

from planner.model.day import Day
from planner.model.moves import MoveKind
from planner.runs.plan import Plan


class Promises(NamedTuple):
    """How many deliveries are kept of those that were promised."""

    kept: int
    made: int


def promises(day: Day, plan: Plan) -> Promises:
    """Return the promises of a day: kept when a run delivers the order on its day; one that is held was made too."""
    placed = {move for run in plan.runs for move in run.itinerary.moves}
    sold = [move for move in day.moves if move.kind is MoveKind.DELIVERY]
    late = {order.ref for order in day.orders if order.promise.day < day.clock.day}
    held = sum(order.promise.day <= day.clock.day for order in day.held)
    return Promises(kept=sum(move.move_id in placed and move.order not in late for move in sold), made=len(sold) + held)
