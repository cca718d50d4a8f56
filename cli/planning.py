"""Runs a search with its progress shown."""

from typing import TYPE_CHECKING

from cli.progress import told_progress

if TYPE_CHECKING:
    from planner.model.day import Day
    from planner.search.solve import Solution


NEAR_SECONDS = 3.0  # for the runs that a plan nearly used, by which quotes are priced


def planned_with_prices(
    day: "Day", *, seconds: float, seed: int = 0, rounds: int | None = None, address: str | None = None
) -> "Solution":
    """Return a plan of the day, with what quotes on it need; ``address`` is that of a cluster's scheduler, if any."""
    from cli.machines import machines
    from planner.search.solve import solve_priced

    with machines(address) as executor, told_progress() as progress:
        return solve_priced(
            day, seconds=seconds, seed=seed, rounds=rounds, progress=progress, executor=executor, near_seconds=NEAR_SECONDS
        )  # fmt: skip
