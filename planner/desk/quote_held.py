"""
Held quotes: the open promises of the sales desk, written down so that the next quote, in another process, sees them.

A held quote keeps the delivery as it was asked, its date and window, the itinerary into which it was put and the roads of
its door.  It counts until it expires, is dropped, its reference is among the orders of the day, or the order for which it
was asked has its date and window.  Until then that order keeps the place it has in the plan as well.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.desk.quote import Booked, Quote, QuoteDesk
from planner.desk.quote_day import Asked, Roads, RoadsTo, RoadStrip, with_asked
from planner.desk.quote_later import with_later_orders
from planner.desk.quote_offers import Asking, Offer, Refused, free_plates, offer_of, with_offer
from planner.model import documents
from planner.model.day import Day
from planner.model.orders import Order, OrderRef, Promise
from planner.model.places import Place as Door
from planner.model.places import PlaceId, Window
from planner.model.travel import ARRAYS
from planner.runs.crew_fit import has_crew
from planner.runs.run import Itinerary, Run, RunKind
from planner.runs.sharing import without_moves

if TYPE_CHECKING:
    from planner.model.moves import MoveId


@dataclass(frozen=True, kw_only=True)
class HeldQuote:
    """One open promise; ``places`` is the order of the rows in ``roads``, the door itself last."""

    reference: str
    asked: Asked
    day: date
    window: Window
    made_at: datetime
    expires_at: datetime
    itinerary: Itinerary
    places: tuple[PlaceId, ...]
    roads: Roads
    document: dict[str, Any] = field(default_factory=dict)  # the quote as it was shown

    def is_promise(self, promise: Promise) -> bool:
        """Return whether a promise is that of the quote."""
        return promise == Promise(day=self.day, window=self.window)


@dataclass(frozen=True, kw_only=True)
class HeldQuotes:
    """Everything the desk has promised; closed quotes stay, so that they can be shown again."""

    quotes: tuple[HeldQuote, ...] = ()

    def open_at(
        self, now: datetime, known: Iterable[str] = (), orders: Iterable[Order] = ()
    ) -> tuple[HeldQuote, ...]:
        """
        Return the quotes that still hold a place.

        Parameters
        ----------
        now
            Local time of the planning day's zone.
        known
            References that became orders.
        orders
            Orders of the day; one that is promised for the date and window of its quote needs no second place.

        """
        ordered = set(known)
        promised = {order.ref: order.promise for order in orders}
        return tuple(
            quote for quote in self.quotes
            if quote.expires_at > now and quote.reference not in ordered
            and not (quote.asked.order in promised and quote.is_promise(promised[quote.asked.order]))
        )  # fmt: skip

    def open_for(self, order: OrderRef, now: datetime) -> tuple[str, ...]:
        """Return the references of the open quotes that were asked for an order."""
        return tuple(quote.reference for quote in self.quotes if quote.asked.order == order and quote.expires_at > now)

    def find(self, reference: str) -> HeldQuote | None:
        """Return a quote by its reference, None when nobody gave it."""
        wanted = reference.strip().upper()
        return next((quote for quote in reversed(self.quotes) if quote.reference == wanted), None)

    def with_quote(self, quote: HeldQuote) -> "HeldQuotes":
        """Return the store with one quote more, in place of an earlier one of that reference."""
        others = tuple(other for other in self.quotes if other.reference != quote.reference)
        return HeldQuotes(quotes=(*others, quote))

    def ended(self, reference: str, now: datetime) -> "HeldQuotes":
        """Return the store with one quote ended now: its place is free again."""
        return HeldQuotes(
            quotes=tuple(
                replace(quote, expires_at=min(quote.expires_at, now)) if quote.reference == reference else quote
                for quote in self.quotes
            )
        )

    def kept_since(self, day: date) -> "HeldQuotes":
        """Return the store without quotes whose promised day is over, for a file that does not grow for ever."""
        return HeldQuotes(quotes=tuple(quote for quote in self.quotes if quote.day >= day))


def to_document(held: HeldQuotes) -> dict[str, Any]:
    """Return the store as JSON-safe values."""
    document: dict[str, Any] = documents.to_document(held)
    return document


def from_document(document: Any) -> HeldQuotes:
    """Return the store that :func:`to_document` wrote; raises BadDocument when it is damaged."""
    return documents.from_document(HeldQuotes, document, where="held quotes")


def held(quote: Quote, desk: QuoteDesk, document: dict[str, Any]) -> HeldQuote | None:
    """Return a quote as it is written down; None when it promises nothing.  ``desk`` has the door among its places."""
    place = quote.promised
    if place is None or place.best is None:
        return None
    return HeldQuote(
        reference=quote.reference,
        asked=quote.asked,
        day=place.day,
        window=place.window,
        made_at=quote.made_at,
        expires_at=quote.expires_at,
        itinerary=place.best.run.itinerary,
        places=tuple(known.place_id for known in _door_last(desk.day, quote.asked.door.place_id)),
        roads=roads_of(desk.day, quote.asked.door.place_id),
        document=document,
    )


def _door_last(day: Day, door: PlaceId) -> tuple[Door, ...]:
    return (*(place for place in day.places if place.place_id != door), day.place_of[door])


def roads_of(day: Day, door: PlaceId) -> Roads:
    """Return the strips of one place of a day, which stands last in them."""
    at = day.place_index[door]
    others = [row for row in range(len(day.places)) if row != at]
    return Roads(
        charges=day.charges,
        strips={
            kind: RoadStrip(
                out={name: np.asarray(getattr(table, name)[[at]][:, [*others, at]]) for name in ARRAYS},
                back={name: np.asarray(getattr(table, name)[others][:, [at]]) for name in ARRAYS},
            )
            for kind, table in day.tables.items()
        },
    )


def aligned(quote: HeldQuote, day: Day) -> Roads | None:
    """Return the quote's roads in the order of the day's places, None when the day has places that it never saw."""
    known = {place: row for row, place in enumerate(quote.places)}
    rows = [known.get(place.place_id, -1) for place in day.places]
    if -1 in rows or set(day.tables) != set(quote.roads.strips):
        return None
    door = len(quote.places) - 1
    return Roads(
        charges=quote.roads.charges,
        strips={
            kind: RoadStrip(
                out={name: strip.out[name][:, [*rows, door]] for name in ARRAYS},
                back={name: strip.back[name][rows, :] for name in ARRAYS},
            )
            for kind, strip in quote.roads.strips.items()
        },
    )


def reopened(desk: QuoteDesk, held: Sequence[HeldQuote], roads_to: RoadsTo) -> tuple[QuoteDesk, tuple[str, ...]]:
    """
    Return the desk with every open quote in its place again, and a warning for each that can no longer be kept.

    Each goes back into the itinerary that it had; where the plan was made anew meanwhile, it is put in afresh.
    """
    warnings: list[str] = []
    for quote in sorted(held, key=lambda item: item.made_at):
        desk = with_later_orders(desk, quote.day, roads_to)
        door = quote.asked.door
        if door.place_id not in desk.day.place_index:
            desk = desk.with_door(quote.asked, aligned(quote, desk.day) or roads_to(desk.day, [door]))
        offer = _as_it_was(desk, quote) or _afresh(desk, quote)
        if offer is None:
            warnings.append(
                f"Quote {quote.reference} ({door.name}, {quote.day:%d %B}) was promised and can no longer be kept: the plan "
                f"has changed. Ring the buyer, or make room."
            )
            continue
        desk = _with(desk, quote, offer)
    return desk, tuple(warnings)


def can_be_held(desk: QuoteDesk, quote: HeldQuote) -> bool:
    """Return whether a desk that knows the door has room for the quote beside everything else that is booked."""
    return not reopened(desk, [quote], _no_roads)[1]


def _no_roads(_day: Day, doors: Sequence[Door]) -> Roads:
    raise AssertionError(f"Expected a known door, got {doors}.")


def _day_of(desk: QuoteDesk, quote: HeldQuote) -> tuple[Day, tuple[Run, ...]]:
    day, runs = desk.on(quote.day)
    return with_asked(day, replace(quote.asked, window=quote.window)), runs


def _as_it_was(desk: QuoteDesk, quote: HeldQuote) -> Offer | None:
    """Return the quote in its old itinerary, None when that no longer fits what the crew does now."""
    day, runs = _day_of(desk, quote)
    if not has_crew(day, quote.itinerary):
        return None
    gone = frozenset(move for move in quote.itinerary.moves if move not in day.move_of)
    itinerary = without_moves(quote.itinerary, gone)
    same = [run for run in runs if run.itinerary.crew & itinerary.crew]
    now_done: set[MoveId] = {move for run in same for move in run.itinerary.moves}
    if len(same) > 1 or now_done != set(itinerary.moves) - quote.asked.moves_it_adds:
        return None
    old = same[0] if same else None
    if _is_short(day, itinerary, runs, is_new=old is None):
        return None
    offer = offer_of(day, itinerary, runs, replaces=old)
    return None if isinstance(offer, Refused) else offer


def _is_short(day: Day, itinerary: Itinerary, runs: Sequence[Run], *, is_new: bool) -> bool:
    """Return whether the carrier, or the plates of the base, are all taken."""
    if itinerary.carrier is not None:
        taken = sum(run.itinerary.carrier == itinerary.carrier for run in runs)
        return taken >= day.carrier_of[itinerary.carrier].cars
    if itinerary.kind is RunKind.PLATE and is_new and itinerary.driver is not None:
        return free_plates(day, runs)[day.driver_of[itinerary.driver].base] <= 0
    return False


def _afresh(desk: QuoteDesk, quote: HeldQuote) -> Offer | None:
    day, runs = _day_of(desk, quote)
    offers = Asking(day, day.move_of[quote.asked.move_id], runs).offers(quote.window)
    return offers.best[0] if offers.best else None


def _with(desk: QuoteDesk, quote: HeldQuote, offer: Offer) -> QuoteDesk:
    day, runs = _day_of(desk, quote)
    return replace(desk, booked={**desk.booked, quote.day: Booked(moves=day.moves, runs=with_offer(runs, offer))})


