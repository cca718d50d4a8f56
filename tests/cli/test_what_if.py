"""``homeleg what-if`` as people run it, on a plan of eight moves."""

import json
import sys

import pytest

from cli.app import main
from cli.plan_file import read_plan
from cli.prices_file import write_prices
from planner.runs.plan_document import plan_to_document
from planner.search.solve import solve_priced
from tests.bench.invented_days import Shape, invented_day


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    day = invented_day(Shape(moves=8, decks=(2,)), 4)
    made = solve_priced(day, seconds=10, rounds=20)
    path = tmp_path_factory.mktemp("what-if")
    (path / "plan.json").write_text(json.dumps(plan_to_document(day, made.plan)))
    write_prices(path, made)
    return path


@pytest.fixture
def run(monkeypatch, capsys, folder):
    def ran(*words):
        monkeypatch.setattr(sys, "argv", ["homeleg", "what-if", str(folder), *words])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        return ended.value.code, told.out, told.err

    return ran


def test_a_question_is_answered_in_both_ways(run):
    code, out, _ = run("--without", "P0", "--home-by", "L0=21:00", "--promise", "M1=08:00-20:00", "--seconds", "2")
    assert code == 0
    assert "What if: P0 kept out; M1 promised 08:00-20:00; L0 home by 21:00." in out
    assert "by the prices" in out
    assert "planned again" in out


def test_the_answer_is_there_for_programs_too(run, folder):
    runs = read_plan(folder / "plan.json").plan.runs
    kept = next(item.run_id for item in runs if item.itinerary.driver != "P0" and "M1" not in item.itinerary.moves)
    code, out, _ = run("--pin", "M1=P0", "--keep", kept, "--seconds", "2", "--json")
    assert code == 0
    document = json.loads(out)
    assert document["what_if"] == [f"{kept} kept as it is", "M1 pinned to P0"]
    assert document["price_saves_pence"] is not None


def test_without_a_question_one_more_of_each_has_its_price(run):
    code, out, _ = run()
    assert code == 0
    assert out.startswith("By the prices")
    assert isinstance(json.loads(run("--json")[1]), list)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--one-more", "P77"), "is no driver, transporter, compound or hired carrier"),
        (("--pin", "M1"), "says no crew"),
        (("--home-by", "25:99"), "is no time"),
        (("--promise", "M1=12:00-09:00"), "is no window"),
        (("--keep", "R99"), "is no run of this day"),
    ],
)
def test_a_slip_is_told_with_what_to_write(run, words, said):
    code, _, err = run(*words)
    assert code in (1, 2)
    assert said in err


def test_without_prices_it_says_so(run, folder):
    kept = (folder / "prices.json").read_bytes()
    (folder / "prices.json").unlink()
    try:
        assert run()[0] == 1
        assert "no prices were kept" in run("--without", "P0", "--seconds", "1")[1]
    finally:
        (folder / "prices.json").write_bytes(kept)
