"""Text messages for buyers, from the template in the catalogue of words; they are written to a file, nothing is sent."""

import csv
import io
from dataclasses import dataclass

from planner.model.day import Day
from planner.model.orders import Order
from planner.runs.plan import Plan
from planner.runs.run import Run, RunKind, Visit
from planner.sheets.handover_sheet import deliveries_at
from planner.sheets.plain_text import plate, short_name
from planner.sheets.visits_table import harmless
from planner.sheets.words import Words, words


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
            found += [(visit.start_min, _text(day, order, run, visit, w)) for order in deliveries_at(day, visit)]
    return tuple(text for _, text in sorted(found, key=lambda pair: (pair[0], pair[1].order)))


def texts_csv(day: Day, plan: Plan, *, language: str = "en") -> str:
    """Return the messages as CSV (RFC 4180) for whoever sends them; telephone numbers stay text."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(("order", "name", "phone", "text"))
    for text in buyer_texts(day, plan, language=language):
        writer.writerow([harmless(cell) for cell in (text.order, text.name, text.phone, text.says)])
    return out.getvalue()


def _text(day: Day, order: Order, run: Run, visit: Visit, w: Words) -> BuyerText:
    wall = day.clock.wall
    coming = w(
        "message.coming", name=short_name(order.buyer.name), retailer=day.policy.retailer, car=order.car.make_model,
        plate=plate(order.car.registration), day=f"{day.clock.day:%A %d %B}",
        opens=wall(order.promise.window.opens_min), closes=wall(order.promise.window.closes_min),
    )  # fmt: skip
    parts = (
        coming,
        w("message.about", time=day.clock.wall(visit.start_min)) if run.activities else "",  # a hired carrier plans its own hours
        "" if run.kind is RunKind.PLATE else w("message.carried"),
        w("message.part_exchange", plate=plate(order.part_exchange.registration)) if order.part_exchange else "",
        w("message.bring"),
        w("message.ring", desk=day.policy.phone) if day.policy.phone else "",
    )
    says = " ".join(part for part in parts if part)
    return BuyerText(order=order.ref, name=short_name(order.buyer.name), phone=order.buyer.phone, says=says)
