"""The file of open quotes beside a plan, read and written under one lock so that no place is promised twice."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

from cli.atomic import write_whole
from planner.faults import BadDocument, PlannerError

if TYPE_CHECKING:
    from planner.desk.quote_held import HeldQuotes

NAME = "quotes.json"


class DamagedQuotes(PlannerError):
    """A file of quotes that cannot be read."""

    def __init__(self, path: Path, says: str) -> None:
        self.path = path
        super().__init__(f"{path}: {says} Move it away to start without open quotes; what was promised is then not held.")


def read_held(path: Path) -> "HeldQuotes":
    """
    Return the quotes of a file, none when there is no file.

    Raises
    ------
    DamagedQuotes
        If the file cannot be read.

    """
    from planner.desk.quote_held import HeldQuotes, from_document

    try:
        return from_document(json.loads(path.read_text(encoding="utf-8")))
    except FileNotFoundError:
        return HeldQuotes()
    except BadDocument as fault:
        raise DamagedQuotes(path, str(fault)) from fault
    except (OSError, ValueError) as fault:
        raise DamagedQuotes(path, "the quotes cannot be read.") from fault


def write_held(path: Path, quotes: "HeldQuotes") -> None:
    """Put the quotes in place of the file's, whole or not at all."""
    from planner.desk.quote_held import to_document

    write_whole(path, json.dumps(to_document(quotes), ensure_ascii=False, separators=(",", ":")))


class UnknownQuote(PlannerError):
    """A reference under which no quote was given."""

    def __init__(self, reference: str, path: Path) -> None:
        self.reference = reference
        super().__init__(f"No quote {reference!r} in {path}. Look at the reference again, or ask anew.")
