"""Refusals of the day book: one class a cause, each a plain sentence with its remedy; nothing recorded is ever lost by one."""

from collections.abc import Sequence
from datetime import datetime

from planner.clock import office_time
from planner.faults import PlannerError


class BookDamaged(PlannerError):
    """The database is there but cannot be read, or its events do not follow from one another."""

    def __init__(self, where: str, says: str = "the day book is damaged") -> None:
        self.where = where
        super().__init__(
            f"{where}: {says}. Copy the file away before anything else, then bring back the last backup with "
            "'homeleg day restore'; nothing has been written."
        )


class BookFull(PlannerError):
    """There is no room left to write."""

    def __init__(self, where: str) -> None:
        self.where = where
        super().__init__(
            f"{where}: the disk is full. Nothing of this was written; every earlier entry is safe. "
            "Make room and try again."
        )


class BookUnwritable(PlannerError):
    """The place of the day book cannot be reached or written."""

    def __init__(self, where: str, why: str) -> None:
        self.where = where
        super().__init__(f"{where}: the day book cannot be opened or written ({why}). Check that it is there and yours.")


class BookBusy(PlannerError):
    """Somebody else has held the book for too long."""

    def __init__(self, where: str) -> None:
        self.where = where
        super().__init__(f"{where}: somebody else is writing and has not finished. Nothing was changed; try again in a moment.")


class NoBook(PlannerError):
    """A book that should be there is not."""

    def __init__(self, where: str) -> None:
        self.where = where
        super().__init__(f"{where}: there is no day book here. Begin one with 'homeleg day open FOLDER', or give --book.")


class NewerBook(PlannerError):
    """The book was written by a later program."""

    def __init__(self, where: str, revision: str) -> None:
        self.where, self.revision = where, revision
        super().__init__(
            f"{where}: this day book has the form {revision!r}, which a newer homeleg made. "
            "Update this program; nothing was touched."
        )


class BookRefuses(PlannerError):
    """The database itself refused to change what was recorded."""

    def __init__(self, where: str) -> None:
        self.where = where
        super().__init__(f"{where}: events are only ever added, never changed or deleted. Record a new one that puts it right.")


class StaleView(PlannerError):
    """A change made on a view that is out of date; carries what was changed since, as sentences."""

    def __init__(self, topic: str, since: Sequence[str]) -> None:
        self.topic, self.since = topic, tuple(since)
        told = "\n".join(f"  {line}" for line in self.since)
        super().__init__(
            f"{topic} has been changed since you looked, so your change was not made. Since then:\n{told}\n"
            "Look again with 'homeleg day show' and repeat it if it still holds."
        )


class ClockWentBack(PlannerError):
    """The time given is before that of the last entry."""

    def __init__(self, at: datetime, last: datetime) -> None:
        self.at, self.last = at, last
        super().__init__(
            f"The clock says {office_time(at):%H:%M:%S on %d %B %Y}, but the last entry of the book is of "
            f"{office_time(last):%H:%M:%S on %d %B %Y}. "
            "Nothing was recorded. Set the clock right and try again; if the earlier entries were made with a wrong clock, "
            "say so with 'homeleg day clock-was-wrong' and go on."
        )


class NotSo(PlannerError):
    """A change that does not fit what the book knows; the sentence says what is so and what to do."""


class BadBackup(PlannerError):
    """A backup that cannot be brought back."""

    def __init__(self, where: str, says: str) -> None:
        self.where = where
        super().__init__(f"{where}: {says}. Take another backup; nothing was changed.")
