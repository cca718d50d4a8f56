"""
Master: the linear problem that mixes candidate runs at least cost, and the duals it pays.

Rows: each move exactly once (leaving it behind is a column), drivers of a class, transporters of a type, sets of plates
at a compound, cars that a hired carrier takes.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from planner.model.day import Day
from planner.search.columns import Column
from planner.search.crew_classes import DriverClass, TransporterType
from planner.search.pricing import Duals
from planner.search.quiet_highs import UNBOUND, quiet_highs

LEAST_LOWERED_PENCE = 0.01


@dataclass(frozen=True, slots=True)
class Rows:
    """Where each row stands and how much it allows."""

    index: dict[tuple[str, object], int]
    lower: tuple[float, ...]
    upper: tuple[float, ...]

    def of(self, column: Column) -> dict[int, float]:
        """Return the column's coefficients by row."""
        return {row: float(times) for row, times in sorted(Counter(self.met_by(column)).items())}

    def met_by(self, column: Column) -> list[int]:
        """Return the rows in which a column counts, a row as often as it does."""
        index = self.index
        met = [index["move", move] for move in column.moves]
        met += [index["driver", rank] for rank in column.classes]
        if column.transporter_type >= 0:
            met.append(index["transporter", column.transporter_type])
        if column.plate_base is not None:
            met.append(index["plates", column.plate_base])
        if column.carrier is not None:
            met.append(index["carrier", column.carrier])
        return met


def rows_of(day: Day, classes: Sequence[DriverClass], types: Sequence[TransporterType]) -> Rows:
    """Return the rows of a day's master problem."""
    wanted: list[tuple[tuple[str, object], float, float]] = [(("move", move.move_id), 1.0, 1.0) for move in day.moves]
    wanted += [(("driver", rank), 0.0, float(len(item.drivers))) for rank, item in enumerate(classes)]
    wanted += [(("transporter", rank), 0.0, float(len(item.transporters))) for rank, item in enumerate(types)]
    wanted += [(("plates", compound.place_id), 0.0, float(compound.plate_sets)) for compound in day.compounds]
    wanted += [(("carrier", carrier.carrier_id), 0.0, float(carrier.cars)) for carrier in day.carriers]
    return Rows(
        {key: rank for rank, (key, _, _) in enumerate(wanted)},
        tuple(low for _, low, _ in wanted),
        tuple(high for _, _, high in wanted),
    )


def empty_solver(rows: Rows, **options: object) -> Any:
    """Return a linear problem of these rows and no columns yet, which is kept warm from one solve to the next."""
    solver = quiet_highs(presolve="off", **options)
    for low, high in zip(rows.lower, rows.upper, strict=True):
        solver.addRow(low, high, 0, np.array([], np.int32), np.array([], np.float64))
    return solver


class Master:
    """The linear problem, kept warm between rounds."""

    def __init__(self, rows: Rows) -> None:
        self.rows, self.columns = rows, list[Column]()
        self.rank_of: dict[tuple[object, ...], int] = {}
        self.prices: list[float] = []
        self.solver = empty_solver(rows)
        self.pence = 0.0
        self.shares = np.zeros(0)
        self.row_dual = np.zeros(len(rows.lower))

    def add(self, columns: Sequence[Column]) -> int:
        """Add the columns that are new; return how many were."""
        fresh = 0
        for column in columns:
            if column.key in self.rank_of:
                continue
            self.rank_of[column.key] = len(self.columns)
            self.columns.append(column)
            self.prices.append(column.pence)
            entries = self.rows.of(column)
            self.solver.addCol(
                column.pence, 0.0, UNBOUND, len(entries), np.array(list(entries), np.int32), np.array(list(entries.values()))
            )
            fresh += 1
        return fresh

    def lower(self, columns: Sequence[Column]) -> int:
        """
        Let columns that are known cost no more than these; return how many cost more before.

        A bound by floors needs it: labels find a run again at its floor, though in truth it is dearer or illegal.
        """
        dearer = [column for column in columns if self.prices[self.rank_of[column.key]] > column.pence + LEAST_LOWERED_PENCE]
        for column in dearer:
            self.set_price(column, column.pence)
        return len(dearer)

    def reprice(self, pence_of: Callable[[Column], float]) -> None:
        """Set the price of every column: its floor, for a bound, or what is known of its truth, for better plans."""
        for column in self.columns:
            self.set_price(column, pence_of(column))

    def set_price(self, column: Column, pence: float) -> None:
        """Set the price of one column that is known."""
        rank = self.rank_of[column.key]
        if self.prices[rank] != pence:
            self.prices[rank] = pence
            self.solver.changeColCost(rank, pence)

    def solve(self) -> float:
        """Solve and return the cost in pence; duals and shares are kept."""
        self.solver.run()
        solution = self.solver.getSolution()
        self.row_dual = np.array(solution.row_dual)
        self.shares = np.array(solution.col_value)
        self.pence = float(self.solver.getInfo().objective_function_value)
        return self.pence

    def reduced_costs(self) -> np.ndarray:
        """Return the reduced cost of every column under the last duals."""
        return np.array(self.solver.getSolution().col_dual)


def duals_of(rows: Rows, row_dual: np.ndarray) -> Duals:
    """Return row duals as pricing wants them: paid for moves, asked for all else."""
    found: dict[str, dict[Any, float]] = {kind: {} for kind in ("move", "driver", "transporter", "plates", "carrier")}
    for (kind, key), row in rows.index.items():
        value = float(row_dual[row])
        found[kind][key] = value if kind == "move" else max(0.0, -value)
    return Duals(
        move=found["move"],
        driver=[found["driver"][rank] for rank in range(len(found["driver"]))],
        transporter=[found["transporter"][rank] for rank in range(len(found["transporter"]))],
        plates=found["plates"],
    )
