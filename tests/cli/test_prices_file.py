"""What comes with a plan: read for exactly the plan it was found with, and missed without a fuss."""

from cli.prices_file import NAME, is_as_written, read_all_prices, read_near, write_prices
from planner.runs.plan import Plan
from planner.search.prices import Prices
from planner.search.solve import Solution, solve_priced
from tests.planner.desk.quoting_world import world

PLAN = Plan(runs=(), not_placed=())
PRICES = Prices(move={"M1": 1234.5}, driver={}, transporter={}, plates={})
SOLVED = Solution(plan=PLAN, prices=PRICES)


def test_prices_come_back_for_their_plan_only(tmp_path):
    write_prices(tmp_path, SOLVED)
    assert read_all_prices(tmp_path, PLAN) == PRICES
    assert read_near(tmp_path, PLAN).prices == PRICES
    (tmp_path / NAME).write_text((tmp_path / NAME).read_text().replace('"plan_cost_pence":0', '"plan_cost_pence":1'))
    assert read_all_prices(tmp_path, PLAN) is None
    assert read_near(tmp_path, PLAN) is None


def test_near_runs_come_back_with_their_duty_and_cost(tmp_path):
    solved = solve_priced(world(moves=6, plate_drivers=3, transporters=3), seconds=10, near_seconds=1)
    write_prices(tmp_path, solved)
    told = lambda run: (run.itinerary, run.kind, run.start_min, run.end_min, run.cost_pence)  # noqa: E731
    assert [told(run) for run in read_near(tmp_path, solved.plan).runs] == [told(run) for run in solved.near]
    assert solved.near


def test_a_plan_without_prices_takes_old_ones_away(tmp_path):
    write_prices(tmp_path, SOLVED)
    write_prices(tmp_path, Solution(plan=PLAN, prices=None))
    assert not (tmp_path / NAME).exists()
    assert read_near(tmp_path, PLAN) is None


def test_damaged_prices_are_none(tmp_path):
    for text in ("", "[]", "{}", '{"plan_cost_pence": 0, "prices": {"move": {"M1": "x"}}}', '{"plan_cost_pence": 0, "prices": 3}'):
        (tmp_path / NAME).write_text(text)
        assert read_near(tmp_path, PLAN) is None


def test_a_plan_that_was_changed_by_hand_is_not_as_written(tmp_path):
    (tmp_path / "plan.json").write_text("{}")
    assert not is_as_written(tmp_path / "plan.json"), "nothing tells"
    write_prices(tmp_path, SOLVED)
    assert is_as_written(tmp_path / "plan.json")
    (tmp_path / "plan.json").write_text("{ }")
    assert not is_as_written(tmp_path / "plan.json")
