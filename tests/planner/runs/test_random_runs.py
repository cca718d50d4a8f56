"""
On random days the code that plans and the referee's own agree: on what a crew may take, on what it has to do, on when and
for how much; and no schedule thrown together at random that the referee lets pass takes less duty than timing's.
"""

import random
from collections.abc import Iterator
from dataclasses import replace

import pytest

from planner.model.day import Day
from planner.runs.costing import price
from planner.runs.crew_fit import refuse
from planner.runs.errands import errands
from planner.runs.referee import Rule, check_run
from planner.runs.referee.breach import Notebook
from planner.runs.referee.decision import check_decision
from planner.runs.referee.hours import book_of, check_hours
from planner.runs.referee.script import Script, Task, windows_at
from planner.runs.referee.trail import check_shift
from planner.runs.refusal import Refusal
from planner.runs.run import Activity, ActivityKind, Itinerary, Run, RunId, RunKind
from planner.runs.timing import lay_out
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


@pytest.mark.parametrize("first", range(0, 40, 8))
def test_every_run_that_is_timed_and_priced_passes_the_referee(first):
    made = 0
    for seed in range(first, first + 8):
        day = random_day(seed)
        for number in range(60):
            run = lay_out(day, random_itinerary(day, 1000 * seed + number), run_id=f"R{number}")
            if isinstance(run, Run):
                made += 1
                assert check_run(day, replace(run, costs=price(day, run))) == (), (seed, number)
    assert made >= 20


@pytest.mark.parametrize("seed", range(25))
def test_no_random_schedule_beats_timing(seed):
    """Starts and breaks drawn at random; the referee's hours and shift decide what is legal."""
    day = replace(random_day(seed), decks={})  # reshuffles would lengthen the work
    for number in range(60):
        itinerary = replace(random_itinerary(day, 1000 * seed + number), may_stay_out=False)
        if itinerary.kind is RunKind.HIRED or refuse(day, itinerary) is not None:
            continue
        script = Script(day, itinerary, Notebook())
        if not script.is_whole or any(windows_at(day, stop)[1] for stop in itinerary.stops):
            continue
        run = lay_out(day, itinerary)
        found = [end - start for start, end in legal_spans(day, itinerary, script.tasks, random.Random(number))]
        if isinstance(run, Run):
            assert all(run.end_min - run.start_min <= duty for duty in found), (seed, number)
        else:
            assert not found, (seed, number, run, min(found))


def legal_spans(day: Day, itinerary: Itinerary, tasks: list[Task], rng: random.Random) -> Iterator[tuple[int, int]]:
    crew = [day.driver_of[name] for name in (itinerary.driver, itinerary.support_driver) if name]
    earliest = max(driver.starts_from_min for driver in crew)
    latest = min(driver.home_by_min for driver in crew) - sum(task.minutes for task in tasks)
    for _ in range(80 if latest >= earliest else 0):
        breaks: dict[tuple[int, int], int] = {}
        for _ in range(rng.choice([0, 0, 1, 1, 2, 3, 4])):
            number = rng.randrange(len(tasks))
            inside = tasks[number].kind is ActivityKind.DRIVE and tasks[number].minutes > 1 and rng.random() < 0.6
            breaks[number, rng.randrange(1, tasks[number].minutes) if inside else 0] = rng.choice([15, 20, 30, 45, 45])
        steps = scheduled(day, itinerary, tasks, rng.randint(earliest, latest), breaks)
        if steps is None:
            continue
        run = Run(run_id=RunId("R"), itinerary=itinerary, book="", activities=steps, visits=(), costs=())
        notes = Notebook()
        check_shift(day, run, notes)
        check_hours(day, replace(run, book=book_of(day, run)), notes)
        if not notes.found:
            yield run.start_min, run.end_min


def scheduled(
    day: Day, itinerary: Itinerary, tasks: list[Task], start_min: int, breaks: dict[tuple[int, int], int]
) -> tuple[Activity, ...] | None:
    """Return the tasks one after the other from a start, with these breaks and waits; None when a window is missed."""
    made: list[Activity] = []
    now = start_min

    def add(kind: ActivityKind, minutes: int, task: Task, **places: object) -> None:
        nonlocal now
        ends = places or {"origin": task.origin, "destination": task.origin}
        made.append(Activity(kind=kind, start_min=now, end_min=now + minutes, **ends))
        now += minutes

    for number, task in enumerate(tasks):
        idle = breaks.get((number, 0), 0)
        if task.kind is ActivityKind.OTHER_WORK and task.visit is not None:
            windows, _ = windows_at(day, itinerary.stops[task.visit])
            idle = max([idle, *(window.opens_min - now for window in windows)])
            if any(now + idle >= window.closes_min for window in windows):
                return None
        if idle:
            add(ActivityKind.BREAK if idle >= 15 else ActivityKind.AVAILABLE, idle, task)
        done = 0
        for cut in (*sorted(at for other, at in breaks if other == number and at), task.minutes):
            add(task.kind, cut - done, task, origin=task.origin, destination=task.destination, visit=task.visit)
            done = cut
            if cut < task.minutes:
                add(ActivityKind.BREAK, breaks[number, cut], task)
    return tuple(made)
