"""Program: a choice among columns as a linear or integer program whose prices and bounds may change between solves."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from planner.search.columns import Column
from planner.search.master import Rows
from planner.search.quiet_highs import quiet_highs

Floats = npt.NDArray[np.float64]
Entries = tuple[npt.NDArray[np.int32], npt.NDArray[np.int32], Floats]


class Program:
    """Columns between 0 and 1 under the master's rows; whole or in shares."""

    def __init__(
        self, pool: Sequence[Column], rows: Rows, *, is_whole: bool, uses: Floats | None = None, **options: object
    ) -> None:
        """Make the program; ``uses`` are coefficients, a row for each column, where they are known, ``options`` HiGHS' own."""
        import highspy

        self.highs = quiet_highs(**options)
        starts, index, values = _by_column(pool, rows) if uses is None else _by_row(uses)
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = len(pool), len(rows.lower)
        model.col_cost_ = np.array([column.pence for column in pool])
        model.col_lower_, model.col_upper_ = np.zeros(len(pool)), np.ones(len(pool))
        model.row_lower_, model.row_upper_ = np.array(rows.lower), np.array(rows.upper)
        model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        model.a_matrix_.start_, model.a_matrix_.index_, model.a_matrix_.value_ = starts, index, values
        if is_whole:
            model.integrality_ = [highspy.HighsVarType.kInteger] * len(pool)
        self.highs.passModel(model)
        self.prices = [column.pence for column in pool]
        self.least = 0.0  # what no choice undercuts, after the last solve in whole columns

    def price(self, rank: int, pence: float) -> None:
        """Set one column's price."""
        if self.prices[rank] != pence:
            self.prices[rank] = pence
            self.highs.changeColCost(rank, pence)

    def bound(self, rank: int, low: float, high: float) -> None:
        """Set between which shares one column lies."""
        self.highs.changeColBounds(rank, low, high)

    def shares(self, *, seconds: float, gap: float = 0.0, nodes: int | None = None) -> Floats | None:
        """Return the share of each column, None when nothing was found in time."""
        self.highs.setOptionValue("time_limit", float(self.highs.getRunTime()) + seconds)
        self.highs.setOptionValue("mip_rel_gap", gap)
        if nodes is not None:
            self.highs.setOptionValue("mip_max_nodes", nodes)
        self.highs.run()
        found = np.array(self.highs.getSolution().col_value)
        told = self.highs.getInfo()
        self.least = float(told.mip_dual_bound)
        is_feasible = told.primal_solution_status == 2  # a code of the solver
        return found if is_feasible and len(found) else None

    def keep_apart(self, ranks: Sequence[int]) -> None:
        """Let no choice hold all of these columns."""
        self.highs.addRow(0.0, len(ranks) - 1.0, len(ranks), np.array(ranks, np.int32), np.ones(len(ranks)))


def _by_column(pool: Sequence[Column], rows: Rows) -> Entries:
    """Return where each column's entries start, the row of each entry and its coefficient."""
    starts, index, values = [0], list[int](), list[float]()
    for column in pool:
        entries = rows.of(column)
        index += entries
        values += entries.values()
        starts.append(len(index))
    return np.array(starts, np.int32), np.array(index, np.int32), np.array(values)


def _by_row(uses: Floats) -> Entries:
    """Return the same of a table with a row for each column of the program."""
    at, index = np.nonzero(uses)
    return np.searchsorted(at, np.arange(len(uses) + 1)).astype(np.int32), index.astype(np.int32), uses[at, index]
