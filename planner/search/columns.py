"""Columns: candidate runs as the master problem sees them: what they serve, whom they use, what they cost."""

from dataclasses import dataclass

from planner.model.crews import CarrierId
from planner.model.moves import MoveId
from planner.search.pricing import Found
from planner.search.rig import Rig


@dataclass(frozen=True, kw_only=True, slots=True)
class Column:
    """
    One candidate run, or one move left behind (no classes, no carrier).

    ``moves`` names a move twice where an ng-cycle serves it twice: such a column helps the bound only.
    """

    pence: float
    moves: tuple[MoveId, ...]
    classes: tuple[int, ...] = ()
    transporter_type: int = -1
    plate_base: str | None = None
    carrier: CarrierId | None = None
    rig: int = -1
    option: int = -1
    places: tuple[int, ...] = ()

    @property
    def is_elementary(self) -> bool:
        """Whether no move is served twice."""
        return len(set(self.moves)) == len(self.moves)

    @property
    def key(self) -> tuple[object, ...]:
        """What makes it the same candidate as another."""
        return (self.rig, self.classes, self.places, self.carrier, self.moves if self.rig < 0 else ())


def column_of(rig: Rig, found: Found) -> Column:
    """Return a run found by pricing as a column at its floor price."""
    moves = tuple(move for place in found.places if place < len(rig.tasks) for move in rig.tasks[place].moves)
    return Column(
        pence=found.floor_pence, moves=moves, classes=rig.options[found.option].classes, transporter_type=rig.transporter_type,
        plate_base=rig.plate_base, rig=found.rig, option=found.option, places=found.places,
    )  # fmt: skip
