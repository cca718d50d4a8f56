"""What a crew may take and has to do, by the code that plans and by the referee's own: on random days both agree."""

import pytest

from planner.runs.crew_fit import refuse
from planner.runs.errands import errands
from planner.runs.referee import Rule
from planner.runs.referee.breach import Notebook
from planner.runs.referee.decision import check_decision
from planner.runs.referee.script import Script
from planner.runs.refusal import Refusal
from planner.runs.run import RunKind
from tests.planner.runs.random_days import random_day, random_itinerary

#: Which of the referee's rules a refusal may stand for.
SAME = {
    "order of stops": {Rule.STOPS}, "part-exchange": {Rule.PART_EXCHANGE}, "crew": {Rule.CREW}, "licence": {Rule.LICENCE},
    "plates": {Rule.PLATES}, "method": {Rule.METHOD}, "range": {Rule.RANGE}, "access": {Rule.ACCESS}, "pin": {Rule.PIN},
    "slots": {Rule.SLOTS}, "payload": {Rule.PAYLOAD}, "hired carrier": {Rule.HIRED, Rule.ROAD}, "compound": {Rule.COMPOUND},
    "policy": {Rule.POLICY, Rule.DISTANCE, Rule.SHIFT_MOVES}, "road": {Rule.ROAD}, "ride": {Rule.ROAD},
}  # fmt: skip


@pytest.mark.parametrize("seed", range(12))
def test_both_refuse_the_same_and_give_the_same_tasks(seed):
    day = random_day(seed)
    for number in range(60):
        itinerary = random_itinerary(day, 1000 * seed + number)
        refusal, todo, notes = refuse(day, itinerary), (), Notebook()
        check_decision(day, itinerary, notes)
        if refusal is None and itinerary.kind is not RunKind.HIRED:
            answer = errands(day, itinerary)
            refusal, todo = (answer, ()) if isinstance(answer, Refusal) else (None, answer)
        found = {breach.rule for breach in notes.found}
        if refusal is not None:
            script_notes = Notebook()
            if refusal.rule in ("road", "ride"):
                Script(day, itinerary, script_notes)
            found |= {breach.rule for breach in script_notes.found}
            assert found & SAME[refusal.rule], (seed, number, refusal)
            continue
        assert not found, (seed, number, notes.found)
        if itinerary.kind is RunKind.HIRED:
            continue
        tasks = [task for task in Script(day, itinerary, notes).tasks if task.minutes or task.road]
        assert [
            (task.kind, task.minutes, task.origin, task.destination, task.visit, task.aboard if task.by else (),
             task.road.metres if task.road else 0)
            for task in tasks
        ] == [
            (item.kind, item.minutes, item.origin, item.destination, item.visit, item.aboard, item.metres)
            for item in todo
            if item.minutes or item.leg_by
        ]  # fmt: skip
