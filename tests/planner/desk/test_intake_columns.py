"""The reference page says what the code does, both ways; run the tests with HOMELEG_SHOW_TABLES=1 to see what a table must say."""

import os
from datetime import date
from enum import Enum
from pathlib import Path

import pytest

from planner.desk.day_book.road_form import COLUMNS as ROAD
from planner.desk.intake_cells import CellFault
from planner.desk.intake_columns import CARRIERS, COMPOUNDS, DRIVERS, ORDERS, TABLES
from planner.model.crews import Driver, Transporter
from planner.model.decks import library
from planner.model.orders import Gate
from tests.planner.desk import reference_page as expected

PAGE = (Path(__file__).parents[3] / "demo_data" / "COLUMNS.md").read_text(encoding="utf-8")
COLUMNS = [(name, column) for name, (columns, _) in (*TABLES.items(), ("road", (ROAD, False))) for column in columns]
DRAWN = {
    **{name: expected.table_of(columns) for name, (columns, _) in TABLES.items()},
    "road": expected.table_of(ROAD), "bodies": expected.body_table(), "gates": expected.gate_table(), "rates": expected.rates_table(), "policy": expected.policy_table(),
}


@pytest.mark.parametrize("name", DRAWN)
def test_every_table_of_the_code_stands_on_the_page(name):
    if os.environ.get("HOMELEG_SHOW_TABLES"):
        print(DRAWN[name])
    assert DRAWN[name] in PAGE


def test_the_page_has_no_row_that_the_code_has_not():
    drawn = {line for table in DRAWN.values() for line in table.splitlines()}
    extra = [line for line in PAGE.splitlines() if line.startswith("|") and line not in drawn]
    own = [line.split("|")[1].strip("` *") for line in extra]
    assert [word for word in own if word != "---"] == [
        "file", "orders.csv", "drivers.csv", "transporters.csv", "compounds.csv", "carriers.csv", "rides.csv", "decks.toml", "rates.toml",
        "policy.toml", "kind", "delivery", "return", "transfer"]


def test_every_example_deck_is_named():
    assert [name for name in library() if f"`{name}`" not in PAGE] == []


def test_every_house_rule_is_named():
    assert [key for key in expected.house_keys() if f"`{key}`" not in PAGE] == []


@pytest.mark.parametrize(("table", "column"), COLUMNS, ids=[f"{table}.{column.name}" for table, column in COLUMNS])
def test_the_example_can_be_read_and_a_default_is_what_its_text_would_be(table, column):
    column.read(column.example)
    if column.default not in (None, "", ()) and not column.default_says:
        assert column.read(expected.blank_says(column)) == column.default, table


@pytest.mark.parametrize("columns", [columns for columns, _ in TABLES.values()])
def test_no_column_stands_twice_and_each_says_what_it_means(columns):
    assert len({column.name for column in columns}) == len(columns)
    assert all(column.means.rstrip("`").endswith(".") for column in columns)


def test_there_is_a_column_for_every_gate():
    assert {column.name for column in ORDERS if column.name.startswith("gate_")} == {f"gate_{gate.value}" for gate in Gate}


@pytest.mark.parametrize(("columns", "thing", "column", "field"), [
    (DRIVERS, Driver, "starts_from", "starts_from_min"), (DRIVERS, Driver, "home_by", "home_by_min"), (DRIVERS, Driver, "role", "role"),
    (TABLES["transporters"][0], Transporter, "load_min", "load_min"), (TABLES["transporters"][0], Transporter, "unload_min", "unload_min"),
])
def test_defaults_are_those_of_the_model(columns, thing, column, field):
    default = next(item.default for item in columns if item.name == column)
    assert default == thing.__dataclass_fields__[field].default


def test_numbers_and_dates_name_their_unit():
    for _, column in COLUMNS:
        value = column.read(column.example)
        if isinstance(value, date) or (isinstance(value, int | float) and not isinstance(value, bool | Enum) and column.name != "priority"):
            assert column.unit, column.name


def test_every_column_refuses_a_text_that_it_cannot_hold():
    free = {"words", "name"}
    for _, column in (pair for pair in COLUMNS if pair[1].read.__name__ not in free):
        if column.name == "equipment":
            continue
        with pytest.raises(CellFault):
            column.read("§ no such thing §")


def test_the_tables_cover_carriers_and_compounds():
    assert TABLES["carriers"] == (CARRIERS, False)
    assert TABLES["compounds"] == (COMPOUNDS, True)
