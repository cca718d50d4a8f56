"""
Every way to say no: problems for the office to mend, exceptions for the rest.

A :class:`Problem` is a value; many are gathered and shown at once.  An exception of the :class:`PlannerError` family
owns its sentence and keeps the facts as attributes.  Every sentence says where, what, the value, and what to do.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time


@dataclass(frozen=True, kw_only=True, slots=True)
class Problem:
    """Something in the office's files that must be put right before the day can be planned."""

    file: str
    says: str
    row: int | None = None  # as a spreadsheet counts: the heading is row 1
    column: str = ""
    value: str = ""
    advice: str = ""

    def __str__(self) -> str:
        place = self.file + (f", row {self.row}" if self.row is not None else "")
        place += f", {self.column}" if self.column else ""
        shown = f" ({self.value!r})" if self.value else ""
        return " ".join(part for part in (f"{place}: {self.says}{shown}.", self.advice) if part)


class PlannerError(Exception):
    """Base of everything the planner refuses; ``exit_code`` 1 means your data, 3 means our fault."""

    exit_code = 1


class BadFiles(PlannerError):
    """The files of a day cannot be planned; carries every problem found."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class SkippedTime(PlannerError):
    """A local time that does not exist because the clocks go forward over it."""

    def __init__(self, day: date, wall: time) -> None:
        self.day, self.wall = day, wall
        super().__init__(f"{wall:%H:%M} does not exist on {day:%d %B %Y}: the clocks go forward. Give a time after it.")


class UnknownPlace(PlannerError):
    """A text that is no place we know; carries what it might have meant."""

    def __init__(self, text: str, suggestions: tuple[str, ...] = (), *, reason: str = "is not a place we know") -> None:
        self.text, self.suggestions = text, suggestions
        meant = f" Did you mean {' or '.join(suggestions)}?" if suggestions else " Check the postcode, or give lat,lng."
        super().__init__(f"{text!r} {reason}.{meant}")


class ByArrangement(PlannerError):
    """A place that is real but outside the roads of Great Britain."""

    def __init__(self, text: str, where: str) -> None:
        self.text, self.where = text, where
        super().__init__(f"{text!r} is in {where}: delivery there is by arrangement. Ring the transport office.")


class NoRoad(PlannerError):
    """Two places between which no road or ferry of the network leads for that vehicle."""

    def __init__(self, origin: str, destination: str, reason: str) -> None:
        self.origin, self.destination, self.reason = origin, destination, reason
        super().__init__(f"No way from {origin} to {destination}: {reason}.")


class NoRate(PlannerError):
    """A price or wage that is not in force on the day it is needed."""

    def __init__(self, what: str, day: date) -> None:
        self.what, self.day = what, day
        super().__init__(f"rates.toml: no {what} is in force on {day:%d %B %Y}. Add a row that starts on or before it.")


class BadDocument(PlannerError):
    """A saved plan or day that cannot be read back; ``where`` is the path of names inside it."""

    def __init__(self, where: str, says: str) -> None:
        self.where, self.says = where, says
        super().__init__(f"{where or 'The document'}: {says}. Make the file again from its day folder.")
