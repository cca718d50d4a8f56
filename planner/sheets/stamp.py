"""The stamp: which plan a page was made from and when, so that an old sheet is recognised."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Stamp:
    """``version`` is short enough to be compared by eye; ``made_at`` is local time as printed; both may be empty."""

    version: str = ""
    made_at: str = ""
