"""
Standing choice: the cheapest choice in shares among the columns of a date, kept solved while moves are asked for one by one.

A question adds one move that must be done and columns that do it; the linear problem goes on from where it stood, and is as
it was when the question is over.  The runs of the plan as it stands are held to cost a little less than they do, just so much
that the choice in shares is that plan and no mixture: what a question then changes is few runs, and mostly whole ones.  Where
it does not change whole ones, cuts (:mod:`planner.search.triples`) and a few branches (:mod:`planner.search.branching`) do.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
import numpy.typing as npt

from planner.model.moves import MoveId
from planner.search.columns import Column
from planner.search.master import Rows, empty_solver
from planner.search.program import Program
from planner.search.quiet_highs import UNBOUND
from planner.search.triples import Does, Triples, broken_triples, counts_in

Floats = npt.NDArray[np.float64]
Ranks = npt.NDArray[np.int64]
WHOLE = 1e-6
LEANS_PENCE, LEANS_AT_MOST_PENCE = 5.0, 300.0  # each run of the plan, beside what its own reduced cost says
FAR_OFF_PENCE, CLEARLY_PENCE = 500.0, 1000.0  # a plan so much dearer than the choice in shares, and yet with cuts, is chosen anew
SECONDS = 0.5  # for that choice, and for one of a question
#: What makes an integer program of some thousand columns and hardly any branch quick.
QUICK_PROGRAM = {
    "mip_heuristic_run_feasibility_jump": False, "mip_heuristic_run_rins": False, "mip_heuristic_run_rens": False,
}  # fmt: skip


class StandingChoice:
    """The columns of a date under the master's rows; ``plan`` are those chosen, ``pence`` is what they cost in truth."""

    def __init__(self, columns: Sequence[Column], rows: Rows, plan: Sequence[int]) -> None:
        self.columns, self.asked_row = tuple(columns), len(rows.lower)
        self.rows = Rows(rows.index, (*rows.lower, -UNBOUND), (*rows.upper, UNBOUND))
        self.move_rows = np.array([*(row for (kind, _), row in rows.index.items() if kind == "move"), self.asked_row])
        self.solver = empty_solver(self.rows, dual_simplex_cost_perturbation_multiplier=0.0)
        self.uses = uses_of(self.columns, self.rows)
        self.does: Does = self.uses[:, self.move_rows] > 0
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
            self._choose()
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

    def _choose(self) -> None:
        """Take the cheapest whole choice for the plan, if cuts leave room for one that is clearly cheaper."""
        num_cuts = 0
        while self.pence - self._told()[0] > FAR_OFF_PENCE and (fresh := self._cut()):
            num_cuts += fresh
            self.solver.run()
        pence, reduced = self._told()
        self.solver.deleteRows(num_cuts, np.arange(len(self.rows.lower), len(self.rows.lower) + num_cuts, dtype=np.int32))
        if self.pence - pence <= CLEARLY_PENCE:
            return  # no choice is cheaper by more than that
        pool = np.flatnonzero(reduced <= self.pence - pence + 1.0)
        shares = Program([self.columns[rank] for rank in pool], self.rows, is_whole=True).shares(seconds=SECONDS, gap=1e-4)
        chosen = self.plan if shares is None else pool[shares > 1 - WHOLE]
        if sum(self.columns[rank].pence for rank in chosen) < self.pence:
            self.plan = chosen

    def _cut(self) -> int:
        return len(add_cuts(self.solver, self.does, np.array(self.solver.getSolution().col_value)))


@dataclass(frozen=True, kw_only=True, slots=True)
class Whole:
    """Ranks of columns that do everything once, and what they add to the plan in truth."""

    pence: float
    chosen: tuple[int, ...]


class Question:
    """One more move to be done, and the columns known to do it; for a ``with`` block."""

    def __init__(self, standing: StandingChoice, move: MoveId) -> None:
        self.standing, self.solver = standing, standing.solver
        rows = standing.rows
        asked = rows.index | {("move", move): standing.asked_row}
        self.rows = Rows(asked, (*rows.lower[:-1], 1.0), (*rows.upper[:-1], 1.0))
        self.columns, self.does, self.uses = list(standing.columns), standing.does, [standing.uses]
        self.triples: Triples = np.zeros((0, 3), np.int64)
        self.row_bounds: dict[int, tuple[float, float]] = {}
        self.shares = self.duals = self.done = np.zeros(0)
        self.pence = 0.0  # what the last choice in shares adds to the plan, at the prices of the linear problem
        self._solved: bool | None = None  # whether the problem has a choice as it stands; None before it was solved

    def __enter__(self) -> Self:
        self.solver.changeRowBounds(self.standing.asked_row, 1.0, 1.0)
        return self

    def __exit__(self, *_: object) -> None:
        fresh = np.arange(len(self.standing.columns), len(self.columns), dtype=np.int32)
        self.solver.deleteCols(len(fresh), fresh)
        cuts = np.arange(len(self.rows.lower), len(self.rows.lower) + len(self.triples), dtype=np.int32)
        self.solver.deleteRows(len(cuts), cuts)
        self.solver.changeRowBounds(self.standing.asked_row, -UNBOUND, UNBOUND)
        self.solver.setBasis(self.standing.basis)

    def add(self, columns: Sequence[Column]) -> None:
        """Let more columns do the move."""
        fresh = uses_of(columns, self.rows)
        self.standing.add(columns, self._with_cuts(fresh))
        self._keep_solved(np.array([column.pence for column in columns]), fresh)
        self.columns += columns
        self.uses.append(fresh)
        self.does = np.vstack((self.does, self._done_by(fresh)))

    def _keep_solved(self, pence: Floats, uses: Floats) -> None:
        """Let the last choice in shares stand where no column that is added would gain by its prices."""
        if self._solved and (self.reduced(pence, uses) >= 0.0).all():
            self.shares = np.append(self.shares, np.zeros(len(pence)))
        else:
            self._solved = None

    def solve(self) -> bool:
        """Choose in shares with the move done; ``shares`` by column and ``duals`` by row and cut stand then."""
        if self._solved is not None:
            return self._solved
        self.solver.run()
        found, told = self.solver.getSolution(), self.solver.getInfo()
        self.shares, self.duals, self.done = (np.array(of) for of in (found.col_value, found.row_dual, found.row_value))
        self.pence = float(told.objective_function_value) - self.standing.leaned_pence
        self._solved = bool(told.primal_solution_status == 2)  # a code of the solver
        return self._solved

    def reduced(self, pence: Floats, uses: Floats) -> Floats:
        """Return what columns would add to the last choice in shares, by their price and their coefficients."""
        return pence - self._with_cuts(uses) @ self.duals

    def cut(self) -> bool:
        """Add cuts that the last choice in shares breaks; return whether there were any."""
        fresh = add_cuts(self.solver, self.does, self.shares)
        self._solved = None if len(fresh) else self._solved
        self.triples = np.vstack((self.triples, fresh))
        return len(fresh) > 0

    @property
    def whole(self) -> Whole | None:
        """The last choice in shares where it holds no part of a run, else None."""
        is_chosen = self.shares > 1 - WHOLE
        if not ((self.shares < WHOLE) | is_chosen).all():
            return None
        chosen = tuple(int(rank) for rank in np.flatnonzero(is_chosen))
        return Whole(pence=sum(self.columns[rank].pence for rank in chosen) - self.standing.pence, chosen=chosen)

    def cheapest(self, below_pence: float, *, near_pence: float) -> Whole | None:
        """
        Return the cheapest whole choice that adds less than ``below_pence``, but for ``near_pence``; None where none is found.

        By an integer program over the columns that could be part of it: any other adds at least the last choice in shares, less
        what the lower prices of the plan's own runs hide, and its own reduced cost.  No branch may stand.
        """
        self.solver.run()  # columns may have been added that did not gain
        reduced, hidden = np.array(self.solver.getSolution().col_dual), self.standing.pence - self.standing.leaned_pence
        pool = np.flatnonzero(reduced <= below_pence - self.pence + hidden)
        columns = [self.columns[rank] for rank in pool]
        program = Program(
            columns, self.rows, is_whole=True, uses=np.vstack(self.uses)[pool], mip_abs_gap=near_pence, **QUICK_PROGRAM
        )
        shares = program.shares(seconds=SECONDS)
        if shares is None:
            return None
        chosen = tuple(int(rank) for rank in pool[shares > 1 - WHOLE])
        pence = sum(self.columns[rank].pence for rank in chosen) - self.standing.pence
        return Whole(pence=pence, chosen=chosen) if pence < below_pence else None

    @property
    def crews_out(self) -> Floats:
        """How many crews of each class and type, from each base, the last choice in shares has out, by row; other rows are 0."""
        out = self.done[: len(self.rows.lower)].copy()
        out[self.standing.move_rows] = 0.0
        return out

    @contextmanager
    def crews_within(self, row: int, low: float | None, high: float | None) -> Iterator[None]:
        """Hold the crews of a row to no fewer, or no more, for a while."""
        was = self.row_bounds.get(row, (self.rows.lower[row], self.rows.upper[row]))
        self.row_bounds[row] = (was[0] if low is None else low, was[1] if high is None else high)
        self._bound(row)
        yield
        self.row_bounds[row] = was
        self._bound(row)

    def _bound(self, row: int) -> None:
        self.solver.changeRowBounds(row, *self.row_bounds[row])
        self._solved = None

    def allow(self, ranks: Ranks, *, is_allowed: bool) -> None:
        """Let some columns be chosen, or not."""
        self._solved = None
        count = len(ranks)
        self.solver.changeColsBounds(count, ranks.astype(np.int32), np.zeros(count), np.full(count, UNBOUND * is_allowed))

    def _done_by(self, uses: Floats) -> Does:
        return np.asarray(uses[:, self.standing.move_rows] > 0, np.bool_)

    def _with_cuts(self, uses: Floats) -> Floats:
        """Return coefficients with those in the cuts behind them."""
        return np.hstack((uses, counts_in(self._done_by(uses), self.triples))) if len(self.triples) else uses


def add_cuts(solver: Any, does: Does, shares: Floats) -> Triples:
    """Return the triples that a choice in shares breaks the most, each a row of the solver now."""
    parts = np.flatnonzero((shares > WHOLE) & (shares < 1 - WHOLE))
    fresh = broken_triples(does[parts], shares[parts])
    for counts in counts_in(does, fresh).T:
        ranks = np.flatnonzero(counts).astype(np.int32)
        solver.addRow(-UNBOUND, 1.0, len(ranks), ranks, np.ones(len(ranks)))
    return fresh


def uses_of(columns: Sequence[Column], rows: Rows) -> Floats:
    """Return the coefficients of columns, a row for each, under the master's rows."""
    uses = np.zeros((len(columns), len(rows.lower)))
    met = [rows.met_by(column) for column in columns]
    at = np.repeat(np.arange(len(columns)), [len(some) for some in met])
    np.add.at(uses, (at, np.array([row for some in met for row in some], np.int64)), 1.0)
    return uses
