"""Prices: what one more of everything would cost or save a plan, as found with it, and the runs that it nearly used."""

from dataclasses import dataclass

from planner.model.moves import MoveId
from planner.runs.run import Run


@dataclass(frozen=True, kw_only=True, slots=True)
class Prices:
    """
    What the master problem would pay, in pence, when it was last exact.

    ``move``: for one more move like this; ``driver`` and ``transporter``: what one more of them would save at most, by
    identifier; ``plates``: one more set, by compound.
    """

    move: dict[MoveId, float]
    driver: dict[str, float]
    transporter: dict[str, float]
    plates: dict[str, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Near:
    """What a plan leaves behind for quotes: the prices of its proof and the runs that it nearly used."""

    prices: Prices
    runs: tuple[Run, ...]
