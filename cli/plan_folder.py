"""The folder that ``homeleg plan`` writes: its plan read back, with the stamp that every page made from it carries."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from planner.faults import PlannerError

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


class NoPlan(PlannerError):
    """A folder without a plan."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        super().__init__(f"{folder}: there is no plan.json in it. Make one with 'homeleg plan DAY --out {folder}'.")


def read_plan(folder: Path) -> ReadPlan:
    """
    Return the plan that ``homeleg plan`` wrote into a folder; the time on its pages is that of the file.

    Raises
    ------
    NoPlan
        If the folder has no plan.json.
    BadPlanFile
        If it cannot be read.

    """
    import json
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from planner.runs.plan_document import BadPlanFile, plan_from_document

    path = folder / "plan.json"
    if not path.is_file():
        raise NoPlan(folder)
    content = path.read_bytes()
    try:
        document = json.loads(content)
    except ValueError as fault:
        raise BadPlanFile(f"{path} is not JSON ({fault}).") from fault
    read = plan_from_document(document)
    made_at = datetime.fromtimestamp(path.stat().st_mtime, ZoneInfo(read.day.clock.zone))
    return ReadPlan(day=read.day, plan=read.plan, stamp=stamp_of(content, made_at), made_at=made_at)


def stamp_of(content: bytes, made_at: "datetime") -> "Stamp":
    """Return the stamp of a plan: the first letters of its document's SHA-256 and the local time at which it was made."""
    from hashlib import sha256

    from planner.sheets.stamp import Stamp

    return Stamp(version=sha256(content).hexdigest()[:8], made_at=f"{made_at:%a %d %b %Y %H:%M}")
