"""Reports: their sums are the plan's own, and what they say of one small day is counted by hand."""

import csv
import io
import re
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from planner.clock import DayClock
from planner.desk.report import area_of, report
from planner.desk.report_charts import Series, bars, lines
from planner.desk.report_files import csv_text, safe, workbook
from planner.desk.report_page import page
from planner.desk.report_tables import Table, Unit, band_name, distance_band, number, shown, tables
from planner.model.moves import MoveKind
from planner.model.orders import Buyer, Order, OrderRef, Promise
from planner.model.places import Window
from planner.runs.costing import price
from planner.runs.plan import NotPlaced, Plan
from planner.runs.run import RunKind
from tests.planner.runs.refereed import legal_day, legal_plan


def with_costs(day, plan):
    return replace(plan, runs=tuple(replace(run, costs=price(day, run)) for run in plan.runs))


@pytest.fixture(scope="module")
def day():
    """The worked day with an order behind M1, charged 120 pounds with tax, and one that is held back."""
    plain = legal_day()
    buyer = Buyer(name="A Buyer", phone="", address=())
    promise = Promise(day=plain.clock.day, window=Window(opens_min=480, closes_min=720))
    orders = tuple(
        Order(ref=OrderRef(name), car=plain.moves[0].car, stands_at=plain.moves[0].origin, buyer=buyer,
              door=replace(plain.place_of[plain.moves[0].destination], postcode="YO1 7HH"), promise=promise, charge_pence=12_000)
        for name in ("first", "held")
    )  # fmt: skip
    moves = tuple(replace(move, order=OrderRef("first")) if move.move_id == "M1" else move for move in plain.moves)
    return replace(plain, orders=orders[:1], held=orders[1:], moves=moves)


@pytest.fixture(scope="module")
def made(day):
    return report([(day, with_costs(day, legal_plan()))])


def table_of(made, key) -> Table:
    return next(table for table in tables(made) if table.key == key)


def test_costs_of_cars_add_up_to_costs_of_runs(day, made):
    plan = with_costs(day, legal_plan())
    for run in plan.runs:
        assert sum(row.cost_pence for row in made.cars if row.run == run.run_id) == run.cost_pence
    assert sum(row.cost_pence for row in made.runs) == plan.runs_pence


def test_a_charge_is_compared_without_its_tax(made):
    """120 pounds with 20% tax are 100 pounds without."""
    row = next(row for row in made.cars if row.move == "M1")
    assert row.charge_net_pence == 10_000
    assert report([], vat_percent=Decimal(0)).cars == ()


def test_empty_miles_and_decks_by_hand(made):
    """
    The transporter's legs are 80, 30, 20 km with 2, 2, 1 cars in two slots: none empty; slot-kilometres 260, used 240.
    """
    row = next(row for row in made.runs if row.kind is RunKind.TRANSPORTER)
    assert (row.metres, row.empty_metres) == (130_000, 0)
    assert (row.slots, row.most_aboard, row.slot_metres, row.used_slot_metres) == (2, 2, 260_000, 240_000)
    assert row.duty_min == 733 - 420
    assert row.drive_min == 63 + 32 + 32


def test_promises_are_kept_left_or_held(made):
    outcomes = {row.move: row.outcome for row in made.cars}
    assert outcomes["M1"] == "kept"
    assert outcomes["M4"] == "kept"
    assert outcomes["M5"] == "not kept"
    assert outcomes["held"] == "held back"
    assert outcomes["M3"] == outcomes["M6"] == ""
    ((_, promised, kept, late, held, share),) = table_of(made, "promises").rows
    assert (promised, kept, late, held) == (5, 3, 1, 1)
    assert share == pytest.approx(3 / 5)


def test_a_late_visit_or_an_older_promise_is_not_kept(day):
    plan = with_costs(day, legal_plan())
    late = replace(day, moves=tuple(
        replace(move, destination_window=Window(opens_min=700, closes_min=800)) if move.move_id == "M4" else move for move in day.moves
    ))  # fmt: skip
    assert {row.move: row.outcome for row in report([(late, plan)]).cars}["M4"] == "not kept"
    older = replace(day.orders[0], promise=Promise(day=day.clock.day - timedelta(days=1), window=day.orders[0].promise.window))
    assert {row.move: row.outcome for row in report([(replace(day, orders=(older,)), plan)]).cars}["M1"] == "not kept"


def test_what_a_part_exchange_saves_is_its_own_journey_less_what_it_adds(made):
    row = next(row for row in made.cars if row.kind is MoveKind.PART_EXCHANGE)
    assert row.alone_pence > row.added_pence
    ((*_, alone, added, saved),) = table_of(made, "part_exchanges").rows
    assert saved == alone - added


def test_two_days_make_two_rows_and_lines(day):
    plan = with_costs(day, legal_plan())
    later = replace(day, clock=DayClock(day.clock.day + timedelta(days=1)))
    both = report([(later, plan), (day, plan)])
    assert [row[0] for row in table_of(both, "by_day").rows] == [day.clock.day, later.clock.day]
    drawn = page(tables(both), first=day.clock.day, last=later.clock.day, retailer="Larch & Sons")
    assert "Cost and charge, day by day" in drawn
    assert "Larch &amp; Sons" in drawn


def test_the_page_needs_nothing_from_outside(day, made):
    drawn = page(tables(made), first=day.clock.day, last=day.clock.day, retailer="R")
    assert not re.search(r"(src|href)=|https?://(?!www\.w3\.org/2000/svg)|@import|<script", drawn)
    for table in tables(made):
        assert table.title in drawn or table.key == "summary"


def test_a_period_without_deliveries_still_makes_a_page(day):
    nothing = report([(day, Plan(runs=(), not_placed=tuple(
        NotPlaced(move=move.move_id, pence=0, reason="Snow.") for move in day.moves)))])  # fmt: skip
    drawn = page(tables(nothing), first=day.clock.day, last=day.clock.day, retailer="R")
    assert "None in this period." in drawn


def test_csv_holds_numbers_in_the_unit_of_the_heading(made):
    rows = list(csv.DictReader(io.StringIO(csv_text(table_of(made, "runs")))))
    carrier = next(row for row in rows if row["kind"] == "transporter run")
    assert float(carrier["miles"]) == pytest.approx(130_000 / 1609.344, abs=0.01)
    assert float(carrier["duty (hours)"]) == pytest.approx(313 / 60, abs=0.01)
    assert carrier["day"] == "2026-06-10"


def test_no_cell_becomes_a_formula():
    """A leading =, +, - or @ makes a spreadsheet compute (OWASP, CSV injection)."""
    table = Table(key="k", title="T", columns=(("a", Unit.TEXT),), rows=(('=HYPERLINK("x")',), ("@a",)))
    assert csv_text(table).splitlines()[1].startswith("\"'=")
    assert safe("-5 boxes") == "'-5 boxes"


def test_the_workbook_reads_back_as_the_tables(made):
    import python_calamine

    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(workbook(tables(made))))
    assert book.sheet_names == [table.title[:31] for table in tables(made)]
    cost = table_of(made, "by_method")
    read = book.get_sheet_by_name(cost.title).to_python()
    assert read[0][1] == "deliveries"
    assert [row[2] for row in read[1:]] == [number(row[2], Unit.POUNDS) for row in cost.rows]


@pytest.mark.parametrize(("miles", "name"), [(0, "up to 25 miles"), (25, "up to 25 miles"), (25.1, "25 to 50 miles"), (201, "over 200 miles")])
def test_distances_fall_in_one_band(miles, name):
    assert band_name(distance_band(int(miles * 1609.344))) == name


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (12345, Unit.POUNDS, "£123.45"), (-5, Unit.POUNDS, "-£0.05"), (160_934.4, Unit.MILES, "100.0"), (90, Unit.HOURS, "1.5 h"),
        (0.125, Unit.SHARE, "12.5%"), (1500, Unit.KG, "1.5 kg"), (1234, Unit.COUNT, "1,234"), (None, Unit.POUNDS, "–"),
        (date(2026, 6, 1), Unit.DAY, "Mon 1 Jun 2026"), ("a", Unit.TEXT, "a"), (2.25, Unit.LITRES, "2.2 l"),
    ],
)  # fmt: skip
def test_cells_read_as_people_read_them(value, unit, text):
    assert shown(value, unit) == text


def test_bars_below_zero_go_left_and_lines_have_gaps():
    drawn = bars("t", ["a", "b"], [Series(name="s", values=(-50.0, 100.0))], Unit.POUNDS)
    (left, left_width), (right, right_width) = [
        (float(x), float(width)) for x, width in re.findall(r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', drawn)
    ]
    assert left + left_width == pytest.approx(right, abs=0.2)
    assert right_width == pytest.approx(2 * left_width, abs=0.2)
    path = re.findall(r'<path d="(M[^"]*)" fill="none" stroke="#1f4e5f"', lines("t", list("abcd"), [Series(name="s", values=(1, 2, None, 3))], Unit.COUNT))
    assert path[0].count("M") == 2


def test_areas_are_the_letters_of_the_postcode():
    """YO York, B Birmingham, EC London (postcode areas have one or two letters: Royal Mail, from memory)."""
    assert [area_of(code) for code in ("YO1 7HH", "B1 1AA", "EC1A 1BB", "")] == ["YO", "B", "EC", "?"]

