"""
The handover sheet: what driver and buyer check and sign for one delivered car, as data ready to print.

It holds only what that visit needs (facts: data on driver sheets; UK GDPR art. 5(1)(c)): no price, no e-mail address,
no other buyer.
"""

from dataclasses import dataclass
from datetime import timedelta

from planner.model.cars import Car, Fuel
from planner.model.day import Day
from planner.model.moves import MoveKind
from planner.model.orders import Gate, Order
from planner.runs.run import Run, RunKind, Visit
from planner.sheets.cautions import Caution, RunFacts, cautions
from planner.sheets.plain_text import address_lines, car_text, crew_name, plate, short_name, window_text
from planner.sheets.stamp import Stamp
from planner.sheets.words import Words, words

CANCEL_DAYS = 14  # Consumer Contracts Regulations 2013, reg. 30(3): days after the day on which the buyer gets the car
SHOWN_BY_WORD = "shown.by_word."  # what follows is a word of the equipment list


@dataclass(frozen=True, kw_only=True, slots=True)
class Tick:
    """One line with a box; ``done`` boxes were ticked by the office before the sheet was printed."""

    says: str
    done: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetHead:
    """What stands at the top of every sheet that is signed at a door: which car, who, where, when, by whom."""

    title: str
    order: str
    date: str
    plate: str
    car: str
    identity: tuple[tuple[str, str], ...]  # label and value; an empty value is a line to write on
    who: str
    phone: str
    address: tuple[str, ...]
    planned: str
    window: str
    crew: str
    run_id: str
    access: str
    retailer: str
    desk_phone: str
    stamp: Stamp


@dataclass(frozen=True, kw_only=True, slots=True)
class HandoverSheet:
    """Everything on the handover sheet of one car; words of the page itself come from the catalogue of ``language``."""

    head: SheetHead
    gates: tuple[Tick, ...]
    before_leaving: tuple[str, ...]
    on_arrival: tuple[str, ...]
    energy: str  # "Fuel" or "Charge"
    documents: tuple[str, ...]
    equipment: tuple[str, ...]
    known: str  # marks and faults that are known
    functions: tuple[str, ...]
    contactless: tuple[str, ...]
    refused: tuple[str, ...]
    cancel: str
    part_exchange: str
    cautions: tuple[Caution, ...]
    language: str


def handover_sheet(
    day: Day, order: Order, run: Run, visit: Visit, *, stamp: Stamp | None = None, language: str = "en",
) -> HandoverSheet:  # fmt: skip
    """Return the sheet of one delivered car, in ``language`` where the catalogue has it."""
    w = words(language)
    carried = run.kind is not RunKind.PLATE
    return HandoverSheet(
        head=sheet_head(day, order.car, run, visit, title=w("handover.title"), order=order, stamp=stamp, w=w),
        gates=tuple(Tick(says=w(f"gate.{gate}"), done=order.gates.get(gate, True)) for gate in Gate if _applies(gate, order)),
        before_leaving=w.many("handover.before_carried" if carried else "handover.before_driven"),
        on_arrival=w.many("handover.on_arrival_carried" if carried else "handover.on_arrival_driven"),
        energy=w("handover.charge" if order.car.fuel is Fuel.ELECTRIC else "handover.fuel"),
        documents=w.many("handover.documents"),
        equipment=order.car.equipment,
        known=order.car.condition,
        functions=functions_shown(order.car, w),
        contactless=w.many("handover.contactless"),
        refused=w.many("handover.refused", desk=day.policy.phone or w("desk.unknown")),
        cancel=cancel_text(day, w),
        part_exchange=w("handover.part_exchange", car=car_text(order.part_exchange)) if order.part_exchange else "",
        cautions=cautions(door_facts(order.car)),
        language=language,
    )


def sheet_head(
    day: Day, car: Car, run: Run, visit: Visit, *, title: str, order: Order | None, stamp: Stamp | None, w: Words,
) -> SheetHead:  # fmt: skip
    """Return the head of a sheet for one car at one visit."""
    identity = [(w("identity.vin"), car.vin), (w("identity.fuel"), w(f"fuel.{car.fuel}"))]
    if car.mileage is not None:
        identity.append((w("identity.mileage"), f"{car.mileage:,}"))
    return SheetHead(
        title=title,
        order=order.ref if order is not None else "",
        date=f"{day.clock.day:%d.%m.%Y}" if w.language != "en" else f"{day.clock.day:%A %d %B %Y}",
        plate=plate(car.registration),
        car=car.make_model,
        identity=tuple(identity),
        who=short_name(order.buyer.name) if order is not None else "",
        phone=order.buyer.phone if order is not None else "",
        address=address_lines(day, visit.place, order),
        planned=day.clock.wall(visit.start_min) if run.activities else "",  # a hired carrier plans its own hours
        window=window_text(day, visit.window),
        crew=crew_name(day, run),
        run_id=run.run_id,
        access=order.access_notes.strip() if order is not None else "",
        retailer=day.policy.retailer,
        desk_phone=day.policy.phone,
        stamp=stamp or Stamp(),
    )


def deliveries_at(day: Day, visit: Visit) -> tuple[Order, ...]:
    """Return the orders whose car is left in a visit."""
    moves = [day.move_of[move] for move in visit.leaves]
    return tuple(
        day.order_of[m.order] for m in moves if m.kind is MoveKind.DELIVERY and m.order is not None and m.order in day.order_of
    )


def door_facts(car: Car) -> RunFacts:
    """Return the cautions' facts about one car at a door."""
    not_driven = "" if car.may_be_driven else plate(car.registration)
    return RunFacts(not_to_be_driven=not_driven, high_voltage=plate(car.registration) if car.fuel.is_high_voltage else "")


def functions_shown(car: Car, w: Words) -> tuple[str, ...]:
    """Return what the buyer is shown: always the basics, then what the words of the equipment list ask for."""
    text = " ".join((*car.equipment, str(car.fuel))).lower()
    asked = (key for key in w if key.startswith(SHOWN_BY_WORD) and key.removeprefix(SHOWN_BY_WORD) in text)
    return (*w.many("shown.always"), *(w(key) for key in asked))


def cancel_text(day: Day, w: Words) -> str:
    """Return the right to cancel with its last day, counted from a handover on the planning day."""
    last = day.clock.day + timedelta(days=CANCEL_DAYS)
    shown = f"{last:%d.%m.%Y}" if w.language != "en" else f"{last:%A %d %B %Y}"
    return w("handover.cancel", last=shown, desk=day.policy.phone or w("desk.unknown"), retailer=day.policy.retailer)


def _applies(gate: Gate, order: Order) -> bool:
    return gate is not Gate.PART_EXCHANGE or order.part_exchange is not None
