"""One move more among the columns of a date, against a choice made from nothing."""

from dataclasses import replace

import numpy as np
import pytest

from planner.model.moves import MoveId
from planner.search.branching import CLOSE_PENCE, CLOSE_SHARE, cheapest_whole
from planner.search.columns import Column
from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.master import rows_of
from planner.search.program import Program
from planner.search.standing import StandingChoice
from tests.bench.invented_days import Shape, invented_day

ASKED = MoveId("asked")


@pytest.fixture(scope="module")
def invented():
    day = invented_day(Shape(moves=9), 1)
    rows = rows_of(day, driver_classes(day), transporter_types(day))
    return rows, [move.move_id for move in day.moves]


def some_columns(moves, rng, count, *, asked=False):
    """Columns over random moves of one of two crew classes, dearer the more they do."""
    made = []
    for _ in range(count):
        does = tuple(moves[rank] for rank in sorted(rng.choice(len(moves), int(rng.integers(1, 4)), replace=False)))
        pence = float(rng.integers(3000, 6000) + 2000 * len(does))
        made.append(Column(pence=pence, moves=(*does, ASKED) if asked else does, classes=(int(rng.integers(2)),)))
    return made


def from_nothing(columns, rows):
    pool = [*columns]
    shares = Program(pool, rows, is_whole=True).shares(seconds=10)
    return sum(column.pence * share for column, share in zip(pool, shares, strict=True)), np.flatnonzero(shares > 0.5)


def cut_and_branched(question):
    """What the cheapest whole choice adds once the question was solved."""
    while question.cut():
        question.solve()
    return cheapest_whole(question, 1e6, most_nodes=4000).pence


def test_a_question_finds_the_cheapest_set_of_runs_with_the_move(invented):
    """Never below it, never above it by more than the plan's own prices were lowered, and in three of four cases it to the penny."""
    rows, moves = invented
    wider = replace(
        rows, index=rows.index | {("move", ASKED): len(rows.lower)}, lower=(*rows.lower, 1.0), upper=(*rows.upper, 1.0)
    )  # fmt: skip
    exact = 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        stays = [Column(pence=50_000.0, moves=(move,)) for move in moves]
        columns, fresh = [*stays, *some_columns(moves, rng, 60)], some_columns(moves, rng, 12, asked=True)
        pence, plan = from_nothing(columns, rows)
        standing = StandingChoice(columns, rows, plan)
        assert standing.pence == pytest.approx(pence)
        true_pence, _ = from_nothing([*columns, *fresh], wider)
        with standing.ask(ASKED) as question:
            question.add(fresh[:6])
            question.solve()
            question.add(fresh[6:])
            assert question.solve()
            found = cut_and_branched(question) + standing.pence
        assert true_pence - 1e-6 <= found <= true_pence + standing.pence - standing.leaned_pence
        exact += found == pytest.approx(true_pence)
    assert exact >= 28


@pytest.mark.parametrize("seed", range(12))
def test_where_branches_run_out_an_integer_program_finds_the_cheapest(invented, seed):
    """To the penny but for what is near enough, whatever the plan's own prices hide; and nothing where nothing is cheaper."""
    rows, moves = invented
    wider = replace(
        rows, index=rows.index | {("move", ASKED): len(rows.lower)}, lower=(*rows.lower, 1.0), upper=(*rows.upper, 1.0)
    )  # fmt: skip
    rng = np.random.default_rng(100 + seed)
    columns = [*(Column(pence=50_000.0, moves=(move,)) for move in moves), *some_columns(moves, rng, 60)]
    fresh = some_columns(moves, rng, 12, asked=True)
    pence, plan = from_nothing(columns, rows)
    true_pence = from_nothing([*columns, *fresh], wider)[0] - pence
    with StandingChoice(columns, rows, plan).ask(ASKED) as question:
        question.add(fresh)
        assert question.solve()
        found = question.cheapest(1e6, near_pence=0.0)
        assert found.pence == pytest.approx(true_pence)
        assert sum(question.columns[rank].pence for rank in found.chosen) == pytest.approx(true_pence + pence)
        assert question.cheapest(true_pence - 0.5, near_pence=0.0) is None
        if question.whole is None:
            assert cheapest_whole(question, 1e6, most_nodes=1).pence <= true_pence + max(CLOSE_PENCE, CLOSE_SHARE * 1e6)


def test_a_question_leaves_no_trace(invented):
    rows, moves = invented
    rng = np.random.default_rng(3)
    columns = [*(Column(pence=50_000.0, moves=(move,)) for move in moves), *some_columns(moves, rng, 60)]
    fresh = some_columns(moves, rng, 12, asked=True)
    standing = StandingChoice(columns, rows, from_nothing(columns, rows)[1])
    answers = []
    for _ in range(2):
        with standing.ask(ASKED) as question:
            question.add(fresh)
            question.solve()
            answers.append((question.pence, cut_and_branched(question)))
        with standing.ask(MoveId("another")) as question:
            question.add([Column(pence=1000.0, moves=(MoveId("another"),))])
            assert question.solve()
            assert question.pence == pytest.approx(1000.0), "nothing is left of the one before"
    assert answers[0] == pytest.approx(answers[1])


def test_nothing_is_found_where_nothing_does_the_move(invented):
    rows, moves = invented
    columns = [Column(pence=50_000.0, moves=(move,)) for move in moves]
    standing = StandingChoice(columns, rows, range(len(columns)))
    with standing.ask(ASKED) as question:
        assert not question.solve()
