"""
Solving: columns are priced, mixed and chosen in turn until the gap, the rounds or the seconds run out.

The bound is the master's value plus, for each rig, its most runs times the least reduced cost that exact pricing leaves;
it holds at any time and only rises.  The plan is the best legal choice over every column found so far.
"""

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import numpy.typing as npt

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.run import Run
from planner.search.choice import Choosing, Chosen, choose, dive
from planner.search.columns import Column, column_of
from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.master import Master, duals_of, rows_of
from planner.search.pricing import Duals, Priced, price_rig
from planner.search.rig_making import rigs_of
from planner.search.sift import break_cycle, is_hopeless, take_away
from planner.search.starting import starting_columns
from planner.search.truth import NO_RUN_PENCE, Truth

Progress = Callable[[float, int, int | None], None]

ROUGH_LABELS = 20_000
MOST_LABELS = 1_500_000
MOST_LOOKS = 4_000_000_000
LOOKS_A_SECOND = 60_000_000  # by one core, in passing
FOUND_A_ROUND = 60
TOLERANCE_PENCE = 1.0
SLACKS = (0.01, 0.0)  # how near the bound comes to the master's value before plans are made, and again
SHARE_FOR_PLANS = 0.35  # of the seconds, kept for better plans when the bound takes long
GOOD_SHARE = 2e-4  # a gap of this share of the bound is not worth more seconds


class Solving:
    """The state of one search; ``best`` is the best legal choice, ``bound`` what no legal plan undercuts (pence)."""

    def __init__(self, day: Day, *, seconds: float, rounds: int | None, progress: Progress | None) -> None:
        self.began = time.perf_counter()
        self.day, self.seconds, self.rounds, self.progress = day, seconds, rounds, progress
        self.classes, self.types = driver_classes(day), transporter_types(day)
        self.rigs = rigs_of(day, self.classes, self.types)
        self.rows = rows_of(day, self.classes, self.types)
        self.truth = Truth(day, self.rigs, self.classes, self.types)
        self.stays = {str(move.move_id): move.stays_behind_pence for move in day.moves}
        self.master = Master(self.rows)
        self.master.add(list(starting_columns(day)))
        self.best = Chosen(columns=(), runs=(), pence=sum(self.stays.values()))
        self.bound = 0.0
        self.round = 0
        self.is_converged = False
        self.banned, self.tested = set[tuple[int, int]](), set[tuple[MoveId, ...]]()
        self.bound_duals: Duals | None = None

    @property
    def left(self) -> float:
        """Seconds that remain."""
        return self.seconds - (time.perf_counter() - self.began)

    @property
    def is_over(self) -> bool:
        """Whether seconds or rounds have run out, or the plan is proven good."""
        is_good = self.best.pence - self.bound <= max(GOOD_SHARE * self.bound, 1.0)
        return self.left <= 0 or is_good or (self.rounds is not None and self.round >= self.rounds)

    def tell(self) -> None:
        """Report cost and bound."""
        if self.progress is not None:
            bound = int(np.ceil(self.bound - 1e-6)) if self.bound > 0 else None
            self.progress(time.perf_counter() - self.began, self.best.pence, bound)

    def run(self) -> None:
        """Search until the end; Ctrl-C keeps the best."""
        try:
            self._run()
        except KeyboardInterrupt:
            self.tell()

    def _run(self) -> None:
        with ThreadPoolExecutor(2) as pool:
            self.price_until(pool, is_rough=True)
            self.dive()
            self.mend(pool, quick=2)
            for slack in SLACKS:
                while not self.is_over and self.left > self.seconds * SHARE_FOR_PLANS:
                    self.price_until(pool, is_rough=False, slack=slack)
                    if not self.is_converged or not (self.widen() or self.sift()):
                        break
                self.dive()
                self.choose(max(self.seconds * 0.15, 5.0))
                self.mend(pool, quick=0 if self.is_converged else 2)
            while not self.is_over:
                before = len(self.master.columns), self.best.pence
                self.choose(max(self.left / 2, 5.0))
                self.mend(pool)
                if (len(self.master.columns), self.best.pence) == before:
                    break

    def mend(self, pool: ThreadPoolExecutor, *, quick: int = 0) -> None:
        """
        Price with what is known of the truth, so that runs which proved dear or illegal find others in their place.

        ``quick`` rounds are rough ones only; with 0, rounds go on, exact ones too, until nothing new is found.
        """
        tries = 0
        while not self.is_over and (not quick or tries < quick):
            tries += 1
            before = len(self.master.columns)
            self.master.reprice(lambda column: max(self.truth.pence(column), self._floor(column)))
            for is_rough in (True,) if quick else (True, False):
                if self.is_over or (not is_rough and not self.is_converged and len(self.master.columns) > before):
                    break
                self.round += 1
                value = self.master.solve()
                self._add(value, duals_of(self.rows, self.master.row_dual), pool, is_rough=is_rough)
            if len(self.master.columns) == before:
                break
            self.dive()
        self.master.reprice(self._floor)

    def _add(self, value: float, duals: Duals, pool: ThreadPoolExecutor, *, is_rough: bool) -> tuple[int, int, bool]:
        """Price all rigs and add what is found; return new columns, labels made, and whether pricing was cut off."""
        priced = list(pool.map(lambda rank: self._price(rank, duals, is_rough=is_rough), range(len(self.rigs))))
        fresh = self.master.add([column_of(self.rigs[found.rig], found) for each in priced for found in each.found])
        if not is_rough:
            self._raise_bound(value, priced, duals)
        return fresh, sum(each.labels for each in priced), any(each.is_cut_off for each in priced)

    def price_until(self, pool: ThreadPoolExecutor, *, is_rough: bool, slack: float = 0.0) -> None:
        """
        Price rounds until nothing more is found; exact rounds give way to rough ones while those find something.

        Exact rounds also end once the bound is within ``slack``, a share, of the master's value.
        """
        quick = is_rough
        while not self.is_over and (is_rough or self.left > self.seconds * SHARE_FOR_PLANS):
            self.round += 1
            value = self.master.solve()
            duals = duals_of(self.rows, self.master.row_dual)
            fresh, labels, is_cut_off = self._add(value, duals, pool, is_rough=quick)
            if not quick:
                self.is_converged = not fresh and not is_cut_off
                if not fresh or value - self.bound < slack * value:
                    return
                quick = labels > 10 * ROUGH_LABELS
            elif not fresh:
                if is_rough:
                    return
                quick = False

    def _looks(self) -> int:
        """Return how often labels of one rig may be held against each other: enough for a proof, or what time is left for."""
        return int(min(MOST_LOOKS, max(self.left, 1.0) * LOOKS_A_SECOND / len(self.rigs)))

    def _price(self, rank: int, duals: Duals, *, is_rough: bool) -> Priced:
        return price_rig(
            self.rigs[rank], rank, duals, threshold=-TOLERANCE_PENCE, is_rough=is_rough,
            most_labels=ROUGH_LABELS if is_rough else MOST_LABELS, most_looks=self._looks(), most_found=FOUND_A_ROUND,
        )  # fmt: skip

    def _raise_bound(self, value: float, priced: Sequence[Priced], duals: Duals) -> None:
        least = value + sum(rig.most_runs * min(0.0, each.least) for rig, each in zip(self.rigs, priced, strict=True))
        if least > self.bound:
            self.bound = least
            self.bound_duals = duals
            self.tell()

    def dive(self) -> None:
        """Take a legal set quickly."""
        if self.left > 0:
            self._keep(dive(self._choosing(), seconds=self.left, more=self._more))

    def _more(self, row_dual: npt.NDArray[np.float64]) -> list[Column]:
        """Return columns found quickly under these duals; the master keeps them too."""
        duals = duals_of(self.rows, row_dual)
        priced = [self._price(rank, duals, is_rough=True) for rank in range(len(self.rigs))]
        found = [column_of(self.rigs[item.rig], item) for each in priced for item in each.found]
        self.master.add(found)
        return found

    def choose(self, seconds: float) -> None:
        """Choose the best legal set over the columns that could still be in a better plan."""
        if self.left > 0:
            self._keep(choose(self._choosing(), seconds=min(seconds, self.left), start=self.best.columns))

    def _choosing(self) -> Choosing:
        reach = max(self.best.pence - self.bound, 0.0) + 1.0
        columns, reduced = self.master.columns, self.master.reduced_costs()
        pool = [column for column, cost in zip(columns, reduced, strict=False) if cost <= reach] + columns[len(reduced) :]
        return Choosing(
            pool=tuple(column for column in pool if column.is_elementary), rows=self.rows, truth=self.truth, stays=self.stays,
            clock=time.perf_counter,
        )  # fmt: skip

    def _keep(self, chosen: Chosen | None) -> None:
        if chosen is not None and chosen.pence < self.best.pence:
            self.best = chosen
        self.tell()

    def sift(self) -> bool:
        """Take from rigs the tasks in the master's answer that no crew of theirs can do; return whether there were any."""
        before = len(self.banned)
        for column, share in list(zip(self.master.columns, self.master.shares, strict=False)):
            if share < 1e-6 or column.rig < 0 or not column.is_elementary or isinstance(self.truth.of(column), Run):
                continue
            for place in column.places:
                if place < len(self.rigs[column.rig].tasks):
                    self._test(self.rigs[column.rig].tasks[place].moves)
        self.master.reprice(self._floor)
        return len(self.banned) > before

    def _test(self, moves: tuple[MoveId, ...]) -> None:
        """Take these moves' task from every rig that cannot do it."""
        if moves in self.tested:
            return
        self.tested.add(moves)
        for number, rig in enumerate(self.rigs):
            for place, task in enumerate(rig.tasks):
                if task.moves == moves and is_hopeless(rig, number, place, self.truth):
                    take_away(rig, place)
                    self.banned.add((number, place))

    def _floor(self, column: Column) -> float:
        is_banned = bool(self.banned) and any((column.rig, place) in self.banned for place in column.places)
        return NO_RUN_PENCE if is_banned else column.pence

    def widen(self) -> bool:
        """Make labels remember customers that a cycle in the master's answer serves twice; return whether there was one."""
        changed = False
        for column, share in zip(self.master.columns, self.master.shares, strict=False):
            if share < 1e-6 or column.is_elementary or column.rig < 0:
                continue
            changed |= break_cycle(self.rigs[column.rig], column)
        return changed
