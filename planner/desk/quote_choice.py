"""
Choice: what planning anew makes of one more delivery, by pricing its runs and choosing among runs that the plan nearly used.

The plan comes with the prices of its proof and its near runs (:mod:`planner.search.near_runs`).  Runs with the delivery and cars
close to its door are listed exactly as the plan's own search lists them, timed and priced; then the cheapest set of runs is
chosen that does every car of the date and the delivery.  Every run of that set is legal, so that a real plan reaches the
figure; it lies above what planning anew finds where a run is needed with cars far from the door, or one that was not near.
Bays are not looked at, and runs with a night out only by insertion.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId
from planner.runs.run import Itinerary, Run, RunKind
from planner.search.columns import Column, column_of
from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.excerpt import excerpt
from planner.search.master import rows_of
from planner.search.price_bound import duals_by_prices
from planner.search.prices import Near, Prices
from planner.search.program import Program
from planner.search.proving import every_run
from planner.search.rig_making import rigs_of
from planner.search.truth import Truth

if TYPE_CHECKING:
    from planner.search.pricing import Found

CLOSE_MOVES = 24  # cars near the door that may share a run with the delivery
LISTED, TIMED, AT_ONCE = 4000, 60, 30  # runs of one rig; of all that are timed; of those before a choice
REWARDS = (0.0, 0.25, 0.5, 0.75)  # of what is known to be enough
CHOSEN_AMONG = 300  # near runs while there are more to time
MOST_LABELS = 200_000
SECONDS = 1.0  # for one choice, which takes some hundredths
WHOLE = 1e-6
SLACK_PENCE = 100.0  # for a plan that is not proven to the penny
FAR = float("inf")


def choice_pence(day: Day, move: Move, runs: Sequence[Run], near: Near, *, below_pence: int) -> int:
    """
    Return what the delivery adds once the date is chosen anew, ``below_pence`` when that is no less.

    The likeliest runs with the delivery are timed a few at a time; each choice found leaves less room for the rest.

    Parameters
    ----------
    day
        Holds the asked ``move`` with its window.
    move, runs
        The delivery, and the runs of the planned day.
    near
        What came with the plan.
    below_pence
        What is known to be enough.

    """
    choosing, best, with_it = _Choosing(day, move, runs), below_pence, list[tuple[float, Run]]()
    ranked = sorted((reduced_pence(day, run, near.prices), rank) for rank, run in enumerate(near.runs))
    beside = [(pence, near.runs[rank]) for pence, rank in ranked]
    listed, truth = _listed(day, move, near.prices, below_pence)
    for at in range(0, min(len(listed), TIMED), AT_ONCE):
        fresh = [column for own, column in listed[at : at + AT_ONCE] if own < best]
        timed = [run for column in fresh if isinstance(run := truth.of(column), Run)]
        with_it += [(reduced_pence(day, run, near.prices, unpaid=move.move_id), run) for run in timed]
        best = _chosen(choosing, best, with_it, beside[:CHOSEN_AMONG]) if timed else best
    return best if len(beside) <= CHOSEN_AMONG or beside[CHOSEN_AMONG][0] > best else _chosen(choosing, best, with_it, beside)


def _chosen(
    choosing: "_Choosing", best: int, with_it: Sequence[tuple[float, Run]], beside: Sequence[tuple[float, Run]]
) -> int:
    """Return the better of ``best`` and a choice among all runs that could make it so."""
    paying = [(own, run) for own, run in with_it if own < best]
    if not paying:
        return best
    room = best - min(own for own, _ in paying) + SLACK_PENCE  # what is farther than that cannot pay
    found = choosing.cheaper(best, [*(run for pence, run in beside if pence <= room), *(run for _, run in paying)])
    return best if found is None else min(best, found)


def reduced_pence(day: Day, run: Run, prices: Prices, *, unpaid: MoveId | None = None) -> float:
    """Return how far a run is from paying, in pence, ``unpaid`` left out; FAR with cars that the day does not have."""
    itinerary = run.itinerary
    if any(move not in day.move_of for move in itinerary.moves) or not _is_here(day, itinerary):
        return FAR
    paid = sum(prices.move.get(move, 0.0) for move in itinerary.moves if move != unpaid)
    asked = sum(prices.driver.get(str(name), 0.0) for name in _drivers(itinerary))
    if itinerary.transporter is not None:
        asked += prices.transporter.get(str(itinerary.transporter), 0.0)
    if run.kind is RunKind.PLATE and itinerary.driver is not None:
        asked += prices.plates.get(str(day.driver_of[itinerary.driver].base), 0.0)
    return run.cost_pence - paid + asked


def _is_here(day: Day, itinerary: Itinerary) -> bool:
    known = itinerary.transporter is None or itinerary.transporter in day.transporter_of
    return known and all(name in day.driver_of for name in _drivers(itinerary))


def _drivers(itinerary: Itinerary) -> list[str]:
    return [name for name in (itinerary.driver, itinerary.support_driver) if name is not None]


def _listed(day: Day, move: Move, prices: Prices, below_pence: int) -> tuple[list[tuple[float, Column]], Truth]:
    """Return runs with the delivery, not timed yet, each with what it costs at least beside what its other cars are paid."""
    small = excerpt(day, {move.move_id, *_close(day, move, prices)})
    small = replace(small, policy=replace(small.policy, nights_out=False))  # a night takes a tenth of a second to time
    classes, types = driver_classes(small), transporter_types(small)
    rigs = rigs_of(small, classes, types)
    paying = replace(prices, move={**prices.move, move.move_id: float(below_pence)})
    duals = duals_by_prices(small, paying, classes, types)

    def of_rig(number: int) -> list[tuple[float, Column]]:
        found: tuple[Found, ...] | None = None
        for share in REWARDS:  # where there are too many runs, those that would make the delivery much cheaper
            found = every_run(rigs[number], number, duals, reach=-share * below_pence, most=LISTED, most_labels=MOST_LABELS)
            if found is not None:
                break
        columns = ((below_pence + run.reduced, column_of(rigs[number], run)) for run in found or ())
        return [item for item in columns if move.move_id in item[1].moves and item[1].is_elementary]

    with ThreadPoolExecutor(2) as pool:
        listed = [item for own in pool.map(of_rig, range(len(rigs))) for item in own]
    return sorted(listed, key=lambda item: item[0]), Truth(small, rigs, classes, types)


def _close(day: Day, move: Move, prices: Prices) -> set[MoveId]:
    """Return the cars with the nearest doors that have a price, a part-exchange with its delivery."""
    metres, index = day.tables[VehicleClass.CAR].metres[day.place_index[move.destination]], day.place_index
    away = {
        other.move_id: min(int(metres[index[end]]) for end in (other.origin, other.destination) if end not in day.compound_of)
        if not {other.origin, other.destination} <= set(day.compound_of) else 10**9
        for other in day.moves if other.move_id in prices.move
    }  # fmt: skip
    nearest = set(sorted(away, key=lambda name: away[name])[:CLOSE_MOVES])
    tied = {other.move_id: other.tied_to for other in day.moves if other.tied_to is not None}
    return nearest | {name for name, to in tied.items() if to in nearest} | {to for name, to in tied.items() if name in nearest}


class _Choosing:
    """A choice among more and more runs of one date, the delivery among its cars."""

    def __init__(self, day: Day, move: Move, runs: Sequence[Run]) -> None:
        others = [other for other in day.moves if other.move_id != move.move_id]
        done = {name for run in runs for name in run.itinerary.moves}
        self.day, self.runs = day, runs
        self.now = sum(run.cost_pence for run in runs)
        self.now += sum(other.stays_behind_pence for other in others if other.move_id not in done)
        self.stays = [Column(pence=float(other.stays_behind_pence), moves=(other.move_id,)) for other in others]
        classes, types = driver_classes(day), transporter_types(day)
        self.rows = rows_of(day, classes, types)
        self.rank_of = {str(one.driver_id): rank for rank, item in enumerate(classes) for one in item.drivers}
        self.type_of = {str(one.transporter_id): rank for rank, kind in enumerate(types) for one in kind.transporters}

    def cheaper(self, than_pence: int, candidates: Sequence[Run]) -> int | None:
        """Return what the cheapest set of runs with the delivery adds to the cost as it is; None when it is no less."""
        pool = [*self.stays, *(self._column(run) for run in (*self.runs, *candidates))]
        for is_whole in (False, True):  # shares are found faster, and mostly are whole
            shares = Program(pool, self.rows, is_whole=is_whole).shares(seconds=SECONDS, gap=1e-6)
            if shares is None:
                return None
            pence = float(sum(column.pence * share for column, share in zip(pool, shares, strict=True))) - self.now
            if pence > than_pence - 0.5:
                return None
            if all(share < WHOLE or share > 1 - WHOLE for share in shares):
                return round(pence)
        return None

    def _column(self, run: Run) -> Column:
        itinerary, base = run.itinerary, None
        if run.kind is RunKind.PLATE and itinerary.driver is not None:
            base = str(self.day.driver_of[itinerary.driver].base)
        return Column(
            pence=float(run.cost_pence), moves=itinerary.moves, carrier=itinerary.carrier, plate_base=base,
            classes=tuple(self.rank_of[name] for name in _drivers(itinerary)),
            transporter_type=self.type_of[itinerary.transporter] if itinerary.transporter is not None else -1,
        )  # fmt: skip
