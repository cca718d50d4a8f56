"""The runs as a table for a spreadsheet: one row for each visit, one heading for each column, plain values."""

import csv
import io

from planner.model.day import Day
from planner.runs.plan import Plan
from planner.runs.run import Run, Visit
from planner.sheets.plain_text import crew_name, place_name, vehicle_name
from planner.sheets.words import words
from planner.units import miles, pounds_text

COLUMNS = (
    *("run", "kind", "crew", "vehicle", "visit", "place", "postcode", "arrive", "start", "end", "window_opens", "window_closes"),
    *("leaves", "takes", "orders", "leg_miles", "leg_minutes", "leg_by", "charges", "run_cost"),
)


def visits_csv(day: Day, plan: Plan) -> str:
    """
    Return the table as CSV (RFC 4180): comma, quotes where needed, CRLF; times are ISO 8601 with offset, those of a hired carrier
    and the minutes of its way blank, for they are its own.

    Cells that a spreadsheet would take for a formula get an apostrophe before them.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for run in plan.runs:
        for number, visit in enumerate(run.visits, start=1):
            writer.writerow([harmless(cell) for cell in _row(day, run, visit, number)])
    return out.getvalue()


def harmless(cell: object) -> str:
    """
    Return a cell that no spreadsheet takes for a formula.

    >>> harmless("=1+1"), harmless("-3.5"), harmless("AB12CDE")
    ("'=1+1", '-3.5', 'AB12CDE')
    """
    text = str(cell)
    is_number = text.lstrip("-").replace(".", "", 1).isdigit()
    return f"'{text}" if text[:1] in tuple("=+-@\t\r") and not is_number else text


def _row(day: Day, run: Run, visit: Visit, number: int) -> tuple[object, ...]:
    iso, marks = day.clock.iso, {move: day.move_of[move].car.registration for move in (*visit.leaves, *visit.takes)}
    is_timed = bool(run.activities)
    times = tuple(iso(minute) if is_timed else "" for minute in (visit.arrive_min, visit.start_min, visit.end_min))
    orders = dict.fromkeys(day.move_of[move].order for move in (*visit.leaves, *visit.takes))
    return (
        run.run_id, str(run.kind), crew_name(day, run), vehicle_name(day, run, words()), number,
        place_name(day, visit.place),
        day.place_of[visit.place].postcode, *times,
        iso(visit.window.opens_min) if visit.window else "", iso(visit.window.closes_min) if visit.window else "",
        " ".join(marks[move] for move in visit.leaves), " ".join(marks[move] for move in visit.takes),
        " ".join(str(order) for order in orders if order is not None), f"{miles(visit.leg_metres):.1f}",
        visit.leg_min if is_timed else "",
        visit.leg_by,
        " ".join(visit.charges), pounds_text(run.cost_pence).replace("£", "").replace(",", "") if number == 1 else "",
    )  # fmt: skip
