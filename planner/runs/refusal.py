"""A refusal: why an itinerary cannot be run, in words a router can act on."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Refusal:
    """The first rule that stands in the way; ``short_by_min`` where minutes would mend it."""

    rule: str
    says: str
    short_by_min: int | None = None
