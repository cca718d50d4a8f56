"""Starting columns: every move left behind, every move that a hired carrier would take, and every task done alone."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import Move
from planner.runs.run import Run, RunKind
from planner.search.columns import Column
from planner.search.rig import Option, Rig
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


def alone_columns(rigs: Sequence[Rig], truth: Truth) -> list[Column]:
    """
    Return each task of each rig done alone at its true price, where that is legal; bar those that no transporter can do so.

    What a transporter does beside a task only takes minutes, driving and room, so it does no task in company that it could
    not do alone.  On plates that does not follow: a car driven there may be quicker than the train.  Rigs that stay out are
    passed over: a night out takes a hundred times as long to time.
    """
    found = []
    for number, rig in enumerate(rigs):
        if rig.stays_out:
            continue
        options = _options_to_try(rig)
        for place in range(len(rig.tasks)):
            ways = (_alone(rig, number, option, place) for option in options)
            legal = next(((way, run) for way in ways if isinstance(run := truth.of(way), Run)), None)
            if legal is not None:
                found.append(replace(legal[0], pence=float(legal[1].cost_pence)))
            elif rig.kind is RunKind.TRANSPORTER:
                rig.bar(place)
    return found


def _alone(rig: Rig, number: int, option: int, place: int) -> Column:
    """Return one task of a rig as a column, by way of the hubs that its cars come from and go to."""
    tasks = len(rig.tasks)
    before, after = ([int(hub[place]) + tasks] if hub[place] >= 0 else [] for hub in (rig.from_hub, rig.to_hub))
    return Column(
        pence=0.0, moves=rig.tasks[place].moves, classes=rig.options[option].classes, transporter_type=rig.transporter_type,
        plate_base=rig.plate_base, rig=number, option=option, places=(*before, place, *after),
    )  # fmt: skip


def _options_to_try(rig: Rig) -> list[int]:
    """Return the options of which none can do all that another can, those that ask least first."""
    able = [_able(option) for option in rig.options]
    kept: list[int] = []
    for rank in sorted(range(len(able)), key=lambda rank: (-int(able[rank].sum()), rig.options[rank].fixed_pence)):
        if not any((able[other] >= able[rank]).all() for other in kept):
            kept.append(rank)
    return sorted(kept, key=lambda rank: rig.options[rank].fixed_pence)


def _able(option: Option) -> npt.NDArray[np.int64]:
    """Return what a crew has, the more the better: minutes at both ends of the day, and limits."""
    return np.array([
        -option.from_min, -option.from_min - option.before_min, option.home_min, option.home_min - option.after_min,
        -option.before_min, -option.after_min, option.drive_limit, option.work_limit, option.span_limit,
    ])  # fmt: skip
