"""
What a crew is doing in a stretch of time, in the words of the catalogue.

The plan says it too, for those who read the plan alone; what somebody reported from the road is printed as it was said.
"""

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.errands import END_OF_DAY, FERRY, WALK_ROUND
from planner.runs.run import Activity, ActivityKind, Run
from planner.sheets.plain_text import car_text
from planner.sheets.words import Words

FIXED = {WALK_ROUND: "work.walk_round", END_OF_DAY: "work.end_of_day", FERRY: "work.ferry"}


def work_text(day: Day, run: Run, step: Activity, w: Words) -> str:
    """Return what is done in a step; empty where its kind says it all (breaks, waiting)."""
    if step.kind in (ActivityKind.DRIVE, ActivityKind.RIDE):
        return w(f"step.{step.kind.name.lower()}", to=day.place_of[step.destination].name)
    if step.kind in (ActivityKind.BREAK, ActivityKind.REST):
        return ""
    at_visit = step.visit is not None and step.visit < len(run.itinerary.stops)
    if step.kind is ActivityKind.OTHER_WORK and at_visit:
        assert step.visit is not None
        return _visit(day, run, step.visit, w)
    return w(FIXED[step.says]) if step.says in FIXED else step.says


def _visit(day: Day, run: Run, number: int, w: Words) -> str:
    stop = run.itinerary.stops[number]
    at_compound = stop.place in day.compound_of
    keys = ("work.bring_in", "work.collect") if at_compound else ("work.hand_over", "work.take_away")
    done = zip(keys, (stop.leaves, stop.takes), strict=True)
    return "; ".join(w(key, cars=_cars(day, moves)) for key, moves in done if moves)


def _cars(day: Day, moves: tuple[MoveId, ...]) -> str:
    return ", ".join(car_text(day.move_of[move].car) for move in moves)
