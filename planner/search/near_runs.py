"""
Near runs: legal runs that a plan did not need but that would cost it little more, kept for whoever asks for one car more.

How near a run is, is its reduced cost at the prices of the proof: what a plan costs at least above the bound if the run is in it.
Every run whose floor is within reach is listed, timed and priced, as in :mod:`planner.search.proving`, as far as the seconds go.
"""

import time
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor

from planner.runs.run import Run
from planner.search.columns import Column, column_of
from planner.search.pricing import Duals, asks_of
from planner.search.proving import every_run
from planner.search.solving import Solving
from planner.search.thinning import cheapest_of_each

REACHES_PENCE = (400.0, 1000.0, 2000.0, 4000.0, 8000.0)
MOST_LISTED = 3000  # runs of one rig
MOST_LABELS = 400_000
MOST_KEPT = 2000


def near_runs(solving: Solving, *, seconds: float, most: int = MOST_KEPT) -> tuple[Run, ...]:
    """Return timed runs of own crews, the nearest first; none where there are no prices yet."""
    if solving.proof is None:
        return ()
    until = time.perf_counter() + seconds
    duals = solving.proof[1]
    columns = {column.key: column for column in solving.master.columns if column.rig >= 0 and solving.truth.is_known(column)}
    for reach in REACHES_PENCE:
        if time.perf_counter() > until:
            break
        listed = _listed(solving, duals, reach, until=until)
        best = cheapest_of_each(listed, solving.truth, is_over=lambda: time.perf_counter() > until)
        columns |= {column.key: column for column in best if best is not None} if best else {}
        if len(columns) >= most:
            break
    return _nearest(solving, columns.values(), duals, most)


def _listed(solving: Solving, duals: Duals, reach: float, *, until: float) -> list[Column]:
    def of_rig(rank: int) -> list[Column]:
        if time.perf_counter() > until:
            return []
        rig = solving.rigs[rank]
        found = every_run(rig, rank, duals, reach=reach, most=MOST_LISTED, most_labels=MOST_LABELS)
        return [column_of(rig, run) for run in found or ()]

    with ThreadPoolExecutor(2) as pool:
        return [column for own in pool.map(of_rig, range(len(solving.rigs))) for column in own]


def reduced_pence(solving: Solving, column: Column, duals: Duals) -> float:
    """Return what the true run of a column costs above what its moves are paid, whom it uses asked for."""
    asked = asks_of(solving.rigs[column.rig], column.classes, duals)
    return solving.truth.pence(column) - sum(duals.move[move] for move in column.moves) + asked


def _nearest(solving: Solving, columns: Iterable[Column], duals: Duals, most: int) -> tuple[Run, ...]:
    legal = [column for column in columns if column.is_elementary and isinstance(solving.truth.of(column), Run)]
    legal.sort(key=lambda column: reduced_pence(solving, column, duals))
    runs = [solving.truth.of(column) for column in legal[:most]]
    return tuple(run for run in runs if isinstance(run, Run))
