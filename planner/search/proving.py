"""
Proving: runs are listed without dominance, timed and priced in truth, so that the bound is one of legal runs.

A label's price is a floor, and the runs behind the cheapest floors may be illegal.  But where every run whose floor is
below zero at the master's duals can be listed and timed, and none is below zero in truth, the master's value at true
prices is what no legal plan undercuts (:func:`prove`).  Likewise, when every run within some reach of zero is listed, any
plan that uses another costs at least the bound and the reach, so the choice among the listed ones is proven
(:func:`close`), as in route enumeration (Baldacci, Christofides and Mingozzi 2008, Mathematical Programming 115).
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from planner.search.columns import Column, column_of
from planner.search.labels import Mode
from planner.search.plate_bound import least_on_plates
from planner.search.pricing import Duals, Found, price_rig
from planner.search.rig import Floats, Rig
from planner.search.solving import Solving
from planner.search.thinning import cheapest_of_each
from planner.search.truth import Truth

FINE_PENCE = 0.05
LEAST_LABELS, MOST_LABELS = 10_000, 3_000_000
LEGS_A_SECOND = 40_000_000  # of labels to places, by one core, in passing
SHARE_FOR_ONE = 0.3  # of the seconds left, at most, for one list of one rig
LEAST_TIMED, MOST_TIMED = 4_000, 30_000  # runs of one rig in one round
TIMED_A_SECOND, SHARE_OF_TIMED = 300, 0.3  # in passing; and how many of what the seconds left allow are one rig's in one round
MOST_LISTED = 30_000  # runs of one rig for a choice
MOST_KEPT = 400
REACHES = (1.0, 0.3, 0.1, 0.03, 0.01)
DEPTHS_PENCE = (FINE_PENCE, 200.0, 600.0, 2000.0, 6000.0)


@dataclass(frozen=True, kw_only=True, slots=True)
class Listed:
    """Every run of a rig whose reduced cost at its floor is below ``reach``."""

    reach: float
    runs: tuple[Found, ...]


def every_run(
    rig: Rig, number: int, duals: Duals, *, reach: float, most: int, most_labels: int = MOST_LABELS
) -> tuple[Found, ...] | None:
    """
    Return every run of the rig whose reduced cost at its floor is below ``reach``; None when there are too many.

    A call at a compound where nothing is left or loaded is no run.
    """
    if least_on_plates(rig, duals) >= reach:
        return ()
    priced = price_rig(
        rig, number, duals, threshold=reach, mode=Mode.EVERY, most_labels=most_labels, most_looks=1, most_found=most
    )
    if priced.is_cut_off:
        return None
    return tuple(run for run in priced.found if any(place < len(rig.tasks) for place in run.places))


def _lists(
    solving: Solving, pool: ThreadPoolExecutor, duals: Duals, reaches: Sequence[Sequence[float]], *, most: int,
    needs_all: bool = False,
) -> list[Listed | None]:  # fmt: skip
    """Return for each rig the first of its reaches that is not too far; None for none, or when the seconds or others end it."""
    is_missing = False

    def first(rank: int) -> Listed | None:
        nonlocal is_missing
        for reach in reaches[rank]:
            rig, legs = solving.rigs[rank], SHARE_FOR_ONE * LEGS_A_SECOND * solving.spare
            if (needs_all and is_missing) or solving.left <= 0:
                break
            room = int(min(MOST_LABELS, max(LEAST_LABELS, legs / len(rig.took))))
            runs = every_run(rig, rank, duals, reach=reach, most=most, most_labels=room)
            if runs is not None:
                return Listed(reach=reach, runs=runs)
        is_missing = True
        return None

    return list(pool.map(first, range(len(solving.rigs))))


def prove(solving: Solving, pool: ThreadPoolExecutor) -> None:
    """Settle, list and time until no legal run is below zero, raising the bound; or until the time for it is over."""
    skipped = [0] * len(solving.rigs)  # depths that listed too much in the round before
    while not solving.is_time_for_plans:
        solving.settle(pool)
        value, duals = solving.master.pence, solving.duals
        most = min(MOST_TIMED, max(LEAST_TIMED, int(SHARE_OF_TIMED * TIMED_A_SECOND * solving.spare)))
        reaches = [[-depth for depth in DEPTHS_PENCE[count:]] for count in skipped]
        found = _lists(solving, pool, duals, reaches, most=most)
        by_first, fresh, is_of_floors = list[Floats](), list[Column](), False
        for rank, listed in enumerate(found):
            answer = by_truth(solving.rigs[rank], solving.truth, listed, is_over=lambda: solving.is_over) if listed else None
            is_of_floors |= listed is None or answer is None or listed.reach < -FINE_PENCE
            lowest, columns = answer or _by_floors(solving, rank, duals)
            by_first.append(lowest)
            fresh += columns
        skipped = [max(0, DEPTHS_PENCE.index(-listed.reach) - 1) if listed else len(DEPTHS_PENCE) - 1 for listed in found]
        solving.raise_bound(value, by_first, duals, is_of_floors=is_of_floors)
        if not solving.master.add(fresh) and not solving.widen():
            break


def by_truth(
    rig: Rig, truth: Truth, listed: Listed, *, is_over: Callable[[], bool] = lambda: False
) -> tuple[Floats, list[Column]] | None:
    """Return by first task what no run's true reduced cost undercuts, and the columns below zero; None for no time."""
    paid = {column_of(rig, run): run.reduced - run.floor_pence for run in listed.runs}
    best = cheapest_of_each(paid, truth, is_over=is_over)
    if best is None:
        return None
    costs = [truth.pence(column) + paid[column] for column in best]
    below = sorted((cost, rank) for rank, cost in enumerate(costs) if cost < -FINE_PENCE)
    by_first = np.full(len(rig.tasks), min(listed.reach, 0.0))
    for cost, rank in below:
        first = next(place for place in best[rank].places if place < len(rig.tasks))
        by_first[first] = min(by_first[first], cost)
    return by_first, [best[rank] for _, rank in below[:MOST_KEPT]]


def _by_floors(solving: Solving, rank: int, duals: Duals) -> tuple[Floats, list[Column]]:
    priced = solving.priced(rank, duals, mode=Mode.EXACT)
    return priced.by_first, [column_of(solving.rigs[rank], run) for run in priced.found]


def close(solving: Solving, pool: ThreadPoolExecutor) -> None:
    """List every run within reach of the last proof, the gap if there is room, and choose among them for good."""
    if solving.proof is None:
        return
    value, duals = solving.proof
    for share in REACHES:
        reach = share * (solving.best.pence - value)
        if reach <= solving.closed_within:
            return
        found = _lists(solving, pool, duals, [(reach,)] * len(solving.rigs), most=MOST_LISTED, needs_all=True)
        listed = [each for each in found if each is not None]
        if len(listed) < len(found):
            continue
        columns = [column_of(solving.rigs[run.rig], run) for each in listed for run in each.runs]
        if sum(not solving.truth.is_known(column) for column in columns) > TIMED_A_SECOND * solving.spare:
            continue
        best = cheapest_of_each(columns, solving.truth, is_over=lambda: solving.is_over)
        if best is not None:
            least = solving.choose_from(best, seconds=0.8 * solving.left, gap=1e-5)
            solving.raise_to(min(value + reach, least), is_of_floors=solving.is_bound_of_floors)
            solving.closed_within = reach
        return
