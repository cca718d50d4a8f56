"""
The past of a run: what is done stands as it was reported, and nothing else begins before now.

What was done is not measured against tables or windows: it happened.  The hours rules are checked over the whole run.
"""

from collections.abc import Iterable

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.progress import MoveEnd, Progress
from planner.runs.plan import Plan
from planner.runs.referee.breach import Breach, Notebook, Rule
from planner.runs.run import ActivityKind, Run, RunId


def check_progress(day: Day, before: Plan, progress: Progress, now: Day, after: Plan) -> tuple[Breach, ...]:
    """
    Return every breach of what was reported: in the plan made anew each visit that is done has its true times and its cars.

    ``day`` and ``before`` are as published, ``now`` and ``after`` as planned anew.  Cars are told by registration, since a
    move may have been cut in two.
    """
    found: list[Breach] = []
    planned, made = ({run.run_id: run for run in plan.runs} for plan in (before, after))
    for told in progress.runs:
        if not told.visits:
            continue
        run_id = RunId(told.run)
        was, run, notes = planned[run_id], made.get(run_id), Notebook(run_id)
        count = len(run.visits) if run is not None else 0
        if run is None or count < len(told.visits):
            notes.note(Rule.PAST, "", "visits that are done are gone", expected=len(told.visits), found=count)
            found += notes.found
            continue
        for number, real in enumerate(told.visits):
            visit, old, where = run.visits[number], was.visits[number], f"visit {number + 1}"
            notes.compare(Rule.PAST, where, "the place differs", old.place, visit.place)
            notes.compare(Rule.PAST, where, "arrival is not as reported", real.arrived_min, visit.arrive_min)
            if real.left_min is not None:
                notes.compare(Rule.PAST, where, "the end is not as reported", real.left_min, visit.end_min)
            took = [move for move in old.takes if not _was_not_taken(day, progress, move)]
            left = [move for move in old.leaves if move in _left(day, progress, was)]
            notes.compare(Rule.PAST, where, "other cars were taken", _cars(day, took), _cars(now, visit.takes))
            notes.compare(Rule.PAST, where, "other cars were left", _cars(day, left), _cars(now, visit.leaves))
        found += notes.found
    return tuple(found)


def _was_not_taken(day: Day, progress: Progress, name: MoveId) -> bool:
    ends = {item.move: item.end for item in progress.outcomes}
    return ends.get(name) in (MoveEnd.FAILED_CHECK, MoveEnd.NOT_AS_DESCRIBED) or day.move_of[name].tied_to in ends


def _left(day: Day, progress: Progress, run: Run) -> set[MoveId]:
    """Return the moves of a run whose cars are left where they were to go."""
    ends = {item.move for item in progress.outcomes}
    return {name for name in run.itinerary.moves if name not in ends and day.move_of[name].tied_to not in ends}


def _cars(day: Day, moves: Iterable[MoveId]) -> list[str]:
    return sorted(day.move_of[move].car.registration for move in moves)


def check_past(day: Day, run: Run, notes: Notebook) -> None:
    """Note where a run does not begin with what of it is done, or does in the past what is not."""
    past = run.itinerary.past
    if past is None:
        return
    wall = day.clock.wall
    count = len(past.activities)
    if run.activities[:count] != past.activities:
        notes.note(Rule.PAST, "", "what the crew has done is told otherwise", expected=f"{count} activities as reported",
                   found="others")  # fmt: skip
    notes.compare(Rule.PAST, "", "duty began at another time", wall(past.began_min), wall(run.activities[0].start_min))
    if run.visits[: len(past.visits)] != past.visits:
        notes.note(Rule.PAST, "", "a visit that is over is told otherwise", expected=f"{len(past.visits)} visits as reported",
                   found="others")  # fmt: skip
    for number, (visit, stop) in enumerate(zip(past.visits, run.itinerary.stops, strict=False)):
        notes.compare(Rule.PAST, f"visit {number + 1}", "place or cars of a visit that is over differ from the stop",
                      (stop.place, stop.leaves, stop.takes), (visit.place, visit.leaves, visit.takes))  # fmt: skip
    ahead = run.activities[count:]
    if past.is_over:
        notes.compare(Rule.PAST, "", "a run that is over goes on", 0, len(ahead))
        return
    for step in ahead:
        is_leg_under_way = past.is_heading and step.visit == len(past.visits) and step.kind is not ActivityKind.OTHER_WORK
        if step.visit is None or step.start_min >= past.now_min or is_leg_under_way or not is_task(step.kind):
            continue
        notes.note(Rule.PAST, f"{step.kind} at {wall(step.start_min)}", "it begins before now", expected=wall(past.now_min),
                   found=wall(step.start_min))  # fmt: skip


def is_task(kind: ActivityKind) -> bool:
    """Return whether something is done, not waited for."""
    return kind in (ActivityKind.DRIVE, ActivityKind.RIDE, ActivityKind.OTHER_WORK)
