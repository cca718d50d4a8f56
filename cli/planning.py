"""Runs a search with its progress shown."""

from typing import TYPE_CHECKING

from cli.progress import told_progress

if TYPE_CHECKING:
    from planner.model.day import Day
    from planner.runs.plan import Plan
    from planner.search.solve import Solution


def planned(day: "Day", *, seconds: float, seed: int = 0, rounds: int | None = None) -> "Plan":
    """Return a plan of the day."""
    return planned_with_prices(day, seconds=seconds, seed=seed, rounds=rounds).plan


def planned_with_prices(
    day: "Day", *, seconds: float, seed: int = 0, rounds: int | None = None, address: str | None = None
) -> "Solution":
    """Return a plan of the day, with the prices behind its bound; ``address`` is that of a cluster's scheduler, if any."""
    from cli.machines import machines
    from planner.search.solve import solve_priced

    with machines(address) as executor, told_progress() as progress:
        return solve_priced(day, seconds=seconds, seed=seed, rounds=rounds, progress=progress, executor=executor)
