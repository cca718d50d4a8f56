"""
The plan: the answer to a day; runs, and moves not placed with the reason for each.

The cost of a plan is one sum: what its runs cost plus the price of every move left behind.
"""

from dataclasses import dataclass

from planner.model.moves import MoveId
from planner.runs.run import Run


@dataclass(frozen=True, kw_only=True, slots=True)
class NotPlaced:
    """A move that stays behind, its price and a reason a router can act on."""

    move: MoveId
    pence: int
    reason: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Bound:
    """
    A figure that no legal plan of the same day can undercut.

    ``covers`` says which runs the bound speaks of, ``relaxed`` which rules were loosened to compute it.
    """

    pence: int
    covers: str
    relaxed: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """Runs and what is left; ``bound`` is None until one is known."""

    runs: tuple[Run, ...]
    not_placed: tuple[NotPlaced, ...]
    bound: Bound | None = None
    found_by: str = ""  # method, seed and rounds or seconds, so that it can be made again
    seconds: float = 0.0

    @property
    def runs_pence(self) -> int:
        """What the runs cost, without the price of what stays behind."""
        return sum(run.cost_pence for run in self.runs)

    @property
    def cost_pence(self) -> int:
        """The one sum that planning makes least."""
        return self.runs_pence + sum(left.pence for left in self.not_placed)

    @property
    def gap(self) -> float | None:
        """How far the cost may be above the least possible, as a share of the bound; None without a bound."""
        if self.bound is None or self.bound.pence <= 0:
            return None
        return max(0.0, (self.cost_pence - self.bound.pence) / self.bound.pence)

    @property
    def money_gap(self) -> float | None:
        """The gap with the price of what stays behind taken from both sides; None without a bound or money."""
        if self.bound is None:
            return None
        behind = self.cost_pence - self.runs_pence
        money_bound = self.bound.pence - behind
        return max(0.0, (self.runs_pence - money_bound) / money_bound) if money_bound > 0 else None
