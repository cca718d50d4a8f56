"""
Price bound: what a day costs at least, by prices that were found on a day much like it.

Prices that are no longer the best still prove something: what all moves are paid, less what all crews, transporters and
sets of plates are asked for, less the most that runs could gain at these prices, is never above the cost of a legal plan.
One exact round of pricing finds those gains, so that a changed day is judged without being planned.
"""

from collections.abc import Mapping, Sequence

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.search.crew_classes import DriverClass, TransporterType, driver_classes, transporter_types
from planner.search.gains import most_gained
from planner.search.labels import Mode
from planner.search.master import rows_of
from planner.search.prices import Prices
from planner.search.pricing import Duals, price_rig
from planner.search.proving import FINE_PENCE, Listed, by_truth, every_run
from planner.search.rig import Floats, Rig
from planner.search.rig_making import rigs_of
from planner.search.starting import starting_columns
from planner.search.truth import Truth

MOST_LABELS, MOST_LOOKS, MOST_TIMED = 400_000, 500_000_000, 4000
TOLERANCE_PENCE = 1.0


def least_by_prices(day: Day, prices: Prices) -> float:
    """Return what no legal plan of the day undercuts, in pence; moves without a price count as left behind."""
    classes, types = driver_classes(day), transporter_types(day)
    rigs = rigs_of(day, classes, types)
    duals = duals_by_prices(day, prices, classes, types)
    asked = sum(duals.driver[rank] * len(item.drivers) for rank, item in enumerate(classes))
    asked += sum(duals.transporter[rank] * len(kind.transporters) for rank, kind in enumerate(types))
    asked += sum(duals.plates[item.place_id] * item.plate_sets for item in day.compounds)
    truth = Truth(day, rigs, classes, types)
    by_first = [_gains(rig, number, duals, truth) for number, rig in enumerate(rigs)]
    gained = most_gained(rigs, rows_of(day, classes, types), by_first)
    return sum(duals.move.values()) - asked + gained + _gain_of_others(day, duals.move)


def duals_by_prices(day: Day, prices: Prices, classes: Sequence[DriverClass], types: Sequence[TransporterType]) -> Duals:
    """Return the prices as duals of this day; somebody without a price asks for nothing."""
    return Duals(
        move={move.move_id: prices.move.get(move.move_id, float(move.stays_behind_pence)) for move in day.moves},
        driver=[max(prices.driver.get(str(one.driver_id), 0.0) for one in item.drivers) for item in classes],
        transporter=[max(prices.transporter.get(str(one.transporter_id), 0.0) for one in kind.transporters) for kind in types],
        plates={str(item.place_id): prices.plates.get(str(item.place_id), 0.0) for item in day.compounds},
    )


def _gain_of_others(day: Day, paid: Mapping[MoveId, float]) -> float:
    """Return the least that hired carriers and moves left behind add at these prices, never above 0."""
    hired: dict[str, list[float]] = {}
    total = 0.0
    for column in starting_columns(day):
        reduced = min(0.0, column.pence - paid[column.moves[0]])
        if column.carrier is None:
            total += reduced
        else:
            hired.setdefault(column.carrier, []).append(reduced)
    return total + sum(sum(sorted(hired.get(item.carrier_id, ()))[: item.cars]) for item in day.carriers)


def _gains(rig: Rig, number: int, duals: Duals, truth: Truth) -> Floats:
    """Return by first task the least that a run adds, never above 0: in truth, or at floors where there are too many to time."""
    runs = every_run(rig, number, duals, reach=-FINE_PENCE, most=MOST_TIMED)
    answer = None if runs is None else by_truth(rig, truth, Listed(reach=-FINE_PENCE, runs=runs))
    if answer is not None:
        return answer[0]
    return price_rig(
        rig, number, duals, threshold=-TOLERANCE_PENCE, mode=Mode.EXACT, most_labels=MOST_LABELS, most_looks=MOST_LOOKS,
        most_found=1,
    ).by_first  # fmt: skip
