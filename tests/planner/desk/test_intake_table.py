"""Headings and rows: what is not known is named, what is twice is found, and nothing is lost or moved."""

import pytest

from planner.desk.intake_columns import TABLES
from planner.desk.intake_table import RawTable, heading, read_rows
from planner.faults import BadFiles
from tests.planner.desk.small_folder import ORDER, faults, only_fault, order, read


def test_the_small_folder_is_sound():
    assert faults() == []


@pytest.mark.parametrize(("text", "name"), [("Mass (kg)", "mass_kg"), (" Make-Model ", "make_model"), ("ORDER", "order"), ("", "")])
def test_headings_are_compared_without_case_and_signs(text, name):
    assert heading(text) == name


def test_an_unknown_heading_is_named_with_the_nearest_known_one():
    row = {**ORDER, "promissed": "x"}
    with pytest.raises(BadFiles) as caught:
        read(orders=[row])
    (problem,) = caught.value.problems
    assert (problem.row, problem.column) == (1, "promissed")
    assert "Did you mean promised?" in str(problem)
    assert "ignored_columns" in problem.advice


def test_an_unknown_heading_may_stand_when_the_policy_says_so():
    rows = [{**ORDER, "Sales person": "Nell"}]
    assert faults(orders=rows, policy='day = 2026-11-26\nignored_columns = ["orders.Sales Person"]') == []


def test_a_missing_heading_is_named_once_not_for_every_row():
    rows = [{key: value for key, value in order(order=f"A{n}", registration=f"Q{n}").items() if key != "make_model"} for n in range(3)]
    assert only_fault(orders=rows) == ("orders.csv", 1, "", "the column make_model is missing")


def test_a_heading_that_stands_twice_is_named():
    problems = []
    read_rows(RawTable(file="rides.csv", headings=("district", "District", "other_district", "minutes", "fare"), rows=()),
              TABLES["rides"][0], problems)
    assert [(problem.row, problem.column, problem.says) for problem in problems] == [(1, "district", "this heading stands 2 times")]


def test_a_cell_beyond_the_headings_is_named():
    problems = []
    table = RawTable(file="rides.csv", headings=("district", "other_district", "minutes", "fare", ""),
                     rows=(("TR1", "NN11", "395", "118", "", ""), ("TR1", "NN11", "395", "1", "18.40")))
    rows = read_rows(table, TABLES["rides"][0], problems)
    assert len(rows) == 2
    assert [(problem.row, problem.column, problem.value) for problem in problems] == [(3, "column 5", "18.40")]


def test_blank_rows_are_passed_over_and_still_counted():
    blank = dict.fromkeys(ORDER, " \u00a0")
    assert only_fault(orders=[ORDER, blank, order(order="A2", registration="Q2", mass_kg="heavy")])[1] == 4


def test_blanks_around_a_cell_do_not_count():
    day = read(orders=[{key: f" {value}\u00a0 " for key, value in ORDER.items()}])
    assert day.moves[0].car.registration == "QA20AAA"


def test_a_short_row_is_blank_at_its_end():
    problems = []
    rows = read_rows(RawTable(file="c.csv", headings=("compound", "postcode", "phone"), rows=(("Yard", "NN11 8QL"),)),
                     TABLES["compounds"][0], problems)
    assert problems == []
    assert rows[0]["phone"] == ""


def test_letters_that_cannot_be_printed_are_refused():
    assert only_fault(orders=[order(make_model="Cor\x07vane")])[2:] == ("make_model", "this cell holds a letter that cannot be printed")


def test_every_fault_of_every_file_comes_at_once_in_the_order_of_the_files():
    found = faults(
        orders=[order(mass_kg="heavy", postcode="S014 0YG", promised="29/02/2027"), order(registration="Q2")],
        drivers=[{"driver": "D1", "name": "", "base": "Yrd", "licences": "Q"}],
        transporters=[{"transporter": "T1", "registration": "QT20 AAA", "base": "Yard", "deck": "one-car-3500", "gross_kg": "3500",
                       "payload_kg": "3500", "slots": "0"}],
        compounds=[{"compound": "Yard", "postcode": "NN11 8QL", "opens": "09:00", "closes": "08:00"}],
        policy="day = 2026-11-26\nhandover_mins = 3",
        rates="[[fuel]]\nfrom = 2026-01-01\npetrl = 1",
    )
    assert [(file, row, column) for file, row, column, _ in found if file != "rates.toml"] == [
        ("orders.csv", 2, "mass_kg"), ("orders.csv", 2, "promised"), ("orders.csv", 2, "postcode"), ("orders.csv", 3, "order"),
        ("drivers.csv", 2, "name"), ("drivers.csv", 2, "licences"), ("drivers.csv", 2, "base"),
        ("transporters.csv", 2, "slots"), ("transporters.csv", 2, "payload_kg"),
        ("compounds.csv", 2, "closes"), ("policy.toml", None, "handover_mins"),
    ]
    assert any(file == "rates.toml" for file, *_ in found)


def test_every_problem_says_what_to_do():
    with pytest.raises(BadFiles) as caught:
        read(orders=[order(mass_kg="heavy", postcode="S014 0YG", phone="", priority="99", window_opens="18:00", window_closes="09:00")])
    assert len(caught.value.problems) == 5
    assert all(problem.advice.endswith((".", "?")) for problem in caught.value.problems)
