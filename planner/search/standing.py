"""
Standing choice: the cheapest choice in shares among the columns of a date, kept solved while moves are asked for one by one.

A question adds one move that must be done and columns that do it; the linear problem goes on from where it stood, and is as
it was when the question is over.  The runs of the plan as it stands are held to cost a little less than they do, just so much
that the choice in shares is that plan and no mixture: what a question then changes is few runs, and mostly whole ones.
"""

from collections import Counter
from collections.abc import Sequence
from typing import Self

import numpy as np
import numpy.typing as npt

from planner.model.moves import MoveId
from planner.search.columns import Column
from planner.search.master import Rows, empty_solver
from planner.search.program import Program
from planner.search.quiet_highs import UNBOUND

Floats = npt.NDArray[np.float64]
Ranks = npt.NDArray[np.int64]
Does = npt.NDArray[np.bool_]  # by column and move
WHOLE = 1e-6
LEANS_PENCE, LEANS_AT_MOST_PENCE = 5.0, 300.0  # each run of the plan, beside what its own reduced cost says
FAR_OFF_PENCE = 500.0  # a plan so much dearer than the choice in shares is chosen anew first
LITTLE_PENCE = 300.0
FEW_OF_EACH = 3  # columns with the same moves and other crews, where few runs are in question
FEW, NODES = 400, 10  # columns of a wide choice that are chosen among to the end; nodes of the tree of any other
HIDES_PENCE = 50.0  # what the prices of runs that were given up may have hidden
SECONDS = 0.5  # for a whole choice, which takes some hundredths, seldom some tenths


class StandingChoice:
    """The columns of a date under the master's rows; ``plan`` are those chosen, ``pence`` is what they cost in truth."""

    def __init__(self, columns: Sequence[Column], rows: Rows, plan: Sequence[int]) -> None:
        self.columns, self.asked_row = tuple(columns), len(rows.lower)
        self.rows = Rows(rows.index, (*rows.lower, -UNBOUND), (*rows.upper, UNBOUND))
        self.solver = empty_solver(self.rows)
        self.uses = uses_of(self.columns, self.rows)
        self.add(self.columns, self.uses)
        self.plan = np.array(plan)
        self._lean()
        self.basis = self.solver.getBasis()

    @property
    def pence(self) -> float:
        """What the plan costs."""
        return float(sum(self.columns[rank].pence for rank in self.plan))

    def add(self, columns: Sequence[Column], uses: Floats) -> None:
        """Add columns to the linear problem; ``uses`` are their coefficients, a row for each."""
        at, rows = np.nonzero(uses)
        starts = np.searchsorted(at, np.arange(len(columns)))
        self.solver.addCols(
            len(columns), np.array([column.pence for column in columns]), np.zeros(len(columns)),
            np.full(len(columns), UNBOUND), len(at), starts.astype(np.int32), rows.astype(np.int32), uses[at, rows],
        )  # fmt: skip

    def ask(self, move: MoveId) -> "Question":
        """Return the question for one more move; it must be closed before the next."""
        return Question(self, move)

    def _lean(self) -> None:
        """Lower the prices of the plan's columns until the choice in shares is the plan, a cheaper plan first if one is known."""
        self.solver.run()
        pence, reduced = self._told()
        if self.pence - pence > FAR_OFF_PENCE:
            self._choose(self.pence - pence, reduced)
        leaned, more = np.maximum(0.0, reduced[self.plan]), LEANS_PENCE
        while True:
            for rank, less in zip(self.plan, leaned, strict=True):
                self.solver.changeColCost(int(rank), self.columns[rank].pence - less - more)
            self.solver.run()
            self.leaned_pence = self.pence - float(leaned.sum()) - more * len(self.plan)
            if self.leaned_pence - self._told()[0] < 1.0 or more > LEANS_AT_MOST_PENCE:
                return
            more *= 2

    def _told(self) -> tuple[float, Floats]:
        """Return what the choice in shares costs, and the reduced cost of each column."""
        return float(self.solver.getInfo().objective_function_value), np.array(self.solver.getSolution().col_dual)

    def _choose(self, within_pence: float, reduced: Floats) -> None:
        """Take the cheapest whole choice for the plan, if that is cheaper."""
        pool = np.flatnonzero(reduced <= within_pence + 1.0)
        shares = Program([self.columns[rank] for rank in pool], self.rows, is_whole=True).shares(seconds=SECONDS, gap=1e-4)
        chosen = self.plan if shares is None else pool[shares > 1 - WHOLE]
        if sum(self.columns[rank].pence for rank in chosen) < self.pence:
            self.plan = chosen


class Question:
    """One more move to be done, and the columns known to do it; for a ``with`` block."""

    def __init__(self, standing: StandingChoice, move: MoveId) -> None:
        self.standing, self.solver = standing, standing.solver
        rows = standing.rows
        asked = rows.index | {("move", move): standing.asked_row}
        self.rows = Rows(asked, (*rows.lower[:-1], 1.0), (*rows.upper[:-1], 1.0))
        self.move_rows = np.array([row for (kind, _), row in asked.items() if kind == "move"])
        self.columns, self.uses = standing.columns, standing.uses
        self.shares = self.duals = self.reduced = np.zeros(0)
        self.pence = 0.0  # what the last choice in shares adds to the plan, at the prices of the linear problem

    def __enter__(self) -> Self:
        self.solver.changeRowBounds(self.standing.asked_row, 1.0, 1.0)
        return self

    def __exit__(self, *_: object) -> None:
        fresh = np.arange(len(self.standing.columns), len(self.columns), dtype=np.int32)
        self.solver.deleteCols(len(fresh), fresh)
        self.solver.changeRowBounds(self.standing.asked_row, -UNBOUND, UNBOUND)
        self.solver.setBasis(self.standing.basis)

    def add(self, columns: Sequence[Column]) -> None:
        """Let more columns do the move."""
        fresh = uses_of(columns, self.rows)
        self.standing.add(columns, fresh)
        self.columns, self.uses = (*self.columns, *columns), np.vstack((self.uses, fresh))

    def solve(self) -> bool:
        """Choose in shares with the move done; ``shares`` and ``reduced`` by column and ``duals`` by row stand then."""
        self.solver.run()
        found, told = self.solver.getSolution(), self.solver.getInfo()
        self.shares, self.duals, self.reduced = (np.array(of) for of in (found.col_value, found.row_dual, found.col_dual))
        self.pence = float(told.objective_function_value) - self.standing.leaned_pence
        return bool(told.primal_solution_status == 2)  # a code of the solver

    def whole(self, within_pence: float, *, is_wide: bool) -> float | None:
        """
        Return what a cheap whole choice costs in truth, None when none was found.

        Runs of the plan that the last choice in shares took whole stay; where it ``is_wide``, not those that could change cars
        with the others at little cost.  Of the other columns those are looked at whose reduced cost is ``within_pence``.
        """
        if self._is_whole:
            pence = float(sum(self.columns[rank].pence for rank in np.flatnonzero(self.shares > 1 - WHOLE)))
            if self.pence - (pence - self.standing.pence) <= HIDES_PENCE:
                return pence
        does = self.uses[:, self.move_rows] > 0
        stays = self._staying(within_pence, does, is_wide=is_wide)
        is_free = ~does[:, does[stays].any(axis=0)].any(axis=1) & (self.reduced <= within_pence)
        free = np.flatnonzero(is_free) if is_wide else self._few_of_each(np.flatnonzero(is_free), does)
        pool = [self.columns[rank] for rank in (*stays, *free)]
        program = Program(pool, self.rows, is_whole=True)
        for rank in range(len(stays)):
            program.bound(rank, 1.0, 1.0)
        shares = program.shares(seconds=SECONDS, gap=1e-6, nodes=None if is_wide and len(pool) <= FEW else NODES)
        if shares is None:
            return None
        return float(sum(column.pence * share for column, share in zip(pool, shares, strict=True)))

    def _few_of_each(self, ranks: Ranks, does: Does) -> Ranks:
        """Return those of some columns that the last choice in shares holds, and the nearest few with the same moves."""
        order = ranks[np.lexsort((self.reduced[ranks], self.shares[ranks] <= WHOLE))]
        held: Counter[bytes] = Counter()
        kept = []
        for rank in order:
            moves = does[rank].tobytes()
            if held[moves] < FEW_OF_EACH or self.shares[rank] > WHOLE:
                kept.append(rank)
                held[moves] += 1
        return np.array(kept, np.int64)

    @property
    def _is_whole(self) -> bool:
        """Whether the last choice in shares holds no part of a run."""
        return bool(((self.shares < WHOLE) | (self.shares > 1 - WHOLE)).all())

    def _staying(self, within_pence: float, does: Does, *, is_wide: bool) -> Ranks:
        """Return the columns of the plan that are not put in question; none where all can be chosen among as well."""
        if is_wide and (self.reduced <= within_pence).sum() <= FEW:
            return np.zeros(0, np.int64)
        stays: Ranks = self.standing.plan[self.shares[self.standing.plan] > 1 - WHOLE]
        if not is_wide:
            return stays
        in_question = ~does[stays].any(axis=0)
        swaps = (self.reduced <= LITTLE_PENCE) & does[:, in_question].any(axis=1)
        return stays[~does[np.ix_(stays, does[swaps].any(axis=0))].any(axis=1)]


def uses_of(columns: Sequence[Column], rows: Rows) -> Floats:
    """Return the coefficients of columns, a row for each, under the master's rows."""
    uses = np.zeros((len(columns), len(rows.lower)))
    for rank, column in enumerate(columns):
        for row, times in rows.of(column).items():
            uses[rank, row] = times
    return uses
