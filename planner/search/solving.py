"""
Solving: the state of one search and the steps it is made of: columns are priced, mixed and chosen.

The bound is the master's value plus the most that runs can gain together of what exact pricing leaves; it holds at any time
and only rises.  The plan is the best legal choice over every column found so far.
"""

import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from planner.model.day import Day
from planner.model.decks import Deck
from planner.rules.load_plan_arrays import Size, size_of
from planner.runs.loading import deck_of
from planner.search.choice import Choosing, Chosen, choose, is_run
from planner.search.columns import Column, column_of
from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.cycles import break_cycle
from planner.search.deck_shares import WHOLE, deck_shares
from planner.search.gains import most_gained
from planner.search.labels import Mode
from planner.search.master import Master, duals_of, rows_of
from planner.search.pricing import Duals, Priced, mixed, price_rig
from planner.search.rig import Floats, Rig
from planner.search.rig_making import rigs_of
from planner.search.starting import starting_columns
from planner.search.thinning import cheapest_of_each
from planner.search.truth import NO_RUN_PENCE, Truth

Progress = Callable[[float, int, int | None], None]

ROUGH_LABELS = 20_000
MOST_LABELS, MOST_LABELS_WHEN_JOINED = 1_500_000, 200_000
MOST_LOOKS = 4_000_000_000
LOOKS_A_SECOND = 60_000_000  # by one core, in passing
FOUND_A_ROUND, TASKS_A_FOUND = 60, 4  # runs of a rig that a round adds: the more, the more tasks it has
TOLERANCE_PENCE = 1.0
SHARE_FOR_PLANS = 0.2  # of the seconds, kept for better plans when the bound takes long
SHARE_WHEN_JOINED = 0.15  # where there are plans already
SHARE_OF_CENTRE = 0.5  # of the duals that proved most, in those that the next exact round of a joined day is priced at
LEAST_GAINS = {Mode.ROUGH: 2e-3, Mode.BROAD: 1e-4, Mode.EXACT: -np.inf}  # of the master's value: what a round is worth
LEAST_GAIN_JOINED = 5e-4  # likewise of guesses of a joined day
SHARE_FOR_ROUGH, SHARE_FOR_SETTLING = 0.3, 0.1  # of the seconds for pricing a joined day
DEPTHS_WHEN_JOINED = (-100_000.0, -60_000.0, -30_000.0, -15_000.0, -6_000.0, -2_000.0, -600.0, -200.0)  # pence
LEAST_GAIN_SETTLED = 1e-4  # likewise of a round at true prices
LEAST_SHARE = 1e-6
NEAR_A_MOVE = 1  # runs a move that are timed together, mixed or nearly
POOLS = (4, 10, 30, 1_000_000)  # runs a move that a choice is made among, in turn
QUICK_POOLS = POOLS[:2]  # while prices are rough
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
        self.elsewhere = self.best.pence  # the cost of the best plan that others found and told of
        self.bound = 0.0
        self.round = 0
        self.proof: tuple[float, Duals] | None = None  # the best bound that duals alone give, and they
        self.is_bound_of_floors = True  # some run was counted at less than its true price
        self.closed_within = 0.0  # every run within this reach of the proof has been in a choice
        self.widened = 0
        self.is_joined = False  # it began with what its parts found
        self.labels = [0] * len(self.rigs)  # that each rig made when it was priced last
        self.centre: tuple[float, Duals] | None = None  # the duals that proved most, with their value before runs' gains

    @property
    def left(self) -> float:
        """Seconds that remain."""
        return self.seconds - (time.perf_counter() - self.began)

    @property
    def spare(self) -> float:
        """Seconds by which work is measured out: those that remain, or all of them where rounds are counted."""
        return self.left if self.rounds is None else self.seconds

    @property
    def is_over(self) -> bool:
        """Whether seconds or rounds have run out, or the plan is proven good."""
        is_good = self.best.pence - self.bound <= max(GOOD_SHARE * self.bound, 1.0)
        return self.left <= 0 or is_good or (self.rounds is not None and self.round >= self.rounds)

    def tell(self) -> None:
        """Report cost and bound."""
        if self.progress is not None:
            bound = int(np.ceil(self.bound - 1e-6)) if self.bound > 0 else None
            self.progress(time.perf_counter() - self.began, min(self.best.pence, self.elsewhere), bound)

    def end(self) -> None:
        """Let no seconds remain, and report."""
        self.seconds = 0.0
        self.tell()

    def tell_of(self, pence: int) -> None:
        """Report a plan of that cost, found elsewhere."""
        self.elsewhere = min(self.elsewhere, pence)
        self.tell()

    @property
    def is_time_for_plans(self) -> bool:
        """Whether what is left of the seconds is for choosing."""
        return self.is_over or self.left < self.seconds * (SHARE_WHEN_JOINED if self.is_joined else SHARE_FOR_PLANS)

    @property
    def duals(self) -> Duals:
        """What the master pays and asks since it was solved last."""
        return duals_of(self.rows, self.master.row_dual)

    def price_until(self, pool: ThreadPoolExecutor, mode: Mode, *, slack: float = 0.0) -> None:
        """
        Price rounds until little more is found; large exact rounds give way to broad ones while those find something.

        Exact rounds also end once the bound is within ``slack``, a share, of the master's value.
        """
        now, before = mode, np.inf
        while not (self.is_over if mode is Mode.ROUGH else self.is_time_for_plans):
            self.round += 1
            value = self.master.solve()
            fresh, labels = self._add(value, pool, now)
            is_done = not fresh or before - value < LEAST_GAINS[now] * value
            before = value
            if is_done and now is mode:
                return
            if now is Mode.EXACT and value - self.bound < slack * value:
                return
            if now is not mode and is_done:
                now = mode
            elif now is Mode.EXACT and labels > 10 * ROUGH_LABELS:
                now = Mode.BROAD

    def price_joined(self, pool: ThreadPoolExecutor) -> None:
        """
        Price a day that its parts began: guesses find runs across borders, exact rounds lift the bound.

        The master's duals swing widely on so large a day; exact rounds are priced half-way between them and those that
        proved most so far (Wentges 1997, International Transactions in Operational Research 4), whose bound is far better.
        """
        seconds = self.left - SHARE_WHEN_JOINED * self.seconds
        self._guess(pool, until=self.left - SHARE_FOR_ROUGH * seconds)
        self._settled(until=(1 - SHARE_FOR_SETTLING) * self.left)
        self.share_decks()
        self._guess(pool, until=self.left - SHARE_FOR_ROUGH * seconds)
        while not self.is_time_for_plans:
            self.round += 1
            proven = self.bound
            fresh, _ = self._add(self.master.solve(), pool, Mode.EXACT)
            if not fresh and self.bound <= proven:
                return

    def _guess(self, pool: ThreadPoolExecutor, *, until: float) -> None:
        """Add runs that are guessed until little more is found, or fewer seconds than ``until`` are left."""
        before = np.inf
        while not self.is_over and self.left > until and (value := self.master.solve()) < (1 - LEAST_GAIN_JOINED) * before:
            self.round += 1
            self._add(value, pool, Mode.BROAD)
            before = value

    def settle(self, pool: ThreadPoolExecutor) -> None:
        """
        Solve the master at true prices until every run that it mixes has been timed.

        Rough pricing finds others in the place of those that prove dear or illegal.  The master keeps its true prices.
        """
        before = np.inf
        while not self.is_time_for_plans:
            value = self._settled()
            self.round += 1
            fresh, _ = self._add(value, pool, Mode.ROUGH)
            if not fresh or before - value < LEAST_GAIN_SETTLED * value:
                break
            before = value

    def _settled(self, *, until: float = 0.0) -> float:
        """Return the master's value at true prices, what it mixes all timed unless fewer seconds than ``until`` are left."""
        self.master.reprice(self._true_pence)
        while True:
            value = self.master.solve()
            mixed = np.flatnonzero(self.master.shares > LEAST_SHARE)
            if not self._guesses(mixed) or self.is_time_for_plans or self.left < until:
                return value
            near = np.argsort(self.master.reduced_costs(), kind="stable")[: NEAR_A_MOVE * len(self.day.moves)]
            for column in self._guesses(np.union1d(mixed, near)):
                self.truth.of(column)
                self.master.set_price(column, self._true_pence(column))

    def _guesses(self, ranks: Iterable[int]) -> list[Column]:
        """Return the runs of these ranks that have not been timed; a column that serves a move twice is none."""
        columns = (self.master.columns[rank] for rank in ranks)
        return [column for column in columns if is_run(column) and column.is_elementary and not self.truth.is_known(column)]

    def share_decks(self) -> None:
        """Have labels refuse what was found not to fit a deck, as far as shares of it can say that."""
        for kind, crowds in self.truth.crowds.items():
            deck = deck_of(self.day, self.types[kind].one)
            if deck is not None:
                self._share_deck(deck, tuple(crowds), [rig for rig in self.rigs if rig.transporter_type == kind])

    def _share_deck(self, deck: Deck, crowds: tuple[tuple[Size, ...], ...], rigs: Sequence[Rig]) -> None:
        """Have labels of a type's rigs, of which one may carry what another may not, add shares of its deck."""
        sizes = {move.move_id: size_of(move.car) for move in self.day.moves}
        aboard = {sizes[move] for rig in rigs for task in rig.tasks for move in task.moves}
        shares = deck_shares(deck, tuple(sorted(aboard.union(*crowds))), crowds)
        for rig in rigs:
            rig.shares[:-1] = [[shares[sizes[task.moves[0]]], shares[sizes[task.moves[-1]]]] for task in rig.tasks]
            rig.shares[:-1] *= np.stack([rig.from_hub >= 0, rig.to_hub >= 0], axis=1)
            rig.shares[-1] = WHOLE

    def _true_pence(self, column: Column) -> float:
        return self.truth.pence(column) if column.is_elementary else NO_RUN_PENCE

    def _add(self, value: float, pool: ThreadPoolExecutor, mode: Mode) -> tuple[int, int]:
        """Price all rigs at the master's duals and add what is found; return new columns and labels made."""
        duals = self.duals
        if self.is_joined and mode is Mode.EXACT and self.centre is not None:
            centre, paid = self.centre
            value += SHARE_OF_CENTRE * (centre - value)  # linear in the duals, and no move left behind or hired car gains
            duals = mixed(duals, paid, SHARE_OF_CENTRE)
        priced = self._priced_all(pool, duals, mode)
        columns = [column_of(self.rigs[found.rig], found) for each in priced for found in each.found]
        fresh = self.master.add(columns)
        if mode is Mode.EXACT:
            fresh += self.master.lower(columns) if self.is_joined else 0
            self.raise_bound(value, [each.by_first for each in priced], duals)
        return fresh, sum(each.labels for each in priced)

    def _priced_all(self, pool: ThreadPoolExecutor, duals: Duals, mode: Mode) -> list[Priced]:
        """Price every rig, those first that made most labels when last asked, so that no thread waits for a long one."""
        order = sorted(range(len(self.rigs)), key=lambda rank: -self.labels[rank])
        found = dict(zip(order, pool.map(lambda rank: self.priced(rank, duals, mode=mode), order), strict=True))
        self.labels = [found[rank].labels for rank in range(len(self.rigs))]
        return [found[rank] for rank in range(len(self.rigs))]

    def priced(self, rank: int, duals: Duals, *, mode: Mode) -> Priced:
        """Return what pricing one rig gives; on a joined day, where there is no room for a proof, runs found broadly."""
        if self.is_joined and mode is Mode.EXACT:
            return self._priced(rank, duals, mode, MOST_LABELS_WHEN_JOINED, depths=DEPTHS_WHEN_JOINED, guess=Mode.BROAD)
        depths = DEPTHS_WHEN_JOINED if self.is_joined else ()
        return self._priced(rank, duals, mode, MOST_LABELS if mode is Mode.EXACT else ROUGH_LABELS * mode, depths=depths)

    def _priced(
        self, rank: int, duals: Duals, mode: Mode, most_labels: int, *, depths: Sequence[float] = (), guess: Mode | None = None
    ) -> Priced:
        rig = self.rigs[rank]
        return price_rig(
            rig, rank, duals, threshold=-TOLERANCE_PENCE, mode=mode, most_labels=most_labels, most_looks=self._looks(),
            most_found=max(FOUND_A_ROUND, len(rig.tasks) // TASKS_A_FOUND), depths=depths, guess=guess,
        )  # fmt: skip

    def _looks(self) -> int:
        """Return how often labels of one rig may be held against each other: enough for a proof, or what time is left for."""
        return int(min(MOST_LOOKS, max(self.spare, 1.0) * LOOKS_A_SECOND / len(self.rigs)))

    def raise_bound(self, value: float, by_first: Sequence[Floats], duals: Duals, *, is_of_floors: bool = True) -> None:
        """Raise the bound by a master's value and the least reduced costs of each rig's runs by first task, if that is higher."""
        pence = value + most_gained(self.rigs, self.rows, by_first)
        if self.proof is None or pence > self.proof[0]:
            self.proof, self.centre = (pence, duals), (value, duals)
        self.raise_to(pence, is_of_floors=is_of_floors)

    def raise_to(self, pence: float, *, is_of_floors: bool) -> None:
        """Raise the bound, if that is higher."""
        if pence > self.bound:
            self.bound, self.is_bound_of_floors = pence, is_of_floors
            self.tell()

    def choose(self, seconds: float, *, pools: Sequence[int] = POOLS) -> None:
        """Choose the best legal set over columns near the master's answer, then over more of them while that may help."""
        until = self.left - min(seconds, self.left)
        reach = max(self.best.pence - self.bound, 0.0) + 1.0
        reduced = self.master.reduced_costs()
        columns = self.master.columns
        near = [columns[int(rank)] for rank in np.argsort(reduced, kind="stable") if reduced[rank] <= reach]
        runs = [column for column in near if is_run(column) and column.is_elementary]
        for pool in pools:
            most = pool * len(self.day.moves)
            best = cheapest_of_each(runs[:most], self.truth, is_over=lambda: self.left <= until)
            if best is None:
                break
            self.choose_from(best, seconds=self.left - until)
            if len(runs) <= most or self.best.pence - self.master.pence < GOOD_SHARE * self.master.pence:
                break

    def choose_from(self, runs: Sequence[Column], *, seconds: float, gap: float = 1e-4) -> float:
        """Choose among these runs and those of the best plan; return what no plan of them alone undercuts."""
        stays = [column for column in self.master.columns if not is_run(column)]
        hired = [column for column in self.master.columns if column.carrier is not None]
        pool = {column.key: column for column in (*stays, *hired, *self.best.columns, *runs)}
        choosing = Choosing(
            day=self.day, pool=tuple(pool.values()), rows=self.rows, truth=self.truth, stays=self.stays, clock=time.perf_counter
        )
        choice = choose(choosing, seconds=min(seconds, self.left), gap=gap)
        self._keep(choice.best)
        return choice.least

    def widen(self) -> bool:
        """Make labels remember customers that a cycle among the columns serves twice; return whether there was a new one."""
        changed = False
        for column in self.master.columns[self.widened :]:
            changed |= column.rig >= 0 and not column.is_elementary and break_cycle(self.rigs[column.rig], column)
        self.widened = len(self.master.columns)
        return changed

    def _keep(self, chosen: Chosen | None) -> None:
        if chosen is not None and chosen.pence < self.best.pence:
            self.best = chosen
        self.tell()
