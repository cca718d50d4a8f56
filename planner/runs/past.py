"""
The past of a run: what was planned, stretched or shrunk to the minutes that were reported.

What took longer is held to have been driving or work, so that the hours rules see the stricter case.  What was quicker is
taken off waits first, then off the driving, and off breaks only where nothing else is left.
"""

from collections.abc import Sequence
from dataclasses import replace

from planner.model.moves import MoveId
from planner.model.progress import Progress, RunProgress, VisitDone
from planner.runs.ahead import is_idle
from planner.runs.crew_fit import aboard_after
from planner.runs.plan import Plan
from planner.runs.run import Activity, ActivityKind, Itinerary, Past, Run, Visit

LONGER = (ActivityKind.DRIVE, ActivityKind.RIDE, ActivityKind.OTHER_WORK)
SHORTER = (
    (ActivityKind.AVAILABLE, 0), (ActivityKind.DRIVE, 75), (ActivityKind.RIDE, 0), (ActivityKind.OTHER_WORK, 50),
    (ActivityKind.BREAK, 0), (ActivityKind.OTHER_WORK, 0), (ActivityKind.DRIVE, 0), (ActivityKind.REST, 0),
)  # fmt: skip  # kind, and per cent of it that stay


def on_time(run: Run, now_min: int) -> RunProgress | None:
    """Return how far a run is when everything goes as planned; None when it has not begun or has no times."""
    if not run.activities or run.start_min > now_min:
        return None
    visits = [visit for visit in run.visits if visit.arrive_min <= now_min]
    has_left = not visits or visits[-1].end_min <= now_min
    is_over = run.end_min <= now_min
    first_leg_min = min((step.start_min for step in run.activities if step.visit == len(visits)), default=now_min + 1)
    return RunProgress(
        run=run.run_id,
        began_min=run.start_min,
        visits=tuple(
            VisitDone(arrived_min=item.arrive_min, left_min=item.end_min if item is not visits[-1] or has_left else None)
            for item in visits
        ),
        is_under_way=has_left and not is_over and first_leg_min <= now_min,
        off_duty_min=run.end_min if is_over else None,
    )


def with_silent(plan: Plan, progress: Progress) -> Progress:
    """Return the progress with the runs that nothing was heard of, held to be as planned; of a crew that is out, not begun."""
    out = {*progress.drivers_out, *progress.transporters_out}
    silent = [
        run for run in plan.runs
        if progress.of(run.run_id) is None and run.itinerary.past is None
        and out.isdisjoint(run.itinerary.crew)
    ]  # fmt: skip
    more = (on_time(run, progress.now_min) for run in silent)
    return replace(progress, runs=(*progress.runs, *(item for item in more if item is not None)))


def past_of(run: Run, told: RunProgress, *, now_min: int, itinerary: Itinerary | None = None) -> Past:
    """
    Return the past of a run.

    Parameters
    ----------
    run
        As planned.
    told
        How far it really got; a visit that the crew has not left ends at the planned length, or now when that is later.
    now_min
        What has not begun begins no sooner.
    itinerary
        The stops as they turned out, where cars were not left or taken as planned; as many as were visited at least.

    """
    plan = itinerary or run.itinerary
    stops = list(aboard_after(plan))
    done: list[Activity] = []
    visits: list[Visit] = []
    segments, clock_min = _segments(run), told.began_min
    for number, real in enumerate(told.visits):
        planned = run.visits[number]
        way, work = segments[number]
        begins_duty = not way and any(step.visit is None and not is_idle(step) for step in work)
        done += [] if begins_duty else _fitted(way, clock_min, real.arrived_min, at=planned)
        left_min = real.left_min
        if left_min is None:
            left_min = max(now_min, _expected_end(planned, work, real.arrived_min))
        at_work = _fitted(work, clock_min if begins_duty else real.arrived_min, left_min, at=planned)
        done += at_work
        starts = [step.start_min for step in at_work if step.visit == number and step.kind is ActivityKind.OTHER_WORK]
        stop, after = stops[number] if number < len(stops) else (None, ())
        visits.append(replace(
            planned, arrive_min=real.arrived_min, start_min=min(starts, default=left_min), end_min=left_min,
            leaves=stop.leaves if stop else (), takes=stop.takes if stop else (), aboard_after=after,
            slots=_slots(planned, visits[-1] if visits else None, after),
        ))  # fmt: skip
        clock_min = left_min
    is_over = told.off_duty_min is not None
    if told.off_duty_min is not None:
        rest = [step for pair in segments[len(visits) :] for part in pair for step in part]
        done += _fitted(rest, clock_min, told.off_duty_min)
    return Past(
        now_min=now_min, began_min=told.began_min, visits=tuple(visits), activities=_with_aboard(done, plan),
        is_heading=told.is_under_way, late_min=told.late_min, is_over=is_over,
    )  # fmt: skip


def _slots(planned: Visit, before: Visit | None, after: Sequence[MoveId]) -> tuple[tuple[MoveId, str], ...]:
    """Return where the cars stand after a visit: as planned, one that was not left where it stood before."""
    slots = dict(planned.slots)
    for move, slot in before.slots if before else ():
        slots.setdefault(move, slot)
    return tuple((move, slot) for move, slot in slots.items() if move in after)


def _expected_end(planned: Visit, work: Sequence[Activity], arrived_min: int) -> int:
    """Return when a visit that is not over ends: its work from the arrival on, or as planned when that is later."""
    busy_min = sum(step.end_min - step.start_min for step in work if not is_idle(step))
    whole_min = sum(step.end_min - step.start_min for step in work)
    opens_min = planned.window.opens_min + planned.end_min - planned.start_min if planned.window else arrived_min
    return max(arrived_min + busy_min, min(planned.end_min, arrived_min + whole_min), opens_min)


def _segments(run: Run) -> list[tuple[list[Activity], list[Activity]]]:
    """Return, for each visit, the planned activities up to the arrival and those from then to its end, idle time included."""
    found, first = [], 0
    for number, visit in enumerate(run.visits):
        own = [rank for rank, step in enumerate(run.activities) if step.visit == number]
        steps = run.activities[first : own[-1] + 1] if own else ()
        first += len(steps)
        way = [step for step in steps if step.end_min <= visit.arrive_min]
        found.append((way, list(steps[len(way) :])))
    found.append(([], list(run.activities[first:])))
    return found


def _fitted(steps: Sequence[Activity], start_min: int, end_min: int, at: Visit | None = None) -> list[Activity]:
    """Return the steps one after the other from start to end, made longer or shorter as this module says."""
    lengths = [step.end_min - step.start_min for step in steps]
    more = end_min - start_min - sum(lengths)
    if more > 0:
        longer = [rank for kind in LONGER for rank, step in reversed(list(enumerate(steps))) if step.kind is kind]
        if not longer:
            place = at.place if at is not None else steps[-1].destination if steps else None
            if place is None:
                return []
            wait = Activity(
                kind=ActivityKind.AVAILABLE, start_min=end_min - more, end_min=end_min, origin=place, destination=place
            )
            return [*_laid(steps, lengths, start_min), wait]
        lengths[longer[0]] += more
    for kind, per_cent in SHORTER:
        for rank, step in reversed(list(enumerate(steps))):
            if more < 0 and step.kind is kind:
                off = min(-more, lengths[rank] - (step.end_min - step.start_min) * per_cent // 100)
                lengths[rank] -= off
                more += off
    return _laid(steps, lengths, start_min)


def _laid(steps: Sequence[Activity], lengths: Sequence[int], start_min: int) -> list[Activity]:
    made = []
    for step, length in zip(steps, lengths, strict=True):
        if length or step.metres or not is_idle(step):
            made.append(replace(step, start_min=start_min, end_min=start_min + length))
        start_min += length
    return made


def _with_aboard(steps: Sequence[Activity], plan: Itinerary) -> tuple[Activity, ...]:
    """Return the activities with the cars that were truly aboard: on legs those after the stop before, at work none."""
    after = [cars for _, cars in aboard_after(plan)]
    made: list[Activity] = []
    for step in steps:
        if is_idle(step):
            cars = made[-1].aboard if made else ()
        elif step.kind in (ActivityKind.DRIVE, ActivityKind.AVAILABLE) and step.visit and step.visit <= len(after):
            cars = after[step.visit - 1]
        else:
            cars = ()
        made.append(replace(step, aboard=cars))
    return tuple(made)
