"""
Pricing: the cheapest runs of a rig under given duals, and a figure that no run of the rig undercuts.

A dual is what the master problem would pay for a move, or asks for a driver, a transporter or a set of plates.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planner.model.moves import MoveId
from planner.search.completions import NOBODY, completions, states_of
from planner.search.labels import NEVER, Mode, Tail, cheapest_runs
from planner.search.rig import Floats, Rig, words_for

MOST_ROUTES = 200_000
MOST_LOOKED_THROUGH = 5_000
ROUNDED_PENCE, ROUNDED_SHARE = 0.1, 2e-5  # what bounds of heads may be off: of the largest sum paid for a task, a share
LABELS_OF_NEXT = 4  # times as many labels as the depth before may take


@dataclass(frozen=True, slots=True)
class Found:
    """A run found: places of the rig in order of time, who crews it, its reduced cost and what it costs by the floor."""

    rig: int
    option: int
    places: tuple[int, ...]
    reduced: float
    floor_pence: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Duals:
    """What the master pays for each move, and asks (never negative) for drivers, transporters and plates."""

    move: dict[MoveId, float]
    driver: Sequence[float]
    transporter: Sequence[float]
    plates: dict[str, float]


def mixed(one: Duals, other: Duals, share: float) -> Duals:
    """Return duals on the way from one to another: a share of 0 is the first, of 1 the second."""

    def between(here: float, there: float) -> float:
        return here + share * (there - here)

    return Duals(
        move={move: between(pence, other.move[move]) for move, pence in one.move.items()},
        driver=[between(*both) for both in zip(one.driver, other.driver, strict=True)],
        transporter=[between(*both) for both in zip(one.transporter, other.transporter, strict=True)],
        plates={base: between(pence, other.plates[base]) for base, pence in one.plates.items()},
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Priced:
    """
    What one pricing round of one rig gave.

    ``by_first`` has for each task what no run undercuts that begins with it, at most zero, unless the mode was rough.
    ``is_cut_off``: labels were left out for want of room or time, or there was no room for all that was found.
    """

    found: tuple[Found, ...]
    by_first: Floats
    labels: int
    is_cut_off: bool

    @property
    def least(self) -> float:
        """What no run of the rig undercuts."""
        return float(self.by_first.min(initial=0.0))


def price_rig(
    rig: Rig, number: int, duals: Duals, *, threshold: float, mode: Mode, most_labels: int, most_looks: int,
    most_found: int, depths: Sequence[float] = (), guess: Mode | None = None,
) -> Priced:
    """
    Return runs of the rig with a reduced cost below ``threshold``, at most ``most_found``, cheapest first, mixed over tasks.

    In mode ``EVERY`` runs are told in the order found, and none that serves a door twice is made.  ``depths``, the lowest
    first, are thresholds to try before: far fewer labels are made while runs gain much.  The first for which there is hardly
    room is the last, and so is the first below which a guess finds runs.  Where exact pricing leaves some depths untried,
    runs are looked for by a ``guess`` too, if there is one to make.
    """
    kernel = _Kernel(rig, number, duals, mode=mode, most_labels=most_labels, most_looks=most_looks, most_found=most_found)
    limits, by_first, tried = [*depths, threshold], np.full(len(rig.tasks), -np.inf), list[_Labelled]()
    while limits:
        now = kernel.labelled(limits.pop(0), mode)
        by_first = np.maximum(by_first, now.by_first)
        tried.append(now)
        if now.is_cut_off or now.labels > most_labels / LABELS_OF_NEXT or (mode > Mode.EXACT and now.found):
            limits.insert(0, now.limit)
            break
    if guess is not None:
        for limit in limits:
            tried.append(kernel.labelled(limit, guess))
            if tried[-1].found:
                break
    best = min(reversed(tried), key=lambda each: min((run.reduced for run in each.found), default=0.0))
    return Priced(
        found=best.found, by_first=np.minimum(by_first, 0.0), labels=sum(each.labels for each in tried), is_cut_off=now.is_cut_off
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Labelled:
    """What the kernel gave for one limit."""

    limit: float
    found: tuple[Found, ...]
    by_first: Floats
    labels: int
    is_cut_off: bool


class _Kernel:
    """The arrays of one rig at some duals, for labels at one limit after another."""

    def __init__(
        self, rig: Rig, number: int, duals: Duals, *, mode: Mode, most_labels: int, most_looks: int, most_found: int
    ) -> None:
        self.rig, self.number = rig, number
        self.most_labels, self.most_looks, self.most_found = most_labels, most_looks, most_found
        tasks, hubs = len(rig.tasks), len(rig.hub_places)
        self.start = tasks + hubs
        self.reward = np.array([sum(duals.move[move] for move in task.moves) for task in rig.tasks])
        self.asks = np.array([asks_of(rig, option.classes, duals) for option in rig.options])
        self.fixed = np.array([option.fixed_pence for option in rig.options]) + self.asks
        self.packed = packed = rig.packed_near if mode > Mode.EXACT else rig.packed
        states, self.state_of, after = states_of(rig.slots, hubs, rig.hub_sets)
        latest = min(rig.last_min, int(rig.closes.max()))  # no label is ever later
        slots = max(0, latest - rig.earliest) // rig.step + 1
        shape = (slots, self.start, len(states) + 1)
        self.head = np.full((1 + rig.is_large, *shape), NEVER, np.float32)
        self.via = np.full(shape if rig.is_large else (1, self.start, 1), NOBODY, np.int32)
        completions(
            self.head, self.via, states, self.state_of, after, tasks, hubs, packed.arc_from, packed.arcs, packed.arc_pence,
            packed.arc_kg_pence, packed.nodes, self.reward - rig.node_cost, packed.least_kg, rig.load_min, rig.keeps_load,
            self._least_start(), rig.slope, rig.earliest, rig.step,
        )  # fmt: skip
        lists = (tasks + hubs + hubs * (tasks + hubs + 1)) * (rig.slots + 1)
        self.tails, self.lists = np.empty((most_labels, len(Tail)), np.int32), np.empty(lists, np.int32)
        self.cost, self.sets = np.empty(most_labels), np.empty((most_labels, 2), np.int64)
        words = words_for(rig.customer)
        self.memory = np.empty((most_labels, words), np.uint64)
        self.at_minute = np.empty(rig.last_min - rig.earliest + 1, np.int32)
        room = most_found + 1 if mode is Mode.EVERY else MOST_ROUTES
        self.ranks, self.costs = np.empty((room, 2), np.int32), np.empty(room)
        self.near = np.full((max(tasks, 1), words), ~np.uint64(0)) if mode is Mode.EVERY else rig.near

    def _least_start(self) -> float:
        """Return what the start of a run costs at least, less what bounds of heads may be off in single precision."""
        least = float((self.fixed + self.rig.packed.ride_pence).min()) + self.rig.slope * self.rig.walk_min
        return least - ROUNDED_SHARE * float(np.abs(self.reward).max(initial=0.0)) - ROUNDED_PENCE

    def labelled(self, limit: float, mode: Mode) -> _Labelled:
        """Return runs below a limit; that no label reached a task means that no run begins with it."""
        rig, packed = self.rig, self.packed
        tasks = len(rig.tasks)
        self.lists.fill(-1)
        self.at_minute.fill(-1)
        by_first = np.full(self.start + 1, min(limit, 0.0))
        found, least, count, is_cut_off = cheapest_runs(
            tasks, len(rig.hub_places), packed.ways, packed.prices, packed.nodes, self.near, rig.node_cost - self.reward,
            rig.zone_pence, packed.crews, self.fixed, packed.wage, rig.owed.step_of, rig.owed.minutes, rig.owed.tail,
            packed.night, rig.load_min, rig.slots, rig.payload_kg, rig.shares, rig.is_loose, rig.keeps_load, packed.kg_rate,
            rig.walk_min, rig.end_min, self.head, self.via, self.state_of, rig.slope, rig.earliest, rig.last_min, rig.step,
            limit, int(mode), self.most_looks, self.cost, self.tails, self.sets, self.memory, self.lists, self.at_minute,
            self.ranks, self.costs, by_first,
        )  # fmt: skip
        links = self.tails[:count, [Tail.PLACE, Tail.NEXT]]
        kept = _kept(rig.one_of, links, self.ranks, self.costs, found, self.start) if rig.one_of else found
        firsts = links[self.ranks[:kept, 0], 0]
        told = range(kept) if mode is Mode.EVERY else _mixed(self.costs[:kept], firsts, self.most_found)
        return _Labelled(
            limit=limit, found=tuple(self._run(links, rank) for rank in told), labels=int(count),
            by_first=np.minimum(by_first[:tasks], least) if is_cut_off else by_first[:tasks],
            is_cut_off=bool(is_cut_off) or found == len(self.costs),
        )  # fmt: skip

    def _run(self, links: npt.NDArray[np.int32], rank: int) -> Found:
        places, option = _places(links, int(self.ranks[rank, 0]), self.start), int(self.ranks[rank, 1])
        paid = sum(self.reward[place] for place in places if place < len(self.rig.tasks))
        cost = float(self.costs[rank])
        return Found(self.number, option, places, cost, float(cost + paid - self.asks[option]))


def asks_of(rig: Rig, classes: Sequence[int], duals: Duals) -> float:
    """Return what is asked for the crew of one run of the rig, its transporter and its set of plates."""
    total = sum(duals.driver[rank] for rank in classes)
    if rig.transporter_type >= 0:
        total += duals.transporter[rig.transporter_type]
    if rig.plate_base is not None:
        total += duals.plates.get(rig.plate_base, 0.0)
    return total


def _mixed(costs: np.ndarray, firsts: np.ndarray, most: int) -> list[int]:
    """Return ranks of the cheapest, at most a share for each first place so that every corner gets some."""
    order = np.argsort(costs, kind="stable")
    each = max(2, most // max(1, len(set(firsts.tolist()))))
    taken: dict[int, int] = {}
    chosen = []
    for rank in order:
        first = int(firsts[rank])
        if taken.get(first, 0) < each:
            taken[first] = taken.get(first, 0) + 1
            chosen.append(int(rank))
        if len(chosen) >= most:
            break
    return chosen


def _kept(
    wanted: frozenset[int], links: np.ndarray, ranks: np.ndarray, costs: np.ndarray, found: int, start: int
) -> int:
    """Move those of the cheapest runs to the front that have a wanted task; return how many."""
    order = np.argsort(costs[:found], kind="stable")[:MOST_LOOKED_THROUGH]
    kept = [rank for rank in order if not wanted.isdisjoint(_places(links, int(ranks[rank, 0]), start))]
    ranks[: len(kept)], costs[: len(kept)] = ranks[kept], costs[kept]
    return len(kept)


def _places(links: np.ndarray, tail: int, start: int) -> tuple[int, ...]:
    places = []
    while tail >= 0 and links[tail, 0] != start:
        places.append(int(links[tail, 0]))
        tail = int(links[tail, 1])
    return tuple(places)
