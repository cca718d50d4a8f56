"""Versions: the published plans of a day by number, and whether the sheets of the newest are on paper."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from planner.desk.day_book.change import Change
from planner.desk.day_book.reader import Reader


@dataclass(frozen=True, kw_only=True, slots=True)
class Version:
    """A published plan: its number, the runs whose sheets are new, crews that have no sheet any more, and what moved."""

    number: int
    sha: str  # of its plan.json
    new_sheets: tuple[str, ...]
    gone_sheets: tuple[str, ...]
    moved_orders: tuple[str, ...]


def version_of(value: Mapping[str, Any]) -> Version:
    """Return a version as the book keeps it."""
    return Version(
        number=int(value["number"]), sha=str(value["sha"]), new_sheets=tuple(value.get("new_sheets", value.get("crews", ()))),
        gone_sheets=tuple(value.get("gone_sheets", ())), moved_orders=tuple(value.get("moved_orders", ())),
    )  # fmt: skip


def versions(reader: Reader, on: str) -> dict[int, Version]:
    """Return every version of a day's plan that was published, by number."""
    found = [version_of(event.after) for event in reader.events(topic=on) if event.thing == "version" and event.after]
    return {version.number: version for version in found}


def sheets_written(change: Change, on: str, number: int) -> None:
    """Record that the sheets of a version are on paper, so that nobody has to finish them."""
    change.put("sheets written", "sheets", on, {"version": number}, topic=on, day=on)


def unfinished(reader: Reader, on: str) -> Version | None:
    """Return the newest version of a day when its sheets were never said to be written, else None."""
    last, written = reader.value("version", on), reader.value("sheets", on)
    return None if last is None or (written or {}).get("version") == last["number"] else version_of(last)
