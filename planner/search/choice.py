"""
Choice: the best legal set of columns, by an exact integer program over a pool of them.

A column's floor price stands until it is chosen; then it is timed and priced in truth, and the choice is made again,
until nothing chosen is a guess.  So only few columns are ever timed.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from planner.model.day import Day
from planner.runs.bays import crowds
from planner.runs.run import Run
from planner.search.columns import Column
from planner.search.master import Rows
from planner.search.program import Program
from planner.search.truth import Truth


@dataclass(frozen=True, kw_only=True, slots=True)
class Chosen:
    """A legal set of runs with the columns they come from, and what stays behind counted in ``pence``."""

    columns: tuple[Column, ...]
    runs: tuple[Run, ...]
    pence: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Choice:
    """The best set found, None when there was no time for any, and a figure that no set from the pool undercuts."""

    best: Chosen | None
    least: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Choosing:
    """What a choice is made from: candidate columns, rows, truth, and the price of leaving each move behind."""

    day: Day
    pool: tuple[Column, ...]
    rows: Rows
    truth: Truth
    stays: dict[str, int]
    clock: Callable[[], float]

    def legal(self, columns: Sequence[Column]) -> Chosen:
        """Return those columns that are runs and legal together, all else left behind."""
        used = [column for column in columns if is_run(column)]
        kept = [(column, run) for column in used if isinstance(run := self.truth.of(column), Run)]
        while crowd := crowds(self.day, [run for _, run in kept]):
            spare = min(crowd[0], key=lambda rank: (sum(self.stays[move] for move in kept[rank][0].moves), rank))
            del kept[spare]
        served = {move for column, _ in kept for move in column.moves}
        left = sum(pence for move, pence in self.stays.items() if move not in served)
        return Chosen(
            columns=tuple(column for column, _ in kept), runs=tuple(run for _, run in kept),
            pence=left + sum(run.cost_pence for _, run in kept),
        )  # fmt: skip


def is_run(column: Column) -> bool:
    """Return whether the column is a run, not a move left behind."""
    return column.rig >= 0 or column.carrier is not None


def choose(
    choosing: Choosing, *, seconds: float, gap: float = 1e-4, tries: int = 60
) -> Choice:
    """
    Return the best legal set found in the seconds, and what none of the pool undercuts.

    A chosen column that proves illegal leaves its moves behind, so every try gives a legal set.
    Transporters that would crowd a compound's bays are kept apart, which ``least`` does not count on.
    """
    until = choosing.clock() + seconds
    best, least = None, 0.0
    pool, truth = choosing.pool, choosing.truth
    program = Program(pool, choosing.rows, is_whole=True)
    is_apart = False
    for _ in range(tries):
        for rank, column in enumerate(pool):
            program.price(rank, truth.pence(column))
        left = until - choosing.clock()
        if left <= 0:
            break
        shares = program.shares(seconds=left, gap=gap)
        if shares is None:
            break
        least = least if is_apart else max(least, program.least)
        picked = [int(rank) for rank in np.flatnonzero(shares > 0.5)]
        is_settled = all(truth.is_known(pool[rank]) for rank in picked if is_run(pool[rank]))
        found = choosing.legal([pool[rank] for rank in picked])
        if best is None or found.pence < best.pence:
            best = found
        timed = [(rank, run) for rank in picked if is_run(pool[rank]) and isinstance(run := truth.of(pool[rank]), Run)]
        for crowd in crowds(choosing.day, [run for _, run in timed]):
            program.keep_apart([timed[member][0] for member in crowd])
            is_apart, is_settled = True, False
        if is_settled:
            break
    return Choice(best=best, least=least)
