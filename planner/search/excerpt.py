"""Excerpt: some moves and crews of a day as a day of its own, with tables of only the places they need."""

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.travel import ARRAYS


def excerpt(day: Day, moves: Collection[MoveId]) -> Day:
    """Return the day with these moves alone; crews stay, places and tables shrink to what moves and crews touch."""
    kept = tuple(move for move in day.moves if move.move_id in moves)
    needed = {end for move in kept for end in (move.origin, move.destination)}
    needed |= {compound.place_id for compound in day.compounds}
    needed |= {place for driver in day.drivers for place in (driver.base, driver.starts_at)}
    needed |= {transporter.base for transporter in day.transporters}
    rows = [row for row, place in enumerate(day.places) if place.place_id in needed]
    cell = np.ix_(rows, rows)
    tables = {
        kind: replace(table, **{name: getattr(table, name)[cell] for name in ARRAYS}) for kind, table in day.tables.items()
    }
    return replace(
        day, moves=kept, places=tuple(day.places[row] for row in rows), tables=tables,
        rides=replace(day.rides, minutes=day.rides.minutes[cell], fare_pence=day.rides.fare_pence[cell]),
    )  # fmt: skip
