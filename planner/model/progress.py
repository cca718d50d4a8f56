"""
Progress: what is known of a day while it runs: who has got how far, which moves ended otherwise, who is out.

Times are minutes of the planning day.  A run is named as in its plan (``run_id``); a run without an entry has not begun.
"""

from dataclasses import dataclass, field
from enum import StrEnum

from planner.model.crews import DriverId, TransporterId
from planner.model.moves import MoveId
from planner.model.places import PlaceId


class MoveEnd(StrEnum):
    """How a move ended that was not done as planned."""

    CANCELLED = "cancelled"
    REFUSED = "refused"
    NOBODY_HOME = "nobody home"
    FAILED_CHECK = "failed its check"
    NOT_AS_DESCRIBED = "part-exchange not as described"


@dataclass(frozen=True, kw_only=True, slots=True)
class MoveOutcome:
    """A move that will not be done as planned today."""

    move: MoveId
    end: MoveEnd


@dataclass(frozen=True, kw_only=True, slots=True)
class VisitDone:
    """One visit of a run as it really was; ``left_min`` is None while the crew is still there."""

    arrived_min: int
    left_min: int | None = None

    def __post_init__(self) -> None:
        if self.left_min is not None and self.left_min < self.arrived_min:
            raise ValueError(f"Expected left_min >= arrived_min, got {self.left_min} and {self.arrived_min}.")


@dataclass(frozen=True, kw_only=True, slots=True)
class Stopped:
    """A crew that cannot go on (its vehicle broke down, its driver fell ill); ``place`` None: where it was last."""

    at_min: int
    says: str
    place: PlaceId | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class RunProgress:
    """
    How far one run has got.

    ``visits`` are the first visits of the run, one entry each.  ``is_under_way``: the crew has left the last of them (or
    its base) for the next.  ``late_min``: how much longer than planned the next leg takes.  ``off_duty_min``: the crew is home.
    """

    run: str
    began_min: int
    visits: tuple[VisitDone, ...] = ()
    is_under_way: bool = False
    late_min: int = 0
    stopped: Stopped | None = None
    off_duty_min: int | None = None

    def __post_init__(self) -> None:
        minutes = [self.began_min]
        for number, visit in enumerate(self.visits):
            minutes.append(visit.arrived_min)
            if visit.left_min is not None:
                minutes.append(visit.left_min)
            elif number + 1 < len(self.visits) or self.is_under_way or self.off_duty_min is not None:
                raise ValueError(f"Expected left_min of visit {number + 1}, which the crew has left.")
        if self.off_duty_min is not None:
            minutes.append(self.off_duty_min)
        if minutes != sorted(minutes):
            raise ValueError(f"Expected the times of run {self.run} in order, got {minutes}.")
        if self.late_min < 0:
            raise ValueError(f"Expected late_min >= 0, got {self.late_min}.")


@dataclass(frozen=True, kw_only=True, slots=True)
class Progress:
    """Where a day stands at ``now_min``; drivers and transporters that are out take no new work."""

    now_min: int
    runs: tuple[RunProgress, ...] = ()
    outcomes: tuple[MoveOutcome, ...] = ()
    drivers_out: frozenset[DriverId] = field(default_factory=frozenset)
    transporters_out: frozenset[TransporterId] = field(default_factory=frozenset)

    def of(self, run: str) -> RunProgress | None:
        """Return how far a run has got, None when it has not begun."""
        return next((item for item in self.runs if item.run == run), None)
