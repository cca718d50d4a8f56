"""The words of the hours clock: what a driver may be doing, and what a breach of a rule says."""

from dataclasses import dataclass
from enum import StrEnum


class Doing(StrEnum):
    """
    What a driver is doing; drive, other work, break, rest and available are the law's own words.

    ``LIGHT`` is driving a goods vehicle up to 3.5 t on a day under the rules for heavier ones.  ``FERRY`` and ``CABIN`` are
    rest on board with a bunk or couchette, or in a sleeper cabin; ``EMBARK`` interrupts such a rest to drive on or off.
    """

    DRIVE = "drive"
    LIGHT = "light"
    OTHER = "other"
    RIDE = "ride"
    AVAILABLE = "available"
    BREAK = "break"
    REST = "rest"
    FERRY = "ferry"
    CABIN = "cabin"
    EMBARK = "embark"

    @property
    def is_rest(self) -> bool:
        """Whether it is part of a rest."""
        return self in (Doing.REST, Doing.FERRY, Doing.CABIN)

    @property
    def is_work(self) -> bool:
        """Whether it counts as working time."""
        return self in (Doing.DRIVE, Doing.LIGHT, Doing.OTHER, Doing.RIDE, Doing.EMBARK)


@dataclass(frozen=True, kw_only=True, slots=True)
class Breach:
    """
    A rule that is broken: its limit, the value reached (minutes, or a count), where it stands.

    ``at_min`` is the last minute of the clock that was still legal.
    """

    rule: str
    says: str
    limit: int
    value: int
    source: str
    at_min: int
