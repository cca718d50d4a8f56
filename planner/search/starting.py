"""Starting columns: every move left behind, every move that a hired carrier would take, and every task done alone."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import Move
from planner.runs.run import Run
from planner.search.columns import Column
from planner.search.rig import Rig
from planner.search.truth import Truth
from planner.units import miles


def staying(move: Move) -> Column:
    """Return the column of a move that is left behind."""
    return Column(pence=float(move.stays_behind_pence), moves=(move.move_id,))


def starting_columns(day: Day) -> Iterator[Column]:
    """Yield the columns that need no search; a hired carrier takes no pinned move and no delivery with a part-exchange."""
    for move in day.moves:
        yield staying(move)
    if not day.policy.hired_carriers:
        return
    table = day.tables.get(VehicleClass.CAR)
    for carrier in day.carriers:
        for move in day.moves:
            is_pinned = move.pinned_driver is not None or move.pinned_transporter is not None
            is_tied = move.tied_to is not None or move.move_id in day.part_exchange_of
            if is_pinned or table is None or is_tied or move.kind not in carrier.kinds:
                continue
            metres = int(table.metres[day.place_index[move.origin], day.place_index[move.destination]])
            fits = move.may_be_carried and move.car.mass_kg <= carrier.max_mass_kg and 0 <= miles(metres) <= carrier.max_miles
            if fits and metres >= 0:
                pence = max(float(carrier.minimum_pence), carrier.base_pence + carrier.pence_per_mile * miles(metres))
                yield Column(pence=pence - 0.5, moves=(move.move_id,), carrier=carrier.carrier_id)


def alone_columns(rigs: Sequence[Rig], truth: Truth) -> Iterator[Column]:
    """Yield each task of each rig done alone at its true price, by the crew that asks least, where that is legal."""
    for number, rig in enumerate(rigs):
        option = min(range(len(rig.options)), key=lambda rank: rig.options[rank].fixed_pence)
        tasks = len(rig.tasks)
        for place, task in enumerate(rig.tasks):
            hubs = [int(hub[place]) + tasks for hub in (rig.from_hub, rig.to_hub) if hub[place] >= 0]
            first = hubs[:1] if rig.from_hub[place] >= 0 else []
            column = Column(
                pence=0.0, moves=task.moves, classes=rig.options[option].classes, transporter_type=rig.transporter_type,
                plate_base=rig.plate_base, rig=number, option=option, places=(*first, place, *hubs[len(first) :]),
            )  # fmt: skip
            run = truth.of(column)
            if isinstance(run, Run):
                yield replace(column, pence=float(run.cost_pence))
