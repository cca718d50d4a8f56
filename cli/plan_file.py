"""Plan files: a ``plan.json`` read back from disk, or one sentence that says why it cannot be."""

import json
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.faults import PlannerError

if TYPE_CHECKING:
    from planner.runs.plan_document import PlanFile

MOST_SHOWN = 20


def _misfits(document: dict[str, Any]) -> list[str]:
    from planner.runs.misfits import misfits
    from planner.runs.schema import plan_schema

    return list(islice(misfits(document, plan_schema()), MOST_SHOWN + 1))


class UnreadablePlan(PlannerError):
    """A file that holds no plan; the sentence names it and what to do."""

    def __init__(self, path: Path, says: str) -> None:
        self.path = path
        super().__init__(f"{path}: {says}")


def read_plan(path: Path, *, is_as_written: bool = False) -> "PlanFile":
    """
    Return the plan, its day and the document as the file holds them.

    A file that ``is_as_written`` by homeleg to the byte is not held against the published schema.

    Raises
    ------
    UnreadablePlan
        If the file is missing, damaged, no JSON, of another version, or holds what no plan holds.

    """
    from planner.runs.plan_document import SCHEMA_VERSION, plan_from_document

    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise UnreadablePlan(path, "there is no such file. Give the plan.json that 'homeleg plan' wrote.") from None
    except IsADirectoryError:
        raise UnreadablePlan(path, f"this is a folder. Give the file in it, {path / 'plan.json'}.") from None
    except UnicodeDecodeError:
        raise UnreadablePlan(path, "this is no text, so no plan. Give the plan.json that 'homeleg plan' wrote.") from None
    except OSError as fault:
        raise UnreadablePlan(path, f"the file cannot be read ({fault.strerror}).") from fault
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as fault:
        where = f" at line {fault.lineno}" if isinstance(fault, json.JSONDecodeError) else ""
        raise UnreadablePlan(path, f"the file is damaged{where}: it is not JSON. Make it anew with 'homeleg plan'.") from None
    if not isinstance(document, dict):
        raise UnreadablePlan(path, "the file is JSON but no plan. Give the plan.json that 'homeleg plan' wrote.")
    version = document.get("schema_version")
    if version != SCHEMA_VERSION:
        says = f"schema_version is {version!r}; this homeleg reads {SCHEMA_VERSION}. Make it anew with 'homeleg plan'."
        raise UnreadablePlan(path, says)
    if not is_as_written and (wrong := _misfits(document)):
        more = " There is more like it." if len(wrong) > MOST_SHOWN else ""
        raise UnreadablePlan(path, f"the file is damaged. {' '.join(wrong[:MOST_SHOWN])}{more}")
    try:
        return plan_from_document(document)
    except OverflowError:
        raise UnreadablePlan(path, "the file is damaged: it holds a time that no plan has.") from None
    except PlannerError as fault:
        raise UnreadablePlan(path, str(fault)) from fault
