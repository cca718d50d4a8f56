"""
Ahead: a run that is under way, as steps: what is done pinned to its true minutes, then what is left.

Idle time in the past makes no step: between two pinned steps it is a wait, which counts as a break when it is long enough.
"""

from collections.abc import Sequence
from dataclasses import replace

from planner.model.places import PlaceId
from planner.rules.timetable import Duty, Slice, Step
from planner.runs.errands import Errand
from planner.runs.run import Activity, ActivityKind, Past

DUTY_OF = {
    ActivityKind.DRIVE: Duty.DRIVE,
    ActivityKind.RIDE: Duty.RIDE,
    ActivityKind.OTHER_WORK: Duty.OTHER,
    ActivityKind.AVAILABLE: Duty.AVAILABLE,
}


def step_of(errand: Errand, base: PlaceId) -> Step:
    """Return the errand as a step of the timetable; ``base`` is where the run ends."""
    windows = errand.windows
    return Step(
        duty=DUTY_OF[errand.kind],
        minutes=errand.minutes,
        opens_min=max([window.opens_min for window in windows]) if windows else None,
        closes_min=min([window.closes_min for window in windows]) if windows else None,
        splittable=errand.kind is ActivityKind.DRIVE,
        at_base=errand.origin == base,
    )


def errands_ahead(todo: Sequence[Errand], past: Past) -> tuple[Errand, ...]:
    """Return the errands that are not done, the leg under way as long as it is expected to take."""
    done = len(past.visits)
    first = 1 + max((rank for rank, item in enumerate(todo) if item.visit == done - 1), default=-1)
    ahead = list(todo[first:])
    leg = next((rank for rank, item in enumerate(ahead) if item.leg_by), None)
    if past.late_min and leg is not None:
        ahead[leg] = replace(ahead[leg], minutes=ahead[leg].minutes + past.late_min)
    return tuple(ahead)


def is_idle(step: Activity) -> bool:
    """Return whether nothing is done: a break, a rest, a wait that is not the ferry's."""
    if step.kind is ActivityKind.AVAILABLE:
        return step.visit is None
    return step.kind in (ActivityKind.BREAK, ActivityKind.REST)


def pinned_steps(past: Past) -> tuple[Step, ...]:
    """Return what is done as steps that can start at no other minute."""
    return tuple(
        Step(duty=DUTY_OF[item.kind], minutes=item.end_min - item.start_min, opens_min=item.start_min,
             closes_min=item.start_min + 1)
        for item in past.activities if not is_idle(item)
    )  # fmt: skip


def steps_ahead(ahead: Sequence[Errand], past: Past, base: PlaceId) -> tuple[Step, ...]:
    """Return what is left as steps: the leg under way is pinned to its start, nothing after it begins before now."""
    made = [step_of(errand, base) for errand in ahead]
    is_pinned = past.is_heading or not past.activities
    if made and is_pinned:
        begun_by_min = max(past.end_min, past.now_min) if past.activities else past.end_min
        made[0] = replace(made[0], opens_min=past.end_min, closes_min=begun_by_min + 1)
    leg = next((rank for rank, errand in enumerate(ahead) if errand.leg_by and errand.visit is not None), None)
    if leg is not None and past.is_heading:
        leg = next((rank for rank, errand in enumerate(ahead) if rank > leg and not errand.leg_by), None)
    if leg is not None and (leg > 0 or not is_pinned):
        opens_min = made[leg].opens_min
        made[leg] = replace(made[leg], opens_min=past.now_min if opens_min is None else max(opens_min, past.now_min))
    return tuple(made)


def slices_ahead(slices: Sequence[Slice], past: Past | None, first: int) -> tuple[Slice, ...]:
    """Return the slices after the past, their steps counted from the first that is not done."""
    if past is None:
        return tuple(slices)
    return tuple(
        replace(part, step=part.step - first) if part.step is not None
        else replace(part, start_min=max(part.start_min, past.end_min))
        for part in slices
        if (part.step is None and part.end_min > past.end_min) or (part.step is not None and part.step >= first)
    )  # fmt: skip
