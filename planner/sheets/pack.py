"""
A pack: every sheet of one run in the order in which the crew needs them.

First the run sheet and a transporter's load sheet, then at each visit the handover, part-exchange and return sheets of the
cars that change hands.
"""

from dataclasses import dataclass

from planner.model.day import Day
from planner.model.moves import MoveKind
from planner.model.orders import OrderRef
from planner.runs.plan import Plan
from planner.runs.run import Run, RunId, Visit
from planner.sheets.handover_sheet import HandoverSheet, deliveries_at, handover_sheet
from planner.sheets.load_sheet import LoadSheet, load_sheet
from planner.sheets.part_exchange_sheet import PartExchangeSheet, part_exchange_sheet
from planner.sheets.return_sheet import ReturnSheet, return_sheet
from planner.sheets.run_sheet import RunSheet, run_sheet
from planner.sheets.run_steps import LegRoads
from planner.sheets.stamp import Stamp

DoorSheet = HandoverSheet | PartExchangeSheet | ReturnSheet


@dataclass(frozen=True, kw_only=True, slots=True)
class Pack:
    """The sheets of one run; ``name`` is fit for a file name."""

    run_id: RunId
    name: str
    run_sheet: RunSheet | None
    door_sheets: tuple[DoorSheet, ...]
    load_sheet: LoadSheet | None = None

    @property
    def sheets(self) -> tuple[RunSheet | LoadSheet | DoorSheet, ...]:
        """Every sheet in the order in which it is needed."""
        first = tuple(sheet for sheet in (self.run_sheet, self.load_sheet) if sheet is not None)
        return (*first, *self.door_sheets)


def pack(
    day: Day, plan: Plan, run: Run, *, stamp: Stamp | None = None, roads: LegRoads | None = None,
    buyers_language: str | None = None,
) -> Pack:  # fmt: skip
    """Return the pack of one run; ``buyers_language`` adds a copy of each handover sheet in that language."""
    loaded = load_sheet(day, run, stamp=stamp)
    return Pack(
        run_id=run.run_id,
        name=file_name(f"{run.run_id}-{_crew_word(run)}"),
        run_sheet=run_sheet(day, plan, run, stamp=stamp, roads=roads, loaded=loaded),
        load_sheet=loaded if loaded is not None and loaded.stages else None,
        door_sheets=tuple(
            sheet for visit in run.visits for sheet in door_sheets(day, run, visit, stamp=stamp, buyers_language=buyers_language)
        ),
    )


def door_sheets(
    day: Day, run: Run, visit: Visit, *, stamp: Stamp | None = None, buyers_language: str | None = None,
    only: OrderRef | None = None,
) -> list[DoorSheet]:  # fmt: skip
    """Return the sheets signed in one visit, those of one order alone when ``only`` is given."""
    sheets: list[DoorSheet] = []
    for order in deliveries_at(day, visit):
        if only is not None and order.ref != only:
            continue
        sheets.append(handover_sheet(day, order, run, visit, stamp=stamp))
        if buyers_language is not None:
            sheets.append(handover_sheet(day, order, run, visit, stamp=stamp, language=buyers_language))
    for move_id in visit.takes:
        move = day.move_of[move_id]
        if only is not None and move.order != only:
            continue
        if move.kind is MoveKind.PART_EXCHANGE and move.order in day.order_of:
            sheets.append(part_exchange_sheet(day, day.order_of[move.order], run, visit, stamp=stamp))
        elif move.kind is MoveKind.RETURN:
            sheets.append(return_sheet(day, move, run, visit, stamp=stamp))
    return sheets


def order_pack(
    day: Day, plan: Plan, order: OrderRef, *, stamp: Stamp | None = None, buyers_language: str | None = None,
) -> Pack | None:  # fmt: skip
    """Return only what is signed for one order, None when no run delivers it."""
    for run in plan.runs:
        found = [
            sheet
            for visit in run.visits
            for sheet in door_sheets(day, run, visit, stamp=stamp, only=order, buyers_language=buyers_language)
        ]
        if found:
            return Pack(run_id=run.run_id, name=file_name(str(order)), run_sheet=None, door_sheets=tuple(found))
    return None


def file_name(text: str) -> str:
    """
    Return ``text`` with nothing in it that a file system might refuse.

    >>> file_name("R1-Zoë / 2")
    'R1-Zo----2'
    """
    return "".join(letter if letter.isascii() and (letter.isalnum() or letter in "-_") else "-" for letter in text)


def _crew_word(run: Run) -> str:
    return str(run.itinerary.driver or run.itinerary.carrier or "")
