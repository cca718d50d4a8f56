"""
The board: one day on one page, for the router; a single HTML file that asks the network for nothing.

The map is drawn elsewhere and comes in as :class:`MapParts`; without one the page has no map.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from planner.model.day import Day
from planner.model.orders import Order
from planner.runs.plan import Plan
from planner.runs.promises import promises
from planner.runs.run import CostLine, Run
from planner.runs.shift import duty_min
from planner.sheets.decisions import decisions
from planner.sheets.map_parts import MapParts
from planner.sheets.plain_text import crew_name, place_text, plate, short_name, vehicle_name, window_text
from planner.sheets.rule_names import rule_name
from planner.sheets.run_sheet import RunSheet, can_be_tight, run_sheet
from planner.sheets.run_style import RunStyle, run_style
from planner.sheets.stamp import Stamp
from planner.sheets.story import delivery_of, move_of, run_of, shares, story
from planner.sheets.time_line import PATTERNS, Scale, axis_svg, scale_of, time_line_svg
from planner.sheets.words import Words, words
from planner.units import hours_text, miles, pounds_text


@dataclass(frozen=True, kw_only=True, slots=True)
class BoardRun:
    """One run as the board shows it."""

    run_id: str
    kind: str
    crew: str
    vehicle: str
    start: str
    end: str
    duty: str
    span: str  # when it is on duty; what kind of run where nobody of ours is
    miles: int
    num_cars: int
    cost: str
    pence: int
    left: str  # the tightest limit and what is left of it
    left_short: str  # only what is left
    is_tight: bool
    style: RunStyle
    line: str  # SVG
    is_changed: bool
    sheet: RunSheet
    costs: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class BoardOrder:
    """One order as the board shows it; ``state`` is placed, late or held."""

    ref: str
    plate: str
    car: str
    buyer: str
    place: str
    promise: str
    planned: str
    state: str
    run: str
    visit: int
    cost: str
    charged: str
    story: tuple[str, ...]
    was: str | None  # by whom and when in the version before; blank: not done there; None: the same


@dataclass(frozen=True, kw_only=True, slots=True)
class Figures:
    """The few numbers at the top."""

    kept: int
    promised: int
    cost: str
    money: str
    behind: str
    bound: str
    gap: str
    covers: str
    charged: str
    num_runs: int
    miles: str


def board_page(
    day: Day, plan: Plan, map_parts: MapParts | None = None, *, stamp: Stamp | None = None, changes: Sequence[str] = (),
    was: Mapping[str, str] | None = None,
) -> str:  # fmt: skip
    """
    Return the whole page.

    ``changes`` are sentences on what differs from the version before, shown at the top.  ``was`` says of each move that is done
    otherwise how it was to be done, blank where it is new; its order and its run are marked.
    """
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    scale = scale_of(plan.runs)
    was = was or {}
    runs = tuple(_run(day, plan, run, number, scale, was) for number, run in enumerate(plan.runs))
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.globals.update(w=words(), raw=Markup)
    content: dict[str, Any] = {
        "day": f"{day.clock.day:%A %d %B %Y}",
        "retailer": day.policy.retailer,
        "colour": day.policy.colour,
        "figures": figures(day, plan),
        "changes": tuple(changes),
        "decisions": decisions(day, plan),
        "runs": runs,
        "orders": tuple(_order(day, plan, order, was) for order in (*day.held, *day.orders)),
        "costs": cost_table(plan),
        "axis": axis_svg(day, scale),
        "patterns": PATTERNS,
        "map": map_parts,
        "style": _text("board.css"),
        "behaviour": _text("board.js"),
        "stamp": stamp or Stamp(),
        "found_by": plan.found_by,
        "seconds": plan.seconds,
    }
    return environment.from_string(_text("board.html.j2")).render(content)


@cache
def _text(name: str) -> str:
    return files(__package__).joinpath("templates", name).read_text(encoding="utf-8")


def figures(day: Day, plan: Plan) -> Figures:
    """Return the numbers at the top."""
    placed = {move for run in plan.runs for move in run.itinerary.moves}
    told = promises(day, plan)
    charged = [order.charge_pence for order in day.orders if (m := delivery_of(day, order)) is not None and m.move_id in placed]
    w = words()
    return Figures(
        kept=told.kept, promised=told.made, cost=pounds_text(plan.cost_pence), money=pounds_text(plan.runs_pence),
        behind=pounds_text(plan.cost_pence - plan.runs_pence),
        bound=w("board.no_bound") if plan.bound is None else pounds_text(plan.bound.pence),
        gap=w("board.no_gap") if plan.gap is None else f"{plan.gap:.2%}",
        covers="" if plan.bound is None else "; ".join((plan.bound.covers, *plan.bound.relaxed)),
        charged=pounds_text(sum(pence or 0 for pence in charged)),
        num_runs=len(plan.runs), miles=f"{round(miles(sum(run.metres for run in plan.runs))):,}",
    )  # fmt: skip


def cost_table(plan: Plan) -> tuple[tuple[str, str, str], ...]:
    """Return what the runs cost by kind of cost, dearest first: kind, pounds, share of the runs' cost."""
    sums, w = dict[str, int](), words()
    for run in plan.runs:
        for line in run.costs:
            kind = cost_kind(line, w)
            sums[kind] = sums.get(kind, 0) + line.pence
    total = sum(sums.values()) or 1
    dearest = sorted(sums.items(), key=lambda item: -item[1])
    return tuple((kind, pounds_text(pence), f"{pence / total:.0%}") for kind, pence in dearest if pence)


def cost_kind(line: CostLine, w: Words) -> str:
    """Return why money is spent, in a word or two."""
    return w(f"cost_kind.{line.kind.name.lower()}")


def _run(day: Day, plan: Plan, run: Run, number: int, scale: Scale, was: Mapping[str, str]) -> BoardRun:
    sheet, style, w = run_sheet(day, plan, run, with_qr=False), run_style(number), words()
    tightest = min(
        (c for c in run.counters if not c.is_count and can_be_tight(c)), key=lambda counter: counter.slack, default=None
    )
    tight_rows = [row for row in sheet.hours if row.is_tight]
    return BoardRun(
        run_id=run.run_id, kind=sheet.kind, crew=crew_name(day, run), vehicle=vehicle_name(day, run, w),
        start=sheet.start, end=sheet.end, duty=hours_text(duty_min(run)) if run.activities else "",
        miles=round(miles(run.metres)), num_cars=len(run.itinerary.moves), cost=pounds_text(run.cost_pence), pence=run.cost_pence,
        left="" if tightest is None else f"{rule_name(run.book, tightest.rule, w)}: {hours_text(tightest.slack)}",
        is_tight=bool(tight_rows),
        span=f"{sheet.start}-{sheet.end}" if run.activities else sheet.kind,
        left_short="" if tightest is None else hours_text(tightest.slack),
        style=style, line=time_line_svg(day, run, scale, style), sheet=sheet,
        is_changed=any(str(move) in was for move in run.itinerary.moves),
        costs=tuple((cost_kind(line, w), line.says, pounds_text(line.pence)) for line in run.costs),
    )  # fmt: skip


def _order(day: Day, plan: Plan, order: Order, was: Mapping[str, str]) -> BoardOrder:
    move = move_of(day, order)
    found = run_of(plan, move) if move is not None else None
    state = "held" if order.hold is not None else "late" if found is None else "placed"
    planned, run_id, visit, cost = "", "", 0, ""
    if found is not None and move is not None:
        run, number = found
        planned, run_id, visit = day.clock.wall(run.visits[number].start_min), run.run_id, number + 1
        cost = pounds_text(shares(day, run)[move.move_id])
    return BoardOrder(
        ref=order.ref, plate=plate(order.car.registration), car=order.car.make_model, buyer=short_name(order.buyer.name),
        place=place_text(day, order.door.place_id), promise=window_text(day, order.promise.window), planned=planned,
        state=state, run=run_id, visit=visit, cost=cost,
        charged="" if order.charge_pence is None else pounds_text(order.charge_pence),
        story=story(day, plan, order), was=None if move is None else was.get(str(move.move_id)),
    )  # fmt: skip
