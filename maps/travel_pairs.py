"""Many pairs at once: a table of from and to, each row given its metres and seconds, and every bad row named together."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from maps.gazetteer import locate
from maps.travel import check_on_land
from maps.travel_sources import source
from planner.faults import BadFiles, NoRoad, PlannerError, Problem
from planner.model.crews import VehicleClass
from planner.model.places import Place

#: So many distinct places go into one table at a time, to bound memory.
PLACES_AT_ONCE = 1500


@dataclass(frozen=True, kw_only=True, slots=True)
class Leg:
    """Metres and seconds from one place to another."""

    metres: int
    seconds: int


def legs(
    rows: Sequence[tuple[str, str]], vehicle_class: VehicleClass, *, file: str, day: date, numbers: Sequence[int] = ()
) -> tuple[Leg, ...]:
    """
    Return a leg for each row of ``from`` and ``to``, by the roads or the routing server in use.

    ``numbers`` are the rows' own in the file, from 2 on when not given.

    Raises
    ------
    BadFiles
        With every row that names no place, or two that no road joins; rows count as a spreadsheet does.

    """
    problems: list[Problem] = []
    places: dict[str, Place] = {}
    numbers = numbers or range(2, len(rows) + 2)
    for number, row in zip(numbers, rows, strict=True):
        for column, text in zip(("from", "to"), row, strict=True):
            try:
                if text not in places:
                    place = locate(text)
                    check_on_land((place,))
                    places[text] = place
            except PlannerError as fault:
                problems.append(Problem(file=file, row=number, column=column, says=str(fault).rstrip(".")))
    if problems:
        raise BadFiles(problems)
    found = _found(rows, places, vehicle_class, day)
    for number, row, leg in zip(numbers, rows, found, strict=True):
        if leg.metres < 0:
            says = str(NoRoad(row[0], row[1], f"no road or ferry joins them for a {vehicle_class.value}")).rstrip(".")
            problems.append(Problem(file=file, row=number, says=says))
    if problems:
        raise BadFiles(problems)
    return found


def _found(rows: Sequence[tuple[str, str]], places: dict[str, Place], vehicle_class: VehicleClass, day: date) -> tuple[Leg, ...]:
    """Return the legs in groups of rows that share few places, so that no table grows too large."""
    found: list[Leg | None] = [None] * len(rows)
    group: list[int] = []
    index: dict[str, int] = {}

    def flush() -> None:
        tables, _ = source()([places[text] for text in index], [vehicle_class], day=day)
        table = tables[vehicle_class]
        for at in group:
            cell = index[rows[at][0]], index[rows[at][1]]
            found[at] = Leg(metres=int(table.metres[cell]), seconds=int(table.seconds[cell]))
        group.clear()
        index.clear()

    for at, row in enumerate(rows):
        for text in row:
            index.setdefault(text, len(index))
        group.append(at)
        if len(index) >= PLACES_AT_ONCE:
            flush()
    if group:
        flush()
    return tuple(leg for leg in found if leg is not None)
