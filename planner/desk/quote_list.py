"""
Price lists: many doors quoted at once, each as if it were the only one; nothing is held.

Their roads are searched together; they are then quoted in batches, so that the tables stay small.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.desk.quote import NoWayThere, Quote, QuoteDesk
from planner.desk.quote_day import Asked, Roads, RoadsTo, RoadStrip
from planner.model.cars import Car
from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.orders import Method
from planner.model.places import Place, PlaceId
from planner.runs.run import RunKind
from planner.units import miles, wall_text

BATCH = 100

HEADINGS = (
    "postcode", "from", "miles", "charge_pounds", "vat_pounds", "cost_alone_pounds", "cost_in_plan_pounds", "earliest_date",
    "window", "method", "charge_reason",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class Priced:
    """One door of a list: its quote, or None where no road leads."""

    name: str
    door: Place
    quote: Quote | None


def quotes_for(
    desk: QuoteDesk, doors: Sequence[tuple[str, Place]], roads_to: RoadsTo, *, car: Car, method: Method = Method.ANY
) -> Iterator[Priced]:
    """Yield the quote of each (name, door), in order; the car stands at the compound nearest to the door."""
    named = [
        (name, replace(door, place_id=PlaceId(f"list {number}"))) for number, (name, door) in enumerate(doors)
    ]
    if not named:
        return
    roads = roads_to(desk.day, [door for _, door in named])
    for start in range(0, len(named), BATCH):
        batch, part = named[start : start + BATCH], _part(roads, len(desk.day.places), start, start + BATCH)
        yield from _quoted(desk.with_doors([door for _, door in batch], part), desk.day, batch, part, car, method)


def _part(roads: Roads, size: int, first: int, last: int) -> Roads:
    """Return the roads of some of the doors; ``size`` is how many places stand before the doors."""
    strips = {
        kind: RoadStrip(
            out={
                name: np.hstack((array[first:last, :size], array[first:last, size + first : size + last]))
                for name, array in strip.out.items()
            },
            back={name: array[:, first:last] for name, array in strip.back.items()},
        )
        for kind, strip in roads.strips.items()
    }
    return Roads(strips=strips, charges=roads.charges)


def _quoted(
    desk: QuoteDesk, day: Day, batch: Sequence[tuple[str, Place]], roads: Roads, car: Car, method: Method
) -> Iterator[Priced]:
    for number, (name, door) in enumerate(batch):
        origin = nearest_compound(day, roads, number)
        asked = Asked(reference=str(door.place_id), door=door, car=car, origin=origin, method=method)
        try:
            yield Priced(name=name, door=door, quote=desk.ask(asked, in_short=True))
        except NoWayThere:
            yield Priced(name=name, door=door, quote=None)


def nearest_compound(day: Day, roads: Roads, number: int = 0) -> PlaceId:
    """Return the open compound from which the way to a door of the strips is shortest; any when no road leads."""
    back = roads.strips[VehicleClass.CAR].back["metres"][:, number]
    open_ = [compound.place_id for compound in day.compounds if compound.window is not None] or list(day.compound_of)
    reached = [place for place in open_ if back[day.place_index[place]] >= 0] or open_
    return min(reached, key=lambda place: int(back[day.place_index[place]]))


def row_of(priced: Priced, day: Day) -> Mapping[str, str]:
    """Return one row of a price list, by heading; "" for what is not known."""
    quote = priced.quote
    if quote is None:
        return row_without_price(priced.name, "no road leads there")
    place = quote.promised
    return {
        "postcode": priced.name,
        "from": day.place_of[quote.asked.origin].name,
        "miles": f"{miles(quote.distance_m):.1f}",
        "charge_pounds": _pounds(quote.charge.charge_pence),
        "vat_pounds": _pounds(quote.charge.vat_pence if quote.charge.charge_pence is not None else None),
        "cost_alone_pounds": _pounds(quote.cost_alone_pence),
        "cost_in_plan_pounds": _pounds(quote.cost_in_plan_pence),
        "earliest_date": place.day.isoformat() if place else "",
        "window": f"{wall_text(place.window.opens_min)}-{wall_text(place.window.closes_min)}" if place else "",
        "method": "" if quote.kind is None else "driven" if quote.kind is RunKind.PLATE else "carried",
        "charge_reason": quote.charge.says,
    }


def row_without_price(name: str, reason: str) -> Mapping[str, str]:
    """Return the row of a door that has no price, by heading."""
    return dict.fromkeys(HEADINGS, "") | {"postcode": name, "charge_reason": reason}


def _pounds(pence: int | None) -> str:
    return "" if pence is None else f"{pence / 100:.2f}"
