"""What needs a decision today, most pressing first: held orders, promises not kept, tight hours, old prices, notes."""

from dataclasses import dataclass
from enum import StrEnum

from planner.model.day import Day
from planner.model.moves import MoveKind
from planner.model.travel import Charge, ChargeKind
from planner.runs.next_morning import next_mornings
from planner.runs.plan import NotPlaced, Plan
from planner.runs.run import Run
from planner.sheets.plain_text import car_text, crew_name, place_text, short_name
from planner.sheets.run_sheet import can_be_tight, hours_row
from planner.sheets.words import Words, words
from planner.units import MINUTES_A_DAY


class Pressing(StrEnum):
    """Kinds of decisions, in the order in which they stand on the board."""

    HELD = "held"
    NOT_KEPT = "not_kept"
    TIGHT = "tight"
    PRICE = "price"
    NOTE = "note"


@dataclass(frozen=True, kw_only=True, slots=True)
class Decision:
    """One thing somebody has to decide or do; ``order`` and ``run`` lead to the rest of the board, empty when none."""

    kind: Pressing
    title: str
    to_do: str
    who: str = ""
    by: str = ""
    order: str = ""
    run: str = ""


def decisions(day: Day, plan: Plan) -> tuple[Decision, ...]:
    """Return every decision of a plan, most pressing first; held orders by the hour at which it is too late."""
    w = words()
    hours = (*_mornings(day, plan, w), *_tight(day, plan, w))
    return (*_held(day, w), *_not_kept(day, plan, w), *hours, *_prices(day, plan, w), *_notes(day, w))


def _held(day: Day, w: Words) -> list[Decision]:
    holds = sorted(((order, order.hold) for order in day.held if order.hold is not None), key=lambda pair: pair[1].cut_off_min)
    return [
        Decision(
            kind=Pressing.HELD, title=w("decision.held", order=order.ref, gate=w(f"gate.{hold.gate}"), car=car_text(order.car)),
            to_do=hold.to_do, who=hold.owner, by=day.clock.wall(hold.cut_off_min), order=order.ref,
        )
        for order, hold in holds
    ]  # fmt: skip


def _not_kept(day: Day, plan: Plan, w: Words) -> list[Decision]:
    alone = [left for left in plan.not_placed if day.move_of[left.move].tied_to is None]  # the rest goes with its delivery
    dearest = sorted(alone, key=lambda left: (-left.pence, left.move))
    return [
        Decision(
            kind=Pressing.NOT_KEPT, title=_left_title(day, left, w), to_do=left.reason, order=day.move_of[left.move].order or ""
        )
        for left in dearest
    ]


def _left_title(day: Day, left: NotPlaced, w: Words) -> str:
    move = day.move_of[left.move]
    order = day.order_of.get(move.order) if move.order is not None else None
    is_transfer = move.kind is MoveKind.TRANSFER  # whoever it is fetched from is not where it goes
    where = place_text(day, move.destination) if order is None or is_transfer else short_name(order.buyer.name)
    return w(f"decision.left_{move.kind.name.lower()}", order=move.order or move.move_id, car=car_text(move.car), where=where)


def _tight(day: Day, plan: Plan, w: Words) -> list[Decision]:
    """Return one decision for each run whose hours are tight, naming every limit that is; the tightest run first."""
    found = []
    for run in sorted(plan.runs, key=_least_left):
        rows = [hours_row(counter, run.book, w) for counter in run.counters if not counter.is_count]
        says = "; ".join(w("decision.tight_left", rule=row.rule, left=row.left, limit=row.limit) for row in rows if row.is_tight)
        if says:
            title = w("decision.tight", crew=crew_name(day, run), run=run.run_id)
            found.append(Decision(kind=Pressing.TIGHT, title=title, to_do=w("decision.tight_to_do", says=says), run=run.run_id))
    return found


def _least_left(run: Run) -> int:
    """Return the minutes left of the limit that binds a run most, a whole day where none does."""
    return min((c.slack for c in run.counters if can_be_tight(c) and not c.is_count), default=MINUTES_A_DAY)


def _mornings(day: Day, plan: Plan, w: Words) -> list[Decision]:
    """Return one decision for each driver whose usual start tomorrow would break the rest after this run."""
    return [
        Decision(
            kind=Pressing.TIGHT,
            title=w("decision.morning", crew=morning.driver.name, run=run.run_id),
            to_do=w(
                "decision.morning_to_do",
                says=morning.breach.says,
                name=morning.driver.name,
                at=day.clock.wall(morning.allowed.earliest_min),
            ),
            run=run.run_id,
        )
        for run in plan.runs
        for morning in next_mornings(day, run)
        if morning.breach is not None
    ]


def _prices(day: Day, plan: Plan, w: Words) -> list[Decision]:
    used = {key for run in plan.runs for visit in run.visits for key in visit.charges}
    return [
        Decision(
            kind=Pressing.PRICE,
            title=w("decision.price", name=charge.name),
            to_do=_look_up(charge, w),
        )
        for charge in day.charges
        if charge.key in used and charge.review_after is not None and charge.review_after < day.clock.day
    ]


def _look_up(charge: Charge, w: Words) -> str:
    """Say what to do about a price past its review; a ferry without bands has none, a zone without them is free for these."""
    if charge.kind is ChargeKind.FERRY and not charge.bands:
        return w("decision.no_price")
    return w("decision.price_to_do", day=f"{charge.review_after:%d %B %Y}")


def _notes(day: Day, w: Words) -> list[Decision]:
    return [Decision(kind=Pressing.NOTE, title=w("decision.note"), to_do=note) for note in day.notes]
