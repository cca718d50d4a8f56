"""What a timetable is made from and made of: steps in, slices and limits out.  Minutes of the planning day throughout."""

from dataclasses import dataclass
from enum import StrEnum


class Duty(StrEnum):
    """What a step is; a ride is a passenger's journey in the employer's time: work, yet not driving."""

    DRIVE = "drive"
    OTHER = "other work"
    RIDE = "ride"
    AVAILABLE = "available"

    @property
    def is_work(self) -> bool:
        """Whether it counts as working time."""
        return self is not Duty.AVAILABLE


class SliceKind(StrEnum):
    """What a slice is; the words are those of a run's activities."""

    DRIVE = "drive"
    OTHER = "other work"
    RIDE = "ride"
    AVAILABLE = "available"
    BREAK = "break"
    REST = "rest"


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """
    One thing that must be done, in order.

    It must start at or after ``opens_min`` and before ``closes_min`` (None: no limit); once started it may run on.  A
    splittable step may be interrupted by a break at any minute.  During a ferry a break may be taken.  Where the crew is
    ``at_base`` before it, no night out can be: who rests there has gone home.
    """

    duty: Duty
    minutes: int
    opens_min: int | None = None
    closes_min: int | None = None
    splittable: bool = False
    is_ferry: bool = False
    at_base: bool = False

    def __post_init__(self) -> None:
        if self.minutes < 0:
            raise ValueError(f"Expected minutes >= 0, got {self.minutes}.")


@dataclass(frozen=True, kw_only=True, slots=True)
class Slice:
    """One stretch of the timetable; ``step`` is the index of the step it does, None for waits, breaks and rests."""

    kind: SliceKind
    start_min: int
    end_min: int
    step: int | None

    @property
    def minutes(self) -> int:
        """How long it is."""
        return self.end_min - self.start_min


@dataclass(frozen=True, kw_only=True, slots=True)
class LimitUse:
    """One limit, what is used of it, and its source; minutes, or a count."""

    rule: str
    used: int
    limit: int
    source: str
    is_count: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Timetable:
    """A legal schedule of the steps: slices that touch, from the start of duty to its end."""

    slices: tuple[Slice, ...]
    start_min: int
    end_min: int
    counters: tuple[LimitUse, ...] = ()
    nights: int = 0

    @property
    def duty_min(self) -> int:
        """From start to end, rests of nights out not counted."""
        nights = sum(part.minutes for part in self.slices if part.kind is SliceKind.REST and part.minutes >= 540)
        return self.end_min - self.start_min - nights


@dataclass(frozen=True, kw_only=True, slots=True)
class NoTimetable:
    """Why there is no legal schedule: the rule in the way, a sentence, and by how many minutes it is missed if known."""

    rule: str
    says: str
    short_by_min: int | None = None
    source: str = ""
    step: int | None = None  # which step it speaks of, where it speaks of one
