"""The road form: a table in which a crew or a gate writes down what happened, one row each, all its faults told at once."""

import re
from collections.abc import Iterable, Sequence
from datetime import date

from planner.clock import DayClock
from planner.desk import intake_cells as cells
from planner.desk.day_book.happenings import Happening, happening
from planner.desk.day_book.road_events import Fault, Told
from planner.desk.intake_atlas import row_minute
from planner.desk.intake_table import Column, RawTable, read_rows
from planner.faults import Problem


def when(text: str) -> tuple[date | None, int]:
    """
    Return a date (None: the planning day) and the minutes that clocks show, of ``10:40`` or ``2026-11-27 00:20``.

    Raises
    ------
    CellFault
        If it is neither.

    """
    if re.search(r"\d[T ]+\d", text):
        return cells.moment(text)
    return None, cells.clock_time(text)


COLUMNS: tuple[Column, ...] = (
    Column(name="at", read=when, needed=True, unit="HH:MM", example="10:40",
           means="When it happened, on the planning day; with the date before it on another day."),
    Column(name="who", read=cells.name, needed=True, example="LL-20417",
           means="Order, driver, transporter, hired carrier, or number of the run."),
    Column(name="what", read=happening, needed=True, example="handed over", means=f"What happened: {', '.join(Happening)}."),
    Column(name="minutes", read=cells.whole(least=1, most=1440), unit="minutes", example="40", default_says="needed for late",
           means="By how much a crew runs late."),
    Column(name="says", read=cells.words, default="", example="will ring at four", means="What else was said; no names, please."),
)  # fmt: skip


def read_form(table: RawTable, clock: DayClock, problems: list[Problem]) -> list[tuple[int, Told]]:
    """Return the sound rows of a form with their numbers; what is wrong with the others goes to ``problems``."""
    found = []
    for row in read_rows(table, COLUMNS, problems):
        on, wall = row["at"] or (None, None)
        at_min = row_minute(row, "at", clock, on or clock.day, wall=wall) if wall is not None else None
        if row.is_sound and at_min is not None:
            told = Told(who=row["who"], what=row["what"], at_min=at_min, late_min=row["minutes"], says=row["says"])
            found.append((row.number, told))
    return found


def problems_of(file: str, rows: Sequence[tuple[int, Told]], faults: Iterable[Fault]) -> list[Problem]:
    """Return the faults of a form's rows as problems with their place."""
    found = []
    for fault in faults:
        number, told = rows[fault.number]
        value = {"who": told.who, "what": told.what.value, "minutes": str(told.late_min or "")}.get(fault.part, "")
        found.append(Problem(file=file, row=number, column=fault.part, value=value, says=fault.says, advice=fault.advice))
    return found
