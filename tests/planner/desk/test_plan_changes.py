"""What differs between two plans of a day, in words that a dispatcher can read out."""

from dataclasses import replace

from planner.desk.plan_changes import in_words, plan_changes
from planner.runs.past import on_time, past_of
from planner.runs.plan import NotPlaced
from planner.runs.referee import check_plan


def test_nothing_differs_between_a_plan_and_itself(planned):
    day, plan = planned
    changes = plan_changes(day, plan, day, plan)
    assert (changes.moves, changes.crews) == ((), ())
    assert list(in_words(day, changes)) == [f"Cost £{plan.cost_pence / 100:,.2f} before, £{plan.cost_pence / 100:,.2f} after: the same."]


def test_a_run_that_is_dropped_breaks_its_promises_and_no_others(planned):
    day, plan = planned
    run = plan.runs[0]
    behind = tuple(NotPlaced(move=move, pence=day.move_of[move].stays_behind_pence, reason="The crew is ill.") for move in run.itinerary.moves)
    fewer = replace(plan, runs=plan.runs[1:], not_placed=(*plan.not_placed, *behind), bound=None)
    assert check_plan(day, fewer) == ()
    changes = plan_changes(day, plan, day, fewer)
    assert {change.move for change in changes.moves} == set(run.itinerary.moves)
    assert all(change.changes_crew and change.changes_promise and change.after is None for change in changes.moves)
    said = list(in_words(day, changes))
    assert all("no longer done today" in line and line.endswith("so that the promise is broken.") for line in said[:-1])
    by = sum(left.pence for left in behind) - run.cost_pence
    assert said[-1].endswith(f"£{abs(by) / 100:,.2f} {'more' if by > 0 else 'less'}.")
    back = plan_changes(day, fewer, day, plan)
    assert all(line.split(": ")[1].startswith("new, ") for line in list(in_words(day, back))[:-1])


def test_another_crew_and_another_time_are_told(planned):
    day, plan = planned
    run = next(one for one in plan.runs if one.itinerary.driver and not one.itinerary.transporter)
    driver = next(one.driver_id for one in day.drivers if one.driver_id != run.itinerary.driver)
    other = replace(run, itinerary=replace(run.itinerary, driver=driver),
                    visits=tuple(replace(visit, start_min=visit.start_min + 30) for visit in run.visits))
    changes = plan_changes(day, plan, day, replace(plan, runs=tuple(other if one is run else one for one in plan.runs)))
    assert changes.crews == tuple(sorted({str(run.itinerary.driver), str(driver)}))
    for line in list(in_words(day, changes))[:-1]:
        assert f"{driver} in place of {run.itinerary.driver}, " in line
    slight = replace(run, visits=tuple(replace(visit, start_min=visit.start_min + 2) for visit in run.visits))
    assert plan_changes(day, plan, day, replace(plan, runs=tuple(slight if one is run else one for one in plan.runs))).moves == ()


def test_minutes_at_a_door_where_the_crew_has_been_already_are_no_news(planned):
    day, plan = planned
    run = max((one for one in plan.runs if one.activities), key=lambda one: len(one.visits))
    now_min = run.visits[1].end_min
    past = past_of(run, on_time(run, now_min), now_min=now_min)
    shifted = replace(run, visits=tuple(replace(visit, start_min=visit.start_min + 30) for visit in run.visits))
    under_way = replace(shifted, itinerary=replace(run.itinerary, past=past))

    def changed(other):
        found = plan_changes(day, plan, day, replace(plan, runs=tuple(other if one is run else one for one in plan.runs)))
        return {change.move for change in found.moves if not change.changes_promise}

    done = set(run.visits[1].leaves)
    assert done
    assert done <= changed(shifted)
    assert not done & changed(under_way)
    assert changed(under_way)


def test_a_car_that_is_brought_back_is_told_and_breaks_its_promise(planned):
    day, plan = planned
    moves = (day.move_of[name] for run in plan.runs for name in run.itinerary.moves)
    move = next(one for one in moves if one.origin in day.compound_of and one.destination not in day.compound_of and one.destination_window)
    name = move.move_id
    today = replace(day, moves=tuple(replace(one, destination=move.origin, destination_window=None) if one is move else one for one in day.moves))
    changes = plan_changes(day, plan, today, plan)
    (change,) = [one for one in changes.moves if one.move == name]
    assert change.back_to == day.place_of[move.origin].name
    assert change.changes_promise
    said = next(line for line in in_words(today, changes) if line.startswith(f"{name}:"))
    assert "not delivered (it was " in said
    assert said.endswith(f" brings the car back to {change.back_to}, so that the promise is broken.")
    assert plan_changes(today, plan, today, plan).moves == ()
