"""
The past of a run: what is done stands as it was reported, and nothing else begins before now.

What was done is not measured against tables or windows: it happened.  The hours rules are checked over the whole run.
"""

from planner.model.day import Day
from planner.runs.referee.breach import Notebook, Rule
from planner.runs.run import ActivityKind, Run


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
