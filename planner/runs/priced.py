"""Priced: an itinerary timed by :mod:`planner.runs.timing`, with every line of its cost by :mod:`planner.runs.costing`."""

from dataclasses import replace

from planner.model.day import Day
from planner.runs.costing import price
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary, Run
from planner.runs.timing import lay_out


def priced(day: Day, itinerary: Itinerary, *, run_id: str = "") -> Run | Refusal:
    """Return the itinerary timed and priced, or by which rule it cannot be run."""
    run = lay_out(day, itinerary, run_id=run_id)
    return run if isinstance(run, Refusal) else replace(run, costs=price(day, run))
