"""
Rig making: from a day to the rigs that can run it, in the order of its transporters and drivers.

Figures that decide legality here are floors of the law: driving and work limits, and the least break time owed for the
driving and the work of a whole day, so that no legal run is missed; every run that enters a plan is timed exactly.
"""

from collections.abc import Sequence

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.search.crew_classes import DriverClass, TransporterType
from planner.search.plate_crews import PlateCrews
from planner.search.plate_rigs import plate_rigs
from planner.search.rig import Rig
from planner.search.transporter_rigs import transporter_rigs


def rigs_of(
    day: Day, classes: Sequence[DriverClass], types: Sequence[TransporterType], *, doing: MoveId | None = None,
    crews: PlateCrews | None = None,
) -> tuple[Rig, ...]:  # fmt: skip
    """
    Return every rig of the day that has a crew and a task, or only those that may be ``doing`` one move.

    ``crews`` are the plate crews of these classes, where they are known already.
    """
    made = [*transporter_rigs(day, classes, types, doing), *plate_rigs(day, classes, doing, crews)]
    return tuple(rig for rig in made if rig.tasks and rig.options and rig.last_min > rig.earliest)
