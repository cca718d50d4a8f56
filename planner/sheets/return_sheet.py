"""The return sheet: what is checked and signed when a rejected or cancelled car is fetched back."""

from dataclasses import dataclass, replace

from planner.model.day import Day
from planner.model.moves import Move
from planner.runs.run import Run, Visit
from planner.sheets.cautions import Caution, cautions
from planner.sheets.handover_sheet import SheetHead, door_facts, sheet_head
from planner.sheets.stamp import Stamp
from planner.sheets.words import words


@dataclass(frozen=True, kw_only=True, slots=True)
class ReturnSheet:
    """Everything on the sheet of one returned car."""

    head: SheetHead
    known: str  # marks and faults that are known
    reason: tuple[str, ...]  # boxes: cancelled, rejected, other
    checks: tuple[str, ...]
    documents: tuple[str, ...]
    agreed: tuple[str, ...]
    refused: tuple[str, ...]
    note: str
    cautions: tuple[Caution, ...]
    language: str


def return_sheet(
    day: Day, move: Move, run: Run, visit: Visit, *, stamp: Stamp | None = None, language: str = "en"
) -> ReturnSheet:
    """Return the sheet of one returned car; the order stands on it when the day knows it."""
    w = words(language)
    order = day.order_of.get(move.order) if move.order is not None else None
    return ReturnSheet(
        head=sheet_head(day, move.car, run, visit, title=w("return.title"), order=order, stamp=stamp, w=w),
        known=move.car.condition,
        reason=w.many("return.reason"),
        checks=w.many("return.checks"),
        documents=w.many("return.documents"),
        agreed=w.many("return.agreed"),
        refused=w.many("return.refused", desk=day.policy.phone or w("desk.unknown")),
        note=w("return.note"),
        cautions=cautions(replace(door_facts(move.car), fetches_a_return=True)),
        language=language,
    )
