"""The files of a plan: plan.json, runs.csv, the board and the sheets, each written whole."""

import csv
import io
import json
from pathlib import Path
from typing import TYPE_CHECKING

from cli.atomic import write_whole

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from planner.model.day import Day
    from planner.runs.plan import Plan


def write_plan(
    day: "Day", plan: "Plan", out: Path, *, made_at: "datetime", sheets: bool = True, changes: "Sequence[str]" = (),
    was: "Mapping[str, str] | None" = None,
) -> list[Path]:  # fmt: skip
    """Write what a plan yields into ``out``, each page stamped with the plan's version; return the paths, the board first."""
    from cli.commands.sheets import named
    from cli.pages import write_board, write_files_for_others, write_sheets
    from cli.plan_folder import stamp_of
    from maps.road_lines import RoadLines
    from planner.runs.plan_document import plan_to_document

    document = (json.dumps(plan_to_document(day, plan), indent=1, ensure_ascii=False) + "\n").encode()
    stamp, lines = stamp_of(document, made_at), RoadLines()
    written = [
        write_board(day, plan, out, stamp=stamp, geometry=lines.geometry, changes=changes, was=was),
        write_whole(out / "plan.json", document),
        write_whole(out / "runs.csv", runs_csv(day, plan)),
    ]
    if sheets:
        written += write_sheets(day, plan, out, stamp=stamp, roads=named(day, lines))
        written += write_files_for_others(day, plan, out, made_at=made_at, geometry=lines.geometry)
    return written


RUN_COLUMNS = ("run", "kind", "driver", "transporter", "carrier", "start", "end", "order", "move", "car", "what", "from", "to",
               "handover", "window_opens", "window_closes", "run_miles", "run_cost_pounds")  # fmt: skip


def runs_csv(day: "Day", plan: "Plan") -> str:
    """Return one row a move with its run, as a spreadsheet reads it; a hired carrier's hours are its own, so blank."""
    from planner.units import miles

    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(RUN_COLUMNS)
    clock = day.clock
    for run in plan.runs:
        itinerary = run.itinerary
        ends = {move: visit for visit in run.visits for move in visit.leaves}
        for name in itinerary.moves:
            move, visit = day.move_of[name], ends[name]
            window, is_timed = visit.window, bool(run.activities)
            rows.writerow((
                run.run_id, run.kind, itinerary.driver or "", itinerary.transporter or "", itinerary.carrier or "",
                clock.iso(run.start_min) if is_timed else "", clock.iso(run.end_min) if is_timed else "",
                move.order or "", name, move.car.registration, move.kind,
                day.place_of[move.origin].name, day.place_of[move.destination].name,
                clock.iso(visit.start_min) if is_timed else "",
                clock.iso(window.opens_min) if window else "", clock.iso(window.closes_min) if window else "",
                f"{miles(run.metres):.1f}", f"{run.cost_pence / 100:.2f}",
            ))  # fmt: skip
    return text.getvalue()
