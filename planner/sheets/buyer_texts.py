"""Text messages for buyers, from the template in the catalogue of words; they are written to a file, nothing is sent."""

from dataclasses import dataclass

from planner.model.day import Day
from planner.model.moves import MoveKind
from planner.runs.plan import Plan
from planner.runs.run import RunKind
from planner.sheets.plain_text import plate, short_name, window_text
from planner.sheets.words import words


@dataclass(frozen=True, kw_only=True, slots=True)
class BuyerText:
    """One message: to whom, where to, and what it says."""

    order: str
    name: str
    phone: str
    says: str


def buyer_texts(day: Day, plan: Plan, *, language: str = "en") -> tuple[BuyerText, ...]:
    """Return a message for each order that a run delivers, by the hour of its visit."""
    w = words(language)
    found = []
    for run in plan.runs:
        for visit in run.visits:
            for move in (day.move_of[move_id] for move_id in visit.leaves):
                if move.kind is not MoveKind.DELIVERY or move.order not in day.order_of:
                    continue
                order = day.order_of[move.order]
                carried = run.kind is not RunKind.PLATE
                parts = [
                    w("message.coming", name=short_name(order.buyer.name), retailer=day.policy.retailer, car=order.car.make_model,
                      plate=plate(order.car.registration), day=f"{day.clock.day:%A %d %B}", window=window_text(day, order.promise.window)),
                    w("message.about", time=day.clock.wall(visit.start_min)),
                    w("message.carried") if carried else "",
                    w("message.part_exchange", plate=plate(order.part_exchange.registration)) if order.part_exchange else "",
                    w("message.bring"),
                    w("message.ring", desk=day.policy.phone) if day.policy.phone else "",
                ]  # fmt: skip
                text = " ".join(part for part in parts if part)
                found.append(
                    (visit.start_min, BuyerText(order=order.ref, name=order.buyer.name, phone=order.buyer.phone, says=text))
                )
    return tuple(text for _, text in sorted(found, key=lambda pair: (pair[0], pair[1].order)))
