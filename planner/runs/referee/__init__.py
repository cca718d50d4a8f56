"""
The referee: re-derives every move, time, hour, mass and penny of a plan from its day alone, with code of its own.

It reads the model, the plan and the published tables, and nothing of how runs are timed, priced or searched for, so that
the same mistake would have to be made twice to pass.  ``planner.runs.referee.breach.Rule`` lists every rule it knows.
"""

from planner.model.day import Day
from planner.runs.plan import Plan
from planner.runs.referee.breach import Breach, Notebook, Rule
from planner.runs.referee.decision import check_decision
from planner.runs.referee.hired import check_hired
from planner.runs.referee.hours import check_hours
from planner.runs.referee.load import check_load
from planner.runs.referee.money import check_costs
from planner.runs.referee.past import check_past, check_progress
from planner.runs.referee.script import Script
from planner.runs.referee.sharing import check_bound, check_moves, check_sharing, unknown_names
from planner.runs.referee.stated import check_stated
from planner.runs.referee.trail import check_clock, check_shift, check_trail, check_visits
from planner.runs.run import Run, RunKind

__all__ = ["Breach", "Rule", "check_plan", "check_progress", "check_run", "check_stated"]


def check_plan(day: Day, plan: Plan) -> tuple[Breach, ...]:
    """Return every breach of the plan, none when it is legal, complete and rightly timed and priced."""
    notes = Notebook()
    readable = unknown_names(day, plan, notes)
    check_moves(day, plan, notes)
    check_bound(plan, notes)
    check_sharing(day, readable, notes)
    return (*notes.found, *(breach for run in readable for breach in check_run(day, run)))


def check_run(day: Day, run: Run) -> tuple[Breach, ...]:
    """
    Return every breach of one run, whatever the other runs do.

    Where the activities do not follow the decision at all, hours and the shift are still checked, visits and costs not.
    """
    notes = Notebook(run.run_id)
    check_decision(day, run.itinerary, notes)
    if run.kind is RunKind.HIRED:
        check_hired(day, run, notes)
        return tuple(notes.found)
    if run.itinerary.driver is None or not check_clock(day, run, notes):
        return tuple(notes.found)
    check_past(day, run, notes)
    if run.itinerary.past is None or not run.itinerary.past.is_over:  # what is over was no plan: the record tells its hours
        check_shift(day, run, notes)
        check_hours(day, run, notes)
    script = Script(day, run.itinerary, notes)
    done = check_trail(day, run, script, notes) if script.is_whole else None
    if done is not None:
        check_visits(day, run, script, done, notes)
        if script.transporter is not None:
            check_load(day, run, notes)
        check_costs(day, run, script, done, notes)
    return tuple(notes.found)
