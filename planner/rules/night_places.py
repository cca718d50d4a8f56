"""
Night places: where the rest of a night out may fall in a run, with floors under what it comes to there.

Floors never forbid or overprice a legal night: work and driving are added up, breaks are counted in total and not where they
fall, and windows bound when each step can start.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from planner.rules.books import Book
from planner.rules.timetable_bound import floor_law, least_breaks
from planner.rules.timetable_law import NEED_SINGLE, NEED_TOTAL, NEVER
from planner.rules.timetable_shapes import Duty, Step


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """After so many minutes of a step (0: before it), with the least duty of both days and the earliest end."""

    step: int
    done_min: int
    duty_min: int
    end_min: int


@dataclass(frozen=True, slots=True)
class _Sums:
    """Minutes of a part of a run."""

    whole: int = 0
    driving: int = 0
    work: int = 0
    idle: int = 0  # availability, in which a break may lie

    def plus(self, step: Step, minutes: int) -> "_Sums":
        """Return the sums with so many minutes of a step more."""
        is_drive, is_idle = step.duty is Duty.DRIVE, step.duty is Duty.AVAILABLE
        return _Sums(
            self.whole + minutes, self.driving + minutes * is_drive, self.work + minutes * step.duty.is_work,
            self.idle + minutes * is_idle,
        )  # fmt: skip

    def less(self, other: "_Sums") -> "_Sums":
        """Return the sums without those of another part."""
        return _Sums(
            self.whole - other.whole, self.driving - other.driving, self.work - other.work, self.idle - other.idle
        )


def places(steps: Sequence[Step], book: Book, *, earliest_min: int) -> Iterator[Place]:
    """Yield every place where a night may make both days legal, in the order of the run."""
    rest_min = book.get("reduced_daily_rest", book["daily_rest"])
    total = _Sums()
    for step in steps:
        total = total.plus(step, step.minutes)
    late = _latest_starts(steps)
    done, here_min, latest_min, opened_min = _Sums(), earliest_min, NEVER, -NEVER  # latest start of duty, end that windows ask
    for number, step in enumerate(steps):
        is_split = step.duty is Duty.DRIVE and step.splittable
        for minutes in range(0 if number else 1, step.minutes if is_split else 1):
            starts_min = max(here_min, _opens(step)) if minutes else here_min
            first = done.plus(step, minutes)
            if first.driving > _most_driving(book):
                break
            duty = _day(first, book, ends_min=max(opened_min, starts_min + minutes), starts_by_min=latest_min)
            if duty is None:
                continue
            rested_min = max(starts_min + minutes, earliest_min + duty) + rest_min
            goes_on_by = late[number] if not minutes else late[number + 1] - (step.minutes - minutes)
            second = _day(total.less(first), book, ends_min=-NEVER, starts_by_min=NEVER) if rested_min <= goes_on_by else None
            if second is not None:
                yield Place(number, minutes, duty + second, rested_min + second)
        here_min = max(here_min, _opens(step))
        if here_min > _last_start(step):
            return
        latest_min = min(latest_min, _last_start(step) - done.whole)
        here_min += step.minutes
        done = done.plus(step, step.minutes)
        opened_min = here_min


def _opens(step: Step) -> int:
    return -NEVER if step.opens_min is None else step.opens_min


def _last_start(step: Step) -> int:
    return NEVER if step.closes_min is None else step.closes_min - 1


def _latest_starts(steps: Sequence[Step]) -> list[int]:
    """Return when each step may start at the latest so that no window from there on is missed."""
    late = [NEVER] * (len(steps) + 1)
    for number in range(len(steps) - 1, -1, -1):
        late[number] = min(_last_start(steps[number]), late[number + 1] - steps[number].minutes)
    return late


def _most_driving(book: Book) -> int:
    return max(book.get("daily_driving", NEVER), book.get("extended_driving", 0))


def _day(sums: _Sums, book: Book, *, ends_min: int, starts_by_min: int) -> int | None:
    """Return the least duty of a day, None where it is more than any day may hold."""
    most = book["rest_period"] - book.get("reduced_daily_rest", book["daily_rest"])
    if sums.driving > _most_driving(book) or sums.whole > most:
        return None
    owed = _breaks(book, sums.driving, sums.work, sums.whole if "rest_break" in book else sums.work) - sums.idle
    duty = max(sums.whole + max(0, owed), ends_min - starts_by_min)
    return None if duty > most else duty


@lru_cache(maxsize=65_536)
def _breaks(book: Book, driving: int, work: int, counted: int) -> int:
    law = floor_law(book, work=counted)
    return max(int(least_breaks(law, driving, work, 1)), int(law[NEED_TOTAL]), int(law[NEED_SINGLE]))
