"""
Pricing: the cheapest runs of a rig under given duals, and a figure that no run of the rig undercuts.

A dual is what the master problem would pay for a move, or asks for a driver, a transporter or a set of plates.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.model.moves import MoveId
from planner.search.completions import completions, states_of
from planner.search.labels import NEVER, Mode, Tail, cheapest_runs
from planner.search.rig import Rig, words_for

MOST_ROUTES = 200_000
MOST_LOOKED_THROUGH = 5_000
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
    What one pricing round of one rig gave; ``least`` bounds every run's reduced cost unless the mode was rough.

    ``is_cut_off``: labels were left out for want of room or time, or there was no room for all that was found.
    """

    found: tuple[Found, ...]
    least: float
    labels: int
    is_cut_off: bool


def price_rig(
    rig: Rig, number: int, duals: Duals, *, threshold: float, mode: Mode, most_labels: int, most_looks: int,
    most_found: int, depths: Sequence[float] = (),
) -> Priced:
    """
    Return runs of the rig with a reduced cost below ``threshold``, at most ``most_found``, cheapest first, mixed over tasks.

    In mode ``EVERY`` runs are told in the order found, and none that serves a door twice is made.  ``depths``, the lowest
    first, are thresholds to try before: the first below which there are runs, or for which there is hardly room, is the
    last.  The least is known as well, and far fewer labels are made while runs gain much.
    """
    tasks, hubs = len(rig.tasks), len(rig.hub_places)
    reward = np.array([sum(duals.move[move] for move in task.moves) for task in rig.tasks])
    asks = np.array([asks_of(rig, option.classes, duals) for option in rig.options])
    fixed = np.array([option.fixed_pence for option in rig.options]) + asks
    packed = rig.packed
    states, state_of, after = states_of(rig.slots, hubs)
    latest = min(rig.last_min, int(rig.closes.max()))  # no label is ever later
    head = np.full((max(0, latest - rig.earliest) // rig.step + 1, tasks + hubs, len(states) + 1), NEVER)
    completions(
        head, states, state_of, after, tasks, hubs, packed.arc_from, packed.arcs, packed.arc_pence, packed.arc_kg_pence,
        packed.nodes, reward - rig.node_cost, packed.least_kg, rig.load_min, rig.keeps_load,
        float((fixed + packed.ride_pence).min()) + rig.slope * rig.walk_min, rig.slope, rig.earliest, rig.step,
    )  # fmt: skip
    lists = (tasks + hubs + hubs * (tasks + hubs + 1)) * (rig.slots + 1)
    tails = np.empty((most_labels, len(Tail)), np.int32)
    room = most_found + 1 if mode is Mode.EVERY else MOST_ROUTES
    ranks, costs = np.empty((room, 2), np.int32), np.empty(room)
    words = words_for(rig.customer)
    near = np.full((max(tasks, 1), words), ~np.uint64(0)) if mode is Mode.EVERY else rig.near
    proven = -np.inf
    for limit in (*depths, threshold):
        found, least, count, is_cut_off = cheapest_runs(
            tasks, hubs, packed.ways, packed.prices, packed.nodes, near, rig.node_cost - reward, rig.zone_pence, packed.crews,
            fixed, packed.wage, rig.owed.step_of, rig.owed.minutes, rig.owed.tail, packed.night, rig.load_min, rig.slots,
            rig.payload_kg, rig.shares, rig.is_loose, rig.keeps_load, packed.kg_rate, rig.walk_min, rig.end_min, head,
            state_of, rig.slope, rig.earliest, rig.last_min, rig.step, limit, int(mode), most_looks, np.empty(most_labels),
            tails, np.empty((most_labels, 2), np.int64), np.empty((most_labels, words), np.uint64),
            np.full(lists, -1, np.int32), np.full(rig.last_min - rig.earliest + 1, -1, np.int32), ranks, costs,
        )  # fmt: skip
        proven = max(proven, least)
        if found or is_cut_off or count > most_labels / LABELS_OF_NEXT:
            break
    links = tails[:count, [Tail.PLACE, Tail.NEXT]]
    if rig.one_of:
        found = _kept(rig.one_of, links, ranks, costs, found, tasks + hubs)
    runs = []
    told = range(found) if mode is Mode.EVERY else _mixed(costs[:found], links[ranks[:found, 0], 0], most_found)
    for rank in told:
        places = _places(links, int(ranks[rank, 0]), tasks + hubs)
        paid = sum(reward[place] for place in places if place < tasks)
        option = int(ranks[rank, 1])
        runs.append(Found(number, option, places, float(costs[rank]), float(costs[rank] + paid - asks[option])))
    return Priced(found=tuple(runs), least=float(proven), labels=int(count), is_cut_off=bool(is_cut_off) or found == room)


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
