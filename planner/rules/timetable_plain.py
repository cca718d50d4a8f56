"""
The timetable search in plain words: every useful place and length of break is tried, and what is worse in every way dropped.

Theory of operation.  A schedule of a fixed sequence is decided by its start and by its breaks.  Once the breaks are chosen, the
time at which a step begins is ``max(earliest, start + elapsed)`` for every start up to ``latest``: three numbers, to
which each step adds (:class:`Label`).  A break inside a step that may be split is worth taking only at the last minute
before it is due, as the time is the same wherever it falls there and later leaves less on the counters; else it is taken
before a step, where a wait for a window hides it.  So a tree of labels holds every schedule worth having.  Nothing before the
first work or after the last is a break.  :mod:`planner.rules.timetable_kernel` does the same, compiled; tests hold the two equal.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.rules import timetable_law as row
from planner.rules.timetable_shapes import Duty, Step

Law = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Pause:
    """A break of at least so many minutes, taken after ``done_min`` minutes of a step."""

    step: int
    done_min: int
    minutes: int


@dataclass(frozen=True, slots=True)
class Choice:
    """A schedule: when duty starts and ends, and its breaks."""

    start_min: int
    end_min: int
    pauses: tuple[Pause, ...]

    @property
    def duty_min(self) -> int:
        """From start to end."""
        return self.end_min - self.start_min


@dataclass(frozen=True, slots=True)
class Label:
    """Where one choice of breaks has led: times, and what the counters of the law show."""

    earliest: int  # the time here if duty starts as early as it may
    elapsed: int  # since the start of duty when nothing waits
    latest: int  # start of duty after which some window is missed
    driven: int = 0  # since the last full break
    has_first: bool = False  # the first part of a split break is taken
    worked: int = 0  # since the last break that counts for work
    rested: int = 0  # breaks so far that count for work
    has_single: bool = False  # the one long break of the day is taken
    has_split: bool = False  # the first part of a split daily rest is taken
    pauses: tuple[Pause, ...] = ()

    @property
    def spread(self) -> int:
        """The least time from the start of duty to here."""
        return max(self.elapsed, self.earliest - self.latest)

    def dominates(self, other: "Label") -> bool:
        """Return whether everything the other can still do, this can do no later and on no more duty."""
        return (
            self.earliest <= other.earliest and self.elapsed <= other.elapsed and self.latest >= other.latest
            and self.driven <= other.driven and self.worked <= other.worked and self.rested >= other.rested
            and self.has_first >= other.has_first and self.has_single >= other.has_single and self.has_split >= other.has_split
        )  # fmt: skip


def search(
    steps: Sequence[Step], law: Law, lengths: Sequence[int], *, earliest_min: int, latest_end_min: int, objective: str
) -> Choice | None:
    """
    Return the legal schedule that ends first or, for the objective ``"duty"``, the one of least duty; the other breaks ties.

    None if there is none.  ``lengths`` are the breaks worth trying, from :func:`planner.rules.timetable_law.break_lengths`.
    """
    busy = [number for number, step in enumerate(steps) if step.minutes and step.duty.is_work]
    inner = range(busy[0] + 1, busy[-1] + 1) if busy else range(0)
    opens = steps[0].opens_min if steps else None
    start = max(earliest_min, opens if opens is not None else earliest_min)
    labels = [Label(start, 0, latest_end_min)]
    for number, step in enumerate(steps):
        is_after_ferry = number - 1 in inner and steps[number - 1].is_ferry  # a break there is the end of that on board
        is_on_board = step.is_ferry and number in inner and not is_after_ferry
        options = lengths if number in inner and not is_after_ferry else ()
        can_split = bool(busy) and step.splittable and busy[0] <= number <= busy[-1]
        reached: list[Label] = []
        for label in labels:
            for idle in (0, *options):
                pause = Pause(number, 0, idle)
                begun = _begin(_put_off(label, pause) if is_on_board else _pause(label, law, pause), step, start)
                if begun is not None:
                    after = lengths if number + 1 in inner else ()
                    if is_on_board:
                        reached += _sail(begun, law, idle + step.minutes, Pause(number + 1, 0, step.minutes), after)
                    else:
                        is_last = bool(busy) and number == busy[-1]
                        reached += _do(begun, step, number, law, lengths if can_split else (), is_last=is_last)
        labels = _undominated(label for label in reached if _is_in_time(label, law, latest_end_min))
    return _best([label for label in labels if _is_complete(label, law)], objective)


def _pause(label: Label, law: Law, pause: Pause, *, hidden: int = 0) -> Label:
    """Return the label after a break; ``hidden`` minutes of it have already passed, on a ferry and before it."""
    length = pause.minutes + hidden
    if not length:
        return label
    full = length >= law[row.FULL] or (label.has_first and bool(law[row.PART1]) and length >= law[row.PART2])
    first = label.has_first or (bool(law[row.PART1]) and length >= law[row.PART1] and label.driven > 0)
    counts = length >= law[row.WORK_PART]
    return replace(
        label,
        earliest=label.earliest + pause.minutes,
        elapsed=label.elapsed + pause.minutes,
        driven=0 if full else label.driven,
        has_first=first and not full,
        worked=0 if counts else label.worked,
        rested=min(label.rested + length, int(law[row.NEED_TOTAL])) if counts else label.rested,
        has_single=label.has_single or length >= law[row.NEED_SINGLE],
        has_split=label.has_split or (bool(law[row.SPLIT_REST]) and length >= law[row.SPLIT_REST]),
        pauses=(*label.pauses, pause) if pause.minutes else label.pauses,
    )


def _begin(label: Label, step: Step, first_start: int) -> Label | None:
    """Return the label at the start of a step inside its window, None when the window is missed."""
    earliest, latest = label.earliest, label.latest
    if step.opens_min is not None:
        earliest = max(earliest, step.opens_min)
    if step.closes_min is not None:
        latest = min(latest, step.closes_min - 1 - label.elapsed)
        if earliest >= step.closes_min or latest < first_start:
            return None
    return replace(label, earliest=earliest, latest=latest)


def _put_off(label: Label, pause: Pause) -> Label:
    """Return the label after a break that goes on on board, and so counts only there."""
    if not pause.minutes:
        return label
    return replace(
        label, earliest=label.earliest + pause.minutes, elapsed=label.elapsed + pause.minutes, pauses=(*label.pauses, pause)
    )


def _sail(label: Label, law: Law, rested: int, crossing: Pause, after: Sequence[int]) -> Iterator[Label]:
    """Yield every label after a ferry: the break before it, on board and ashore is one."""
    minutes = crossing.minutes
    aboard = replace(label, earliest=label.earliest + minutes, elapsed=label.elapsed + minutes)
    for ashore in (0, *(length - rested for length in after if length > rested)):
        yield _pause(aboard, law, replace(crossing, minutes=ashore), hidden=rested)


def _do(label: Label, step: Step, number: int, law: Law, inside: Sequence[int], *, is_last: bool) -> Iterator[Label]:
    """Yield every label at the end of a step, with breaks inside it where they fall due."""
    if not step.duty.is_work:
        yield replace(label, earliest=label.earliest + step.minutes, elapsed=label.elapsed + step.minutes)
        return
    open_ends = [(label, 0)]
    while open_ends:
        here, done = open_ends.pop()
        room = int(law[row.EVERY_WORK]) - here.worked
        if step.duty is Duty.DRIVE:
            room = min(room, int(law[row.EVERY_DRIVE]) - here.driven)
        part = min(room, step.minutes - done)
        if done + part == step.minutes:
            yield _work(here, law, part, is_drive=step.duty is Duty.DRIVE)
            if is_last and not done:  # no step follows before which a break could be taken
                part //= 2
            else:
                continue
        if part <= 0:  # a break that is due before the first minute is one before the step
            continue
        paused = _work(here, law, part, is_drive=step.duty is Duty.DRIVE)
        for length in inside:
            rested = _pause(paused, law, Pause(number, done + part, length))
            if rested.worked < law[row.EVERY_WORK] and (step.duty is not Duty.DRIVE or rested.driven < law[row.EVERY_DRIVE]):
                open_ends.append((rested, done + part))


def _work(label: Label, law: Law, minutes: int, *, is_drive: bool) -> Label:
    """Return the label after work; a counter whose limit cannot be reached stays at nought."""
    counts_work, counts_drive = law[row.EVERY_WORK] < row.NEVER, is_drive and law[row.EVERY_DRIVE] < row.NEVER
    return replace(
        label, earliest=label.earliest + minutes, elapsed=label.elapsed + minutes,
        worked=label.worked + minutes * bool(counts_work), driven=label.driven + minutes * bool(counts_drive),
    )  # fmt: skip


def _is_in_time(label: Label, law: Law, latest_end_min: int) -> bool:
    return bool(label.earliest <= latest_end_min and label.spread <= max(law[row.SPREAD], law[row.SPREAD_SPLIT]))


def _is_complete(label: Label, law: Law) -> bool:
    spread = max(law[row.SPREAD], law[row.SPREAD_SPLIT]) if label.has_split else law[row.SPREAD]
    is_rested = label.rested >= law[row.NEED_TOTAL] and (label.has_single or law[row.NEED_SINGLE] == 0)
    return bool(is_rested and label.spread <= spread)


def _undominated(labels: Iterator[Label]) -> list[Label]:
    kept: list[Label] = []
    for label in labels:
        if not any(other.dominates(label) for other in kept):
            kept = [other for other in kept if not label.dominates(other)]
            kept.append(label)
    return kept


def _best(labels: Sequence[Label], objective: str) -> Choice | None:
    if not labels:
        return None
    if objective == "end":
        best = min(labels, key=lambda label: (label.earliest, label.spread))
    else:
        best = min(labels, key=lambda label: (label.spread, label.earliest))
    return Choice(best.earliest - best.spread, best.earliest, best.pauses)
