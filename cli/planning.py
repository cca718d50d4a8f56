"""Runs a search with its progress shown; Ctrl-C keeps the best plan found so far."""

from typing import TYPE_CHECKING

from cli.progress import told_progress

if TYPE_CHECKING:
    from planner.model.day import Day
    from planner.runs.plan import Plan


def planned(day: "Day", *, seconds: float, seed: int = 0, rounds: int | None = None, baseline: bool = False) -> "Plan":
    """Return a plan of the day."""
    if baseline:
        from planner.search.baseline import solve_baseline

        with told_progress() as _:
            return solve_baseline(day, seconds=seconds, seed=seed, rounds=rounds)
    from planner.search.solve import solve

    with told_progress() as tell:
        return solve(day, seconds=seconds, seed=seed, rounds=rounds, progress=tell)
