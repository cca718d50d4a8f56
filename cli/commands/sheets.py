"""``homeleg sheets``: the paper of a plan, and its files for other tools."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from maps.road_lines import RoadLines
    from planner.model.day import Day
    from planner.sheets.run_steps import LegRoads


def sheets(
    folder: Annotated[Path, typer.Argument(help="Folder that 'homeleg plan' wrote, with its plan.json.", metavar="DIR")],
    crew: Annotated[str | None, typer.Option(help="Only this run, driver or carrier.")] = None,
    order: Annotated[str | None, typer.Option(help="Only what is signed for this order.")] = None,
    language: Annotated[str | None, typer.Option(help="Add a buyer's copy in this language, such as cy.")] = None,
    out: Annotated[Path | None, typer.Option(help="Write here; into DIR when not given.")] = None,
    web: Annotated[bool, typer.Option(help="Write each pack as a web page too.")] = True,
) -> None:
    """Write run sheets, handover sheets and the files for other tools: routes, shifts, messages for buyers."""
    from cli.pages import write_files_for_others, write_sheets
    from cli.plan_folder import read_folder
    from maps.road_lines import RoadLines

    if language is not None:
        _known(language)
    read, lines = read_folder(folder), RoadLines()
    target = out or folder
    written = write_sheets(
        read.day,
        read.plan,
        target,
        stamp=read.stamp,
        crew=crew,
        order=order,
        language=language,
        as_html=web,
        roads=named(read.day, lines),
    )
    if crew is None and order is None:
        written += write_files_for_others(
            read.day, read.plan, target, made_at=read.made_at, geometry=lines.geometry, language=language or "en"
        )
    print(f"{len(written)} files in {target}, plan {read.stamp.version}:")
    for kind in dict.fromkeys(path.suffix for path in written):
        names = [path.relative_to(target) for path in written if path.suffix == kind]
        print(f"  {len(names):3} x {kind[1:]:8} {names[0]}{' ...' if len(names) > 1 else ''}")
    print("Hours, weights and heights on them are a planning aid: the tachograph, the transport manager and the law decide.")


def _known(language: str) -> None:
    from planner.sheets.words import languages

    if language not in languages():
        raise typer.BadParameter(f"{language!r} has no catalogue of words. There are: {', '.join(languages())}.")


def named(day: "Day", lines: "RoadLines") -> "LegRoads":
    """Return what names the roads of a leg between two places of the day."""
    return lambda origin, destination, vehicle_class: lines.names(day.place_of[origin], day.place_of[destination], vehicle_class)
