"""Runs a search with its progress shown."""

from typing import TYPE_CHECKING

from cli.progress import told_progress

if TYPE_CHECKING:
    from planner.model.day import Day
    from planner.runs.plan import Plan


def planned(day: "Day", *, seconds: float, seed: int = 0, rounds: int | None = None) -> "Plan":
    """Return a plan of the day."""
    from planner.search.solve import solve

    with told_progress() as progress:
        return solve(day, seconds=seconds, seed=seed, rounds=rounds, progress=progress)
