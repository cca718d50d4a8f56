"""Pages of a plan put on disk: the board, and sheets compiled to PDF with the fonts that come with the project."""

from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cli.atomic import write_whole
from planner.faults import PlannerError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from planner.model.day import Day
    from planner.runs.plan import Plan
    from planner.runs.run import Run
    from planner.sheets.pack import Pack
    from planner.sheets.run_steps import LegRoads
    from planner.sheets.stamp import Stamp
    from planner.sheets.tracks import Geometry
    from planner.sheets.typst_pages import AnySheet


def pdf(sheets: "Sequence[AnySheet]", *, made_at: "datetime | None" = None) -> bytes:
    """Return the sheets as one PDF; with ``made_at`` given, the same sheets give the same bytes."""
    import typst

    from planner.sheets.typst_pages import typst_data, typst_source

    made = typst.compile(
        typst_source().encode(),
        sys_inputs={"data": typst_data(sheets)},
        font_paths=_fonts(),
        ignore_system_fonts=True,
        timestamp=None if made_at is None else int(made_at.timestamp()),
    )
    assert isinstance(made, bytes)
    return made


@cache
def _fonts() -> Any:
    import typst

    return typst.Fonts(include_system_fonts=False, font_paths=[str(files("planner.sheets").joinpath("fonts"))])


def board(
    day: "Day", plan: "Plan", *, stamp: "Stamp | None" = None, geometry: "Geometry | None" = None, changes: "Sequence[str]" = (),
    was: "Mapping[str, str] | None" = None,
) -> str:  # fmt: skip
    """Return the board with its map; every leg follows the built-in road network unless ``geometry`` says how it goes."""
    from maps.road_lines import RoadLines
    from maps.roads import built_in
    from maps.route_map import route_map
    from planner.sheets.board import board_page

    drawn = route_map(day, plan, geometry or RoadLines().geometry, roads=built_in())
    return board_page(day, plan, drawn, stamp=stamp, changes=changes, was=was)


def write_board(
    day: "Day", plan: "Plan", out: Path, *, stamp: "Stamp | None" = None, geometry: "Geometry | None" = None,
    changes: "Sequence[str]" = (), was: "Mapping[str, str] | None" = None,
) -> Path:  # fmt: skip
    """Write ``board.html`` into ``out`` and return its path."""
    return write_whole(out / "board.html", board(day, plan, stamp=stamp, geometry=geometry, changes=changes, was=was))


def write_sheets(
    day: "Day", plan: "Plan", out: Path, *, stamp: "Stamp | None" = None, crew: str | None = None, order: str | None = None,
    language: str | None = None, roads: "LegRoads | None" = None, as_html: bool = False,
) -> tuple[Path, ...]:  # fmt: skip
    """
    Write the packs of a plan into ``out/sheets``, one PDF per crew and a cover, and return their paths.

    Packs of runs that an earlier plan left there and this one does not have are removed, unless only some are written.

    ``crew`` (a run, driver or carrier) or ``order`` keeps to one of them; ``language`` adds a copy for each buyer;
    ``as_html`` writes the same sheets as a web page beside each PDF.

    Raises
    ------
    NoSuchSheet
        If the plan has no run of that crew or none that delivers that order.

    """
    from planner.sheets.cover import cover
    from planner.sheets.html_pages import html_pages

    packs = _packs(day, plan, stamp=stamp, crew=crew, order=order, language=language, roads=roads)
    told: list[tuple[str, list[AnySheet]]] = [(one.name, list(one.sheets)) for one in packs]
    if crew is None and order is None:
        told.insert(0, ("cover", [cover(day, plan, stamp=stamp)]))
    written = []
    for name, chosen in told:
        written.append(write_whole(out / "sheets" / f"{name}.pdf", pdf(chosen)))
        if as_html:
            written.append(write_whole(out / "sheets" / f"{name}.html", html_pages(chosen, title=name)))
    if crew is None and order is None:
        _drop_older(out, written, ("sheets/R[0-9]*-*.pdf", "sheets/R[0-9]*-*.html"))
    return tuple(written)


def write_files_for_others(
    day: "Day", plan: "Plan", out: Path, *, made_at: "datetime", geometry: "Geometry | None" = None, language: str = "en",
) -> tuple[Path, ...]:  # fmt: skip
    """Write routes (GPX, GeoJSON), shifts (iCalendar), messages for buyers and the table of visits; return their paths."""
    import json

    from planner.sheets.buyer_texts import texts_csv
    from planner.sheets.calendars import crew_calendar
    from planner.sheets.pack import file_name
    from planner.sheets.tracks import run_geojson, run_gpx, straight
    from planner.sheets.visits_table import visits_csv

    draw = geometry or straight
    written = [write_whole(out / "visits.csv", visits_csv(day, plan))]
    written.append(write_whole(out / "buyer_texts.csv", texts_csv(day, plan, language=language)))
    for run in plan.runs:
        name = file_name(run.run_id)
        written.append(write_whole(out / "routes" / f"{name}.gpx", run_gpx(day, run, draw)))
        written.append(
            write_whole(out / "routes" / f"{name}.geojson", json.dumps(run_geojson(day, run, draw), ensure_ascii=False))
        )
    drivers = {driver for run in plan.runs for driver in run.itinerary.drivers}
    for driver in sorted(drivers):
        calendar = crew_calendar(day, plan, driver, made_at=made_at)
        written.append(write_whole(out / "shifts" / f"{file_name(driver)}.ics", calendar))
    _drop_older(out, written, ("routes/R[0-9]*.gpx", "routes/R[0-9]*.geojson", "shifts/*.ics"))
    return tuple(written)


def _drop_older(out: Path, written: "Sequence[Path]", patterns: "Sequence[str]") -> None:
    """Remove what an earlier plan of this folder left: nobody may print or drive a run that is no more."""
    for pattern in patterns:
        for path in set(out.glob(pattern)) - set(written):
            path.unlink()


def _packs(
    day: "Day", plan: "Plan", *, stamp: "Stamp | None", crew: str | None, order: str | None, language: str | None,
    roads: "LegRoads | None",
) -> "list[Pack]":  # fmt: skip
    from planner.model.orders import OrderRef
    from planner.sheets.pack import order_pack, pack

    if order is not None:
        found = order_pack(day, plan, OrderRef(order), stamp=stamp, buyers_language=language)
        if found is None:
            raise NoSuchSheet("order", order, sorted(str(one.ref) for one in day.orders))
        return [found]
    runs = [run for run in plan.runs if crew is None or crew in _names_of(run)]
    if crew is not None and not runs:
        raise NoSuchSheet("crew", crew, sorted({name for run in plan.runs for name in _names_of(run)}))
    return [pack(day, plan, run, stamp=stamp, buyers_language=language, roads=roads) for run in runs]


def _names_of(run: "Run") -> tuple[str, ...]:
    itinerary = run.itinerary
    return tuple(str(name) for name in (run.run_id, *itinerary.drivers, itinerary.carrier) if name is not None)


class NoSuchSheet(PlannerError):
    """A crew or an order that no run of the plan has; carries what it has."""

    def __init__(self, what: str, value: str, known: list[str]) -> None:
        self.what, self.value, self.known = what, value, tuple(known)
        some = ", ".join(known[:8]) + (" ..." if len(known) > 8 else "")
        super().__init__(f"--{what} {value!r}: no run of this plan has it. It has {some or 'none'}.")
