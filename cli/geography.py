"""Joins a day folder to the maps: postcodes become places, places become travel tables."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.model.day import Day


def open_day(folder: Path, *, on: date | None = None) -> "Day":
    """Return the day that a folder describes; raises :class:`planner.faults.BadFiles` with every fault."""
    from cli.day_folder import load_day
    from maps.gazetteer import locate
    from maps.travel_sources import source

    return load_day(folder, locate=locate, tables=source(), on=on)
