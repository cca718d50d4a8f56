"""The summary on the terminal: promises that are past are not kept, and a night away is no duty."""

from dataclasses import replace
from datetime import timedelta

from cli.summary import cost_lines, summary
from planner.runs.run import Activity, ActivityKind
from tests.sheet_days import a_day, a_plan


def test_a_promise_of_yesterday_is_not_kept_today():
    day, plan = a_day(), a_plan()
    first = replace(day.orders[0], promise=replace(day.orders[0].promise, day=day.clock.day - timedelta(days=1)))
    (kept,) = (line for line in summary(day, plan) if line.startswith("Promises kept"))
    (fewer,) = (line for line in summary(replace(day, orders=(first, *day.orders[1:])), plan) if line.startswith("Promises kept"))
    assert (kept, fewer) == ("Promises kept: 3 of 5; orders held: 1.", "Promises kept: 2 of 5; orders held: 1.")


def test_a_night_away_is_no_duty():
    """11 h of rest between 60 minutes before and 60 after: 2 h of duty (DEVELOPERS.md, wages)."""
    plan = a_plan()
    run = plan.runs[0]
    here = run.itinerary.stops[0].place
    spans = ((ActivityKind.OTHER_WORK, 900, 960), (ActivityKind.REST, 960, 1620), (ActivityKind.OTHER_WORK, 1620, 1680))
    away = replace(run, activities=tuple(
        Activity(kind=kind, start_min=start, end_min=end, origin=here, destination=here) for kind, start, end in spans
    ))  # fmt: skip
    assert "; 2 h 00 of duty." in cost_lines(replace(plan, runs=(away,)))[0]
