"""The folder that ``homeleg plan`` writes: its plan read back, with the stamp that every page made from it carries."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from planner.model.day import Day
    from planner.runs.plan import Plan
    from planner.sheets.stamp import Stamp


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadPlan:
    """A plan read from its folder, with the stamp that its pages carry."""

    day: "Day"
    plan: "Plan"
    stamp: "Stamp"
    made_at: "datetime"


def read_folder(folder: Path) -> ReadPlan:
    """
    Return the plan that ``homeleg plan`` wrote into a folder; the time on its pages is that of the file.

    Raises
    ------
    UnreadablePlan
        If the folder has no plan.json, or none that can be read.

    """
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from cli.plan_file import read_plan

    path = folder / "plan.json"
    read = read_plan(path)
    made_at = datetime.fromtimestamp(path.stat().st_mtime, ZoneInfo(read.day.clock.zone))
    return ReadPlan(day=read.day, plan=read.plan, stamp=stamp_of(path.read_bytes(), made_at), made_at=made_at)


def stamp_of(content: bytes, made_at: "datetime") -> "Stamp":
    """Return the stamp of a plan: the first letters of its document's SHA-256 and the local time at which it was made."""
    from hashlib import sha256

    from planner.sheets.stamp import Stamp

    return Stamp(version=sha256(content).hexdigest()[:8], made_at=f"{made_at:%a %d %b %Y %H:%M}")
