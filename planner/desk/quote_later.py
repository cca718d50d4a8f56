"""
Later orders: what is promised already for a date that is not planned yet, put into that date before anything is promised on it.

Each takes the cheapest place that is left, in the order of the references, so that the same orders always stand alike.  Roads
to their doors are only looked for when the date is asked about.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from planner.desk.quote import Booked, Quote, QuoteDesk
from planner.desk.quote_day import Asked, RoadsTo, with_asked
from planner.desk.quote_offers import Asking, with_offer
from planner.model.day import Day
from planner.model.moves import Move, MoveId, MoveKind, part_exchange_id
from planner.model.orders import Order
from planner.model.places import PlaceId, Window


def asked_of(order: Order, reference: str, day: Day) -> Asked:
    """Return the delivery of an order with its part-exchange as a question of the desk, under another reference, at any hour."""
    door = replace(order.door, place_id=PlaceId(f"door of {reference}"))
    return Asked(
        reference=reference, door=door, car=order.car, origin=order.stands_at, method=order.method,
        no_large_vehicle=order.no_large_vehicle, order=order.ref,
        part_exchange=_part_exchange(order, reference, door.place_id, day),
    )  # fmt: skip


def _part_exchange(order: Order, reference: str, door: PlaceId, day: Day) -> Move | None:
    """Return the move of the buyer's old car; where the day does not say to where, it goes to where the sold car stands."""
    car = order.part_exchange
    if car is None:
        return None
    planned = next((move for move in day.moves if move.order == order.ref and move.tied_to is not None), None)
    return Move(
        move_id=part_exchange_id(reference), kind=MoveKind.PART_EXCHANGE, car=car, origin=door,
        destination=planned.destination if planned else order.stands_at, origin_min=day.policy.part_exchange_min,
        may_be_driven=car.may_be_driven, no_large_vehicle=order.no_large_vehicle, tied_to=MoveId(reference), order=order.ref,
    )  # fmt: skip


def with_later_orders(desk: QuoteDesk, on: date, roads_to: RoadsTo) -> QuoteDesk:
    """Return the desk with the orders promised for a later date in their places; the same desk when all are."""
    waiting = tuple(_waiting(desk, on))
    if not waiting:
        return desk
    doors = [asked.door for asked in waiting]
    desk = desk.with_doors(doors, roads_to(desk.day, doors))
    day, runs = desk.on(on)
    for asked in waiting:
        day = with_asked(day, asked)
        offers = Asking(day, day.move_of[asked.move_id], runs).offers(asked.window)
        if offers.best:
            runs = with_offer(runs, offers.best[0])
    return replace(desk, booked={**desk.booked, on: Booked(moves=day.moves, runs=runs)})


def with_all_later_orders(desk: QuoteDesk, roads_to: RoadsTo) -> QuoteDesk:
    """Return the desk with the later orders of every date for which it quotes."""
    for on in sorted({order.promise.day for order in desk.day.later}):
        if on <= desk.calendar.last:
            desk = with_later_orders(desk, on, roads_to)
    return desk


def ask(
    desk: QuoteDesk, asked: Asked, roads_to: RoadsTo, *, day: date | None = None, window: Window | None = None
) -> tuple[QuoteDesk, Quote]:
    """Return the quote, and the desk with everything in it that is promised already for the date of the quote."""
    while True:
        quote = desk.ask(asked, day=day, window=window)
        on = quote.promised.day if quote.promised else desk.day.clock.day
        fuller = with_later_orders(desk, on, roads_to)
        if fuller is desk:
            return desk, quote
        desk = fuller


def _waiting(desk: QuoteDesk, on: date) -> Iterator[Asked]:
    """Yield each order of a date that is not among the cars booked on it."""
    booked = {move.move_id for move in desk.booked.get(on, Booked()).moves}
    for order in sorted(desk.day.later, key=lambda order: order.ref):
        asked = replace(asked_of(order, str(order.ref), desk.day), window=order.promise.window)
        if order.promise.day == on and asked.move_id not in booked and asked.origin in desk.day.place_index:
            yield asked
