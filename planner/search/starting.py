"""Starting columns: every move left behind, and every move that a hired carrier would take."""

from collections.abc import Iterator

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import Move
from planner.search.columns import Column
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
