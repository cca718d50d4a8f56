"""
Tidy breaks: a break that would cut a few minutes off a drive is taken before or after that drive instead, where that is as good.

The search takes a break at the last minute before it is due, which is right and may read oddly; nobody stops five minutes
before the door.  Start and end of duty stay as they are, and the law is checked anew.
"""

from collections.abc import Sequence
from dataclasses import replace

from planner.rules import timetable_law as row
from planner.rules.timetable_kernel import SINGLE, SPLIT, Ints, after_break, after_work, room_before_break
from planner.rules.timetable_plain import Choice, Pause
from planner.rules.timetable_shapes import Slice, SliceKind, Step
from planner.rules.timetable_slices import slices

STUB = 20  # minutes of driving that are not worth a stop of their own
PAUSE = (SliceKind.BREAK, SliceKind.REST)


def tidy(steps: Sequence[Step], choice: Choice, law: Ints) -> Choice:
    """Return the choice with breaks moved out of drives near whose ends they lie, where everything stays legal."""
    for pause in choice.pauses:
        if not pause.done_min:
            continue
        left = steps[pause.step].minutes - pause.done_min
        places = [(pause.done_min, (pause.step, 0)), (left, (pause.step + 1, 0))]
        for distance, place in sorted(places):
            if distance > STUB or place[0] >= len(steps):
                continue
            moved = _moved(choice, pause, place)
            if is_lawful(steps, moved, law):
                choice = moved
                break
    return choice


def _moved(choice: Choice, pause: Pause, place: tuple[int, int]) -> Choice:
    """Return the choice with a pause at another place, made one with what is there."""
    minutes = {(other.step, other.done_min): other.minutes for other in choice.pauses if other != pause}
    minutes[place] = max(minutes.get(place, 0), pause.minutes)
    return replace(choice, pauses=tuple(Pause(step, done, length) for (step, done), length in sorted(minutes.items())))


def is_lawful(steps: Sequence[Step], choice: Choice, law: Ints) -> bool:
    """Return whether a choice keeps the windows and the law's row and ends when it says, its breaks between work."""
    busy = [number for number, step in enumerate(steps) if step.minutes and step.duty.is_work]
    if not busy or any(not busy[0] < pause.step <= busy[-1] for pause in choice.pauses if not pause.done_min):
        return False
    parts = slices(steps, choice)
    state = _State(law)
    begun: set[int] = set()
    for part in parts:
        if part.step is not None and part.step not in begun:
            begun.add(part.step)
            if not _is_open(steps[part.step], part.start_min):
                return False
        if not state.passes(part, is_work=part.step is not None and steps[part.step].duty.is_work):
            return False
    return parts[-1].end_min == choice.end_min and state.is_complete(choice.duty_min)


def _is_open(step: Step, minute: int) -> bool:
    is_after = step.opens_min is None or minute >= step.opens_min
    return is_after and (step.closes_min is None or minute < step.closes_min)


class _State:
    """The counters of the law along one day."""

    def __init__(self, law: Ints) -> None:
        self.law = law
        self.driven = self.has_first = self.worked = self.rested = self.flags = self.pause = 0
        self.has_worked = False

    def passes(self, part: Slice, *, is_work: bool) -> bool:
        """Let a slice pass, and return whether it is lawful."""
        if part.kind in PAUSE:
            self.pause += part.minutes
            return True
        if self.pause and self.has_worked:
            self.driven, self.has_first, self.worked, self.rested, self.flags = after_break(
                self.law, self.driven, self.has_first, self.worked, self.rested, self.flags, self.pause
            )
        self.pause = 0
        if is_work:
            drives = int(part.kind is SliceKind.DRIVE)
            if part.minutes > room_before_break(self.law, self.driven, self.worked, drives):
                return False
            self.driven, self.worked = after_work(self.law, self.driven, self.worked, part.minutes, drives)
            self.has_worked = True
        return True

    def is_complete(self, duty_min: int) -> bool:
        """Return whether the day holds the breaks it needs and leaves its daily rest."""
        law = self.law
        spread = max(law[row.SPREAD], law[row.SPREAD_SPLIT]) if self.flags & SPLIT else law[row.SPREAD]
        has_single = not law[row.NEED_SINGLE] or bool(self.flags & SINGLE)
        return bool(self.rested >= law[row.NEED_TOTAL] and has_single and duty_min <= spread)
