"""The part-exchange sheet: what is checked before the buyer's old car is taken, and what to do when it differs."""

from dataclasses import dataclass, replace

from planner.model.day import Day
from planner.model.orders import Gate, Order
from planner.runs.run import Run, Visit
from planner.sheets.cautions import Caution, cautions
from planner.sheets.handover_sheet import SheetHead, Tick, door_facts, sheet_head
from planner.sheets.stamp import Stamp
from planner.sheets.words import words


@dataclass(frozen=True, kw_only=True, slots=True)
class PartExchangeSheet:
    """Everything on the sheet of one part-exchange."""

    head: SheetHead
    appraisal: tuple[tuple[str, str], ...]  # label and appraised value, to be compared with what is found
    identity: tuple[str, ...]
    documents: tuple[str, ...]
    condition: tuple[str, ...]
    differs: tuple[str, ...]
    settled: tuple[Tick, ...]
    belongings: tuple[str, ...]
    keeper: str
    cautions: tuple[Caution, ...]
    language: str


def part_exchange_sheet(
    day: Day, order: Order, run: Run, visit: Visit, *, stamp: Stamp | None = None, language: str = "en",
) -> PartExchangeSheet:  # fmt: skip
    """Return the sheet of an order's part-exchange; ValueError for an order without one."""
    car = order.part_exchange
    if car is None:
        raise ValueError(f"Expected an order with a part-exchange, got {order.ref} without.")
    w = words(language)
    passed = order.gates.get(Gate.PART_EXCHANGE, True)
    return PartExchangeSheet(
        head=sheet_head(day, car, run, visit, title=w("px.title"), order=order, stamp=stamp, w=w),
        appraisal=(
            (w("px.mileage"), "" if car.mileage is None else f"{car.mileage:,}"),
            (w("px.keys"), w("px.keys_promised")),
            (w("px.lights"), w("px.lights_none" if car.may_be_driven else "px.lights_unfit")),
            (w("px.marks"), car.condition),
        ),
        identity=w.many("px.identity"),
        documents=w.many("px.documents"),
        condition=w.many("px.condition"),
        differs=w.many("px.differs", desk=day.policy.phone or w("desk.unknown")),
        settled=tuple(Tick(says=says, done=passed) for says in w.many("px.settled")),
        belongings=w.many("px.belongings"),
        keeper=w("px.keeper"),
        cautions=cautions(replace(door_facts(car), takes_a_part_exchange=True)),
        language=language,
    )
