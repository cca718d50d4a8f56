"""
Choice: the best legal set of columns, by an exact integer program over all that were found.

A column's floor price stands until it is chosen; then it is timed and priced in truth, and the choice is made again,
until nothing chosen is a guess.  So only few columns are ever timed, and the choice is exact over all of them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from planner.runs.run import Run
from planner.search.columns import Column
from planner.search.master import Rows
from planner.search.truth import Truth


@dataclass(frozen=True, kw_only=True, slots=True)
class Chosen:
    """A legal set of runs with the columns they come from, and what stays behind counted in ``pence``."""

    columns: tuple[Column, ...]
    runs: tuple[Run, ...]
    pence: int


def choose(
    columns: Sequence[Column], rows: Rows, truth: Truth, *, stays: dict[str, int], seconds: float,
    clock: Callable[[], float], tries: int = 12, share: float = 1e-4,
) -> Chosen | None:  # fmt: skip
    """
    Return the best legal set found in the seconds, None when there was no time for any.

    ``stays`` are the prices of leaving each move behind; a chosen column that proves illegal leaves its moves behind, so
    every try gives a legal set.
    """
    until = clock() + seconds
    best: Chosen | None = None
    pool = [column for column in columns if column.is_elementary]
    program = _Program(pool, rows)
    for _ in range(tries):
        for rank, column in enumerate(pool):
            program.price(rank, truth.pence(column))
        left = until - clock()
        if left <= 0:
            break
        picked = program.solve(left, share)
        if picked is None:
            break
        used = [pool[rank] for rank in picked if pool[rank].rig >= 0 or pool[rank].carrier is not None]
        news = [column for column in used if not truth.is_known(column)]
        legal = [(column, run) for column in used if isinstance(run := truth.of(column), Run)]
        served = {move for column, _ in legal for move in column.moves}
        pence = sum(run.cost_pence for _, run in legal) + sum(price for move, price in stays.items() if move not in served)
        if best is None or pence < best.pence:
            best = Chosen(columns=tuple(column for column, _ in legal), runs=tuple(run for _, run in legal), pence=pence)
        if not news:
            break
    return best


class _Program:
    """The integer program; prices may change between solves."""

    def __init__(self, pool: Sequence[Column], rows: Rows) -> None:
        import highspy

        self.highs: Any = highspy.Highs()  # type: ignore[no-untyped-call]
        for option, value in (("output_flag", False), ("threads", 1), ("random_seed", 1)):
            self.highs.setOptionValue(option, value)
        starts, index, values = [0], list[int](), list[float]()
        for column in pool:
            entries = rows.of(column)
            index += entries
            values += entries.values()
            starts.append(len(index))
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = len(pool), len(rows.lower)
        model.col_cost_ = np.array([column.pence for column in pool])
        model.col_lower_, model.col_upper_ = np.zeros(len(pool)), np.ones(len(pool))
        model.row_lower_, model.row_upper_ = np.array(rows.lower), np.array(rows.upper)
        model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        model.a_matrix_.start_ = np.array(starts, np.int32)
        model.a_matrix_.index_, model.a_matrix_.value_ = np.array(index, np.int32), np.array(values)
        model.integrality_ = [highspy.HighsVarType.kInteger] * len(pool)
        self.highs.passModel(model)
        self.prices = [column.pence for column in pool]

    def price(self, rank: int, pence: float) -> None:
        """Set one column's price."""
        if self.prices[rank] != pence:
            self.prices[rank] = pence
            self.highs.changeColCost(rank, pence)

    def solve(self, seconds: float, share: float) -> list[int] | None:
        """Return the ranks chosen, None when nothing was found in time."""
        self.highs.setOptionValue("time_limit", float(self.highs.getRunTime()) + seconds)
        self.highs.setOptionValue("mip_rel_gap", share)
        self.highs.run()
        values = np.array(self.highs.getSolution().col_value)
        info = self.highs.getInfo()
        if info.primal_solution_status != 2 or not len(values):  # 2: feasible
            return None
        return [int(rank) for rank in np.flatnonzero(values > 0.5)]
