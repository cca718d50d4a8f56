"""
Choice: the best legal set of columns, by an exact integer program over all that were found, or by diving.

A column's floor price stands until it is chosen; then it is timed and priced in truth, and the choice is made again,
until nothing chosen is a guess.  So only few columns are ever timed.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planner.runs.run import Run
from planner.search.columns import Column
from planner.search.master import Rows
from planner.search.program import Program
from planner.search.truth import Truth

SURE = 0.999
MOST_ASKED = 25  # times that a dive asks for more columns


@dataclass(frozen=True, kw_only=True, slots=True)
class Chosen:
    """A legal set of runs with the columns they come from, and what stays behind counted in ``pence``."""

    columns: tuple[Column, ...]
    runs: tuple[Run, ...]
    pence: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Choosing:
    """What a choice is made from: candidate columns, rows, truth, and the price of leaving each move behind."""

    pool: tuple[Column, ...]
    rows: Rows
    truth: Truth
    stays: dict[str, int]
    clock: Callable[[], float]

    def legal(self, columns: Sequence[Column]) -> Chosen:
        """Return those columns that are runs and legal, all else left behind."""
        used = [column for column in columns if is_run(column)]
        kept = [(column, run) for column in used if isinstance(run := self.truth.of(column), Run)]
        served = {move for column, _ in kept for move in column.moves}
        left = sum(pence for move, pence in self.stays.items() if move not in served)
        return Chosen(
            columns=tuple(column for column, _ in kept), runs=tuple(run for _, run in kept),
            pence=left + sum(run.cost_pence for _, run in kept),
        )  # fmt: skip


def is_run(column: Column) -> bool:
    """Return whether the column is a run, not a move left behind."""
    return column.rig >= 0 or column.carrier is not None


def dive(choosing: Choosing, *, seconds: float, more: Callable[[npt.NDArray[np.float64]], Sequence[Column]]) -> Chosen:
    """
    Return a legal set by taking, again and again, the columns that the linear program is surest of.

    A column is timed before it is taken, so what comes out is legal whenever the seconds end.  When some prove illegal,
    and at the end, ``more`` is asked for columns under the duals of what is left to decide.
    """
    until = choosing.clock() + seconds
    pool, truth = list(choosing.pool), choosing.truth
    known = {column.key for column in pool}
    program = Program(pool, choosing.rows, is_whole=False)
    for rank, column in enumerate(pool):
        program.price(rank, truth.pence(column))
    taken, asked, wants_more = dict[int, None](), 0, False
    while (left := until - choosing.clock()) > 0:
        shares = program.shares(seconds=left)
        if shares is None:
            break
        shares[list(taken)] = 0.0
        runs = [int(rank) for rank in np.flatnonzero(shares > 1e-6) if is_run(pool[rank])]
        if (wants_more or not runs) and asked < MOST_ASKED:
            asked, wants_more = asked + 1, False
            fresh = [column for column in more(program.row_dual) if column.is_elementary and column.key not in known]
            for column in fresh:
                known.add(column.key)
                pool.append(column)
                program.add(column, choosing.rows)
            if fresh:
                continue
        if not runs:
            break
        sure = [rank for rank in runs if shares[rank] >= SURE]
        for rank in sure or [max(runs, key=lambda rank: (shares[rank], -rank))]:
            if not isinstance(truth.of(pool[rank]), Run):
                program.bound(rank, 0.0, 0.0)
                wants_more = True
                continue
            program.price(rank, truth.pence(pool[rank]))
            program.bound(rank, 1.0, 1.0)
            taken[rank] = None
    return choosing.legal([pool[rank] for rank in taken])


def choose(
    choosing: Choosing, *, seconds: float, start: Sequence[Column] = (), gap: float = 1e-4, tries: int = 30
) -> Chosen | None:
    """
    Return the best legal set found in the seconds, None when there was no time for any.

    A chosen column that proves illegal leaves its moves behind, so every try gives a legal set; ``start`` is a legal set
    known before.
    """
    until = choosing.clock() + seconds
    best: Chosen | None = None
    pool, truth = choosing.pool, choosing.truth
    program = Program(pool, choosing.rows, is_whole=True)
    rank_of = {column.key: rank for rank, column in enumerate(pool)}
    for _ in range(tries):
        for rank, column in enumerate(pool):
            program.price(rank, truth.pence(column))
        left = until - choosing.clock()
        if left <= 0:
            break
        shares = program.shares(seconds=left, gap=gap, start=_with_stays(choosing, best.columns if best else start, rank_of))
        if shares is None:
            break
        picked = [int(rank) for rank in np.flatnonzero(shares > 0.5)]
        is_settled = all(truth.is_known(pool[rank]) for rank in picked if is_run(pool[rank]))
        found = choosing.legal([pool[rank] for rank in picked])
        if best is None or found.pence < best.pence:
            best = found
        if is_settled:
            break
    return best


def _with_stays(choosing: Choosing, columns: Sequence[Column], rank_of: dict[tuple[object, ...], int]) -> list[int]:
    """Return the ranks of a known set, with the columns of what it leaves behind; nothing when one is missing."""
    if not columns or any(column.key not in rank_of for column in columns):
        return []
    served = {move for column in columns for move in column.moves}
    left = [rank for rank, column in enumerate(choosing.pool) if not is_run(column) and column.moves[0] not in served]
    return [rank_of[column.key] for column in columns] + left
