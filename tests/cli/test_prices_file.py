"""Prices beside a plan: read for exactly the plan they were found with, and missed without a fuss."""

from cli.prices_file import NAME, read_prices, write_prices
from planner.runs.plan import Plan
from planner.search.price_bound import Prices

PLAN = Plan(runs=(), not_placed=())
PRICES = Prices(move={"M1": 1234.5}, driver={}, transporter={}, plates={})


def test_prices_come_back_for_their_plan_only(tmp_path):
    write_prices(tmp_path, PLAN, PRICES)
    assert read_prices(tmp_path, PLAN) == {"M1": 1234.5}
    (tmp_path / NAME).write_text((tmp_path / NAME).read_text().replace('"plan_cost_pence": 0', '"plan_cost_pence": 1'))
    assert read_prices(tmp_path, PLAN) is None


def test_a_plan_without_prices_takes_old_ones_away(tmp_path):
    write_prices(tmp_path, PLAN, PRICES)
    write_prices(tmp_path, PLAN, None)
    assert not (tmp_path / NAME).exists()
    assert read_prices(tmp_path, PLAN) is None


def test_damaged_prices_are_none(tmp_path):
    for text in ("", "[]", "{}", '{"plan_cost_pence": 0, "prices": {"move": {"M1": "x"}}}', '{"plan_cost_pence": 0, "prices": 3}'):
        (tmp_path / NAME).write_text(text)
        assert read_prices(tmp_path, PLAN) is None
