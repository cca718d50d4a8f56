"""
Gains: the most that runs of all rigs can take off the master's value together.

Every run begins with one task, and no task is done twice: of the runs of a plan each begins with another.  So what they
gain is no more than the best assignment of first tasks to rigs, within the drivers, transporters and plates that there are
(a linear program, whose value no whole assignment exceeds).
"""

from collections.abc import Sequence

import numpy as np

from planner.search.columns import Column
from planner.search.master import Rows
from planner.search.quiet_highs import UNBOUND, quiet_highs
from planner.search.rig import Floats, Rig

ROUNDED_SHARE, ROUNDED_PENCE = 1e-8, 1e-3  # what the program's value may be off


def most_gained(rigs: Sequence[Rig], rows: Rows, by_first: Sequence[Floats]) -> float:
    """
    Return what all runs of a plan add to the master's value at least, pence, never above zero.

    Parameters
    ----------
    rigs
        Which crews each may have.
    rows
        How many drivers, transporters and plates there are.
    by_first
        For each rig and task, a figure that no reduced cost of a run undercuts that begins with it.

    """
    lead = {key[1]: row for key, row in rows.index.items() if key[0] == "move"}
    starts, index, values, cost = [0], list[int](), list[float](), list[float]()

    def add(pence: float, entries: dict[int, float]) -> None:
        cost.append(pence)
        index.extend(entries)
        values.extend(entries.values())
        starts.append(len(index))

    for link, (rig, least) in enumerate(zip(rigs, by_first, strict=True), len(rows.lower)):
        for place in np.flatnonzero(least < 0):
            add(float(least[place]), {lead[rig.tasks[place].moves[0]]: 1.0, link: 1.0})
        for option in rig.options:
            crew = Column(
                pence=0.0, moves=(), classes=option.classes, transporter_type=rig.transporter_type, plate_base=rig.plate_base
            )
            add(0.0, rows.of(crew) | {link: -1.0})
    if len(cost) == sum(len(rig.options) for rig in rigs):
        return 0.0
    return _least(cost, starts, index, values, [*rows.upper, *([0.0] * len(rigs))])


def _least(
    cost: Sequence[float], starts: Sequence[int], index: Sequence[int], values: Sequence[float], upper: Sequence[float]
) -> float:
    """Return the least of a linear program whose rows have upper limits alone, what its value may be off taken off."""
    import highspy

    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(cost), len(upper)
    model.col_cost_, model.row_upper_ = np.array(cost), np.array(upper)
    model.col_lower_, model.col_upper_ = np.zeros(len(cost)), np.full(len(cost), UNBOUND)
    model.row_lower_ = np.full(len(upper), -UNBOUND)
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_ = np.array(starts, np.int32)
    model.a_matrix_.index_, model.a_matrix_.value_ = np.array(index, np.int32), np.array(values)
    highs = quiet_highs()
    highs.passModel(model)
    highs.run()
    return float(highs.getInfo().objective_function_value) * (1 + ROUNDED_SHARE) - ROUNDED_PENCE
