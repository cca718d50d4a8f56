"""
Course: the order in which a search takes its steps, from quick runs to the last proof.

Quick pricing gives a plan within seconds; exact pricing on floors gives good duals; proving lifts the bound to that of
legal runs; then choosing and closing go on until the gap, the rounds or the seconds run out.  A search that begins with
what its parts found looks for runs across their borders, lifts the bound of the whole and chooses once more.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from planner.runs.run import Run
from planner.search.columns import Column
from planner.search.labels import Mode
from planner.search.proving import close, prove
from planner.search.ruin_runs import ruin_columns
from planner.search.solving import QUICK_POOLS, Solving
from planner.search.starting import alone_columns

LARGE = 200  # moves of a day whose first pricing takes longer than a router waits
SHARE_FOR_BEGINNING, MOST_SECONDS_FOR_BEGINNING, ROUNDS_WHEN_COUNTED = 0.05, 8.0, 50_000
SECONDS_FOR_ALONE = 1.0
SHARE_TO_CHOOSE = 0.5  # of the seconds left when a joined day is priced; the rest improves what is chosen
SLACK = 0.005  # how near the bound of floors comes to the master's value before runs are listed


def run(solving: Solving, *, has_plan: bool = False) -> None:
    """Search until the end; Ctrl-C keeps the best.  A part of a big day ``has_plan`` when it was begun before."""
    try:
        with ThreadPoolExecutor(2) as pool:
            if solving.is_joined:
                _do_alone(solving)
                solving.price_joined(pool)
                prove(solving, pool)
                solving.choose(SHARE_TO_CHOOSE * solving.left)
                return
            _find(solving, pool, has_plan=has_plan)
            _prove(solving, pool)
    except KeyboardInterrupt:
        solving.end()


def run_without_proof(solving: Solving) -> None:
    """Search for a good plan alone."""
    with ThreadPoolExecutor(2) as pool:
        _find(solving, pool)


def begin(solving: Solving) -> None:
    """Give a large day a plan before the first pricing is through; when rounds are counted, the clock is not asked."""
    if len(solving.day.moves) < LARGE:
        return
    alone = _do_alone(solving)
    before, seconds = solving.left, min(SHARE_FOR_BEGINNING * solving.left, MOST_SECONDS_FOR_BEGINNING)
    is_counted = solving.rounds is not None
    columns = ruin_columns(
        solving.day, solving.rigs, solving.classes, solving.types,
        left=(lambda: 1.0) if is_counted else (lambda: 1 - (before - solving.left) / seconds),
        rounds=ROUNDS_WHEN_COUNTED if is_counted else None,
    )  # fmt: skip
    runs = [(column, solving.truth.of(column)) for column in columns]
    legal = [replace(column, pence=float(run.cost_pence)) for column, run in runs if isinstance(run, Run)]
    solving.master.add(legal)
    solving.choose_from([*alone, *legal], seconds=seconds)


def _do_alone(solving: Solving) -> list[Column]:
    """
    Return every task done alone, having given it to the master, and bar tasks from rigs that cannot do them.

    A master that could only leave moves behind would pay their whole price for each, and on a large day it takes dozens of
    rounds until its duals are those of runs.  Where nobody can do a move, its price stays, and labels of whoever is not
    barred would go for it from everywhere.
    """
    columns = alone_columns(solving.rigs, solving.truth)
    solving.master.add(columns)
    return columns


def _find(solving: Solving, pool: ThreadPoolExecutor, *, has_plan: bool = False) -> None:
    if has_plan:
        _do_alone(solving)
    elif len(solving.day.moves) < LARGE:
        solving.choose_from(_do_alone(solving), seconds=SECONDS_FOR_ALONE)  # a plan before there is a good one
    else:
        begin(solving)
    solving.price_until(pool, Mode.ROUGH)
    solving.settle(pool)
    solving.share_decks()
    solving.choose(max(0.05 * solving.seconds, 2.0), pools=QUICK_POOLS)
    solving.price_until(pool, Mode.BROAD)
    solving.price_until(pool, Mode.EXACT, slack=SLACK)
    solving.settle(pool)
    solving.share_decks()
    solving.choose(max(0.1 * solving.seconds, 2.0), pools=QUICK_POOLS)


def _prove(solving: Solving, pool: ThreadPoolExecutor) -> None:
    prove(solving, pool)
    while not solving.is_over:
        before = len(solving.master.columns), solving.best.pence, solving.bound
        solving.settle(pool)
        solving.choose(max(solving.left / 3, 2.0))
        close(solving, pool)
        if (len(solving.master.columns), solving.best.pence, solving.bound) == before:
            break
