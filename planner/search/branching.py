"""
Branching: a whole choice for a question that cuts alone leave in parts.

First it is settled how many crews go out, by base, type and class; half of one more is what mixtures are mostly about.  Then
cars that some run does in part are held to go together, or not to: crews that could do the same run are one branch, not one
each.  Only where crews alone are undecided, single columns are taken or left.  Cuts go on at every branch, for all of them.  Most
questions need a few branches; where more than that are left, an integer program takes over.
"""

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np

from planner.search.standing import WHOLE, Floats, Question, Ranks, Whole

MOST_NODES = 12  # an integer program takes as long as fifty more
CLOSE_PENCE, CLOSE_SHARE = 50.0, 0.005  # how near the least possible a choice is good enough
HIDES_PENCE = 300.0  # what the lower prices of the plan's own runs may hide


def cheapest_whole(question: Question, below_pence: float, *, most_nodes: int = MOST_NODES) -> Whole | None:
    """
    Return the cheapest whole choice found that adds less than ``below_pence``, None when there is none.

    Parameters
    ----------
    question
        Stands as it was afterwards.
    below_pence
        A figure that is known already.
    most_nodes
        How many choices in shares are made before the integer program.

    """
    branching = _Branching(question, below_pence, most_nodes)
    branching.look()
    if not branching.is_cut_off or not question.solve():
        return branching.best
    near_pence = max(CLOSE_PENCE, CLOSE_SHARE * branching.below_pence)
    return question.cheapest(branching.below_pence, near_pence=near_pence) or branching.best


class _Branching:
    def __init__(self, question: Question, below_pence: float, most_nodes: int) -> None:
        self.question, self.below_pence, self.left = question, below_pence, most_nodes
        self.best: Whole | None = None
        self.is_cut_off = False  # branches were left out
        self.barred = np.zeros(len(question.columns), np.bool_)

    def look(self) -> None:
        """Choose in shares under what is settled so far, and branch while the choice is in parts and could still be cheaper."""
        question, self.left = self.question, self.left - 1
        while True:
            if not question.solve() or question.pence >= self.below_pence + HIDES_PENCE:
                return
            whole = question.whole
            if whole is not None or not question.cut():
                break
        if whole is not None:
            if whole.pence < self.below_pence:
                self.best, self.below_pence = whole, whole.pence
            return
        crews = question.crews_out
        in_part = np.abs(crews - np.round(crews))
        if in_part.max() > WHOLE:
            self._branch_on_crews(int(in_part.argmax()), crews)
        else:
            self._branch_on_cars()

    def _branch_on_crews(self, row: int, crews: Floats) -> None:
        whole = float(np.floor(crews[row]))
        for low, high in ((whole + 1, None), (None, whole)):
            if self._may_look():
                with self.question.crews_within(row, low, high):
                    self.look()

    def _branch_on_cars(self) -> None:
        for bars in self._branches():
            if self._may_look():
                with self._without(bars):
                    self.look()

    def _may_look(self) -> bool:
        self.is_cut_off |= self.left <= 0
        return self.left > 0

    @contextmanager
    def _without(self, bars: Ranks) -> Iterator[None]:
        """Bar some columns for a while."""
        fresh = bars[~self.barred[bars]]
        self.barred[fresh] = True
        self.question.allow(fresh, is_allowed=False)
        yield
        self.question.allow(fresh, is_allowed=True)
        self.barred[fresh] = False

    def _branches(self) -> tuple[Ranks, Ranks]:
        """Return which columns are barred where the likeliest run is taken, and which where it is left."""
        does, shares = self.question.does, self.question.shares
        held: dict[bytes, list[int]] = {}
        for rank in np.flatnonzero(shares > WHOLE):
            held.setdefault(does[rank].tobytes(), []).append(int(rank))
        in_part = {ranks[0]: float(shares[ranks].sum()) for ranks in held.values() if shares[ranks].sum() < 1 - WHOLE}
        if in_part:
            first = max(in_part, key=lambda rank: in_part[rank])
            is_same = (does == does[first]).all(axis=1)
        else:
            first = int(np.argmax(np.where(shares < 1 - WHOLE, shares, 0.0)))
            is_same = np.arange(len(shares)) == first
        meets = does[:, does[first]].any(axis=1)
        return np.flatnonzero(meets & ~is_same), np.flatnonzero(is_same)
