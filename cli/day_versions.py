"""Published versions put on disk: the plan as it was kept, the board with what changed, and the sheets."""

from pathlib import Path
from typing import TYPE_CHECKING

from cli.atomic import write_whole
from planner.faults import PlannerError

if TYPE_CHECKING:
    from cli.day_desk import Desk
    from planner.desk.day_book.versions import Version
    from planner.runs.plan_document import PlanFile


class NoVersion(PlannerError):
    """A version of a day that was never published, or published before plans were kept."""

    def __init__(self, on: str, number: int, known: list[int]) -> None:
        some = ", ".join(map(str, known)) or "none"
        super().__init__(f"{on} has no version {number} that can be shown. It has {some}.")


def version_asked(desk: "Desk", number: int | None) -> "Version":
    """
    Return a version of the day, the newest when no number is given.

    Raises
    ------
    NoVersion
        If there is none of that number.

    """
    from planner.desk.day_book.versions import versions

    with desk.book.reading() as reader:
        known = versions(reader, desk.on)
    wanted = number if number is not None else max(known, default=1)
    if wanted not in known:
        raise NoVersion(desk.on, wanted, sorted(known))
    return known[wanted]


def plan_kept(desk: "Desk", version: "Version") -> "tuple[bytes, PlanFile]":
    """
    Return the file and the plan of a version.

    Raises
    ------
    NoVersion
        If it was not kept.

    """
    from planner.desk.day_book.documents import kept_plan, plan_bytes

    with desk.book.reading() as reader:
        raw, plan = plan_bytes(reader, version.sha), kept_plan(reader, version.sha)
    if raw is None or plan is None:
        raise NoVersion(desk.on, version.number, [])
    return raw, plan


def changes_told(desk: "Desk", version: "Version", kept: "PlanFile") -> tuple[tuple[str, ...], dict[str, str]]:
    """Return in words what a version changed against the one before, and how each changed move was to be done."""
    from planner.desk.day_book.documents import kept_plan
    from planner.desk.day_book.versions import versions
    from planner.desk.plan_changes import in_words, plan_changes, was_before

    with desk.book.reading() as reader:
        before = versions(reader, desk.on).get(version.number - 1)
        old = kept_plan(reader, before.sha) if before else None
    if old is None:
        return (), {}
    changes = plan_changes(old.day, old.plan, kept.day, kept.plan)
    return tuple(in_words(kept.day, changes)), was_before(old.day, changes)


def write_version(desk: "Desk", version: "Version", out: Path, *, every_sheet: bool = False) -> tuple[str, ...]:
    """
    Write a version's plan, its board and its sheets (those that are new in it, or every one); return what it changed.

    Once the sheets of the newest version are written the book says so, and nobody has to finish them.
    """
    from cli.commands.sheets import named
    from cli.pages import write_board, write_sheets
    from cli.plan_files import runs_csv
    from maps.road_lines import RoadLines
    from planner.desk.day_book.versions import sheets_written
    from planner.sheets.stamp import Stamp

    raw, kept = plan_kept(desk, version)
    (told, was), lines = changes_told(desk, version, kept), RoadLines()
    stamp = Stamp(version=f"v{version.number} {version.sha[:8]}", made_at=f"{desk.now:%a %d %b %Y %H:%M}")
    write_whole(out / "plan.json", raw)
    write_whole(out / "runs.csv", runs_csv(kept.day, kept.plan))
    write_board(kept.day, kept.plan, out, stamp=stamp, geometry=lines.geometry, changes=told, was=was)
    for run in [str(one.run_id) for one in kept.plan.runs] if every_sheet else version.new_sheets:
        write_sheets(kept.day, kept.plan, out, stamp=stamp, crew=run, roads=named(kept.day, lines))
    with desk.book.change(actor=desk.actor, at=desk.now) as change:
        if (change.value("version", desk.on) or {}).get("number") == version.number:
            sheets_written(change, desk.on, version.number)
    return told
