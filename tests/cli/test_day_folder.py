"""Folders as spreadsheet programs and people leave them: encodings, separators, workbooks, missing and damaged files."""

import csv
import io
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cli.day_folder import load_day, read_files
from cli.workbook import cell_text
from planner.faults import BadFiles
from planner.model import day_document
from tests.planner.desk.small_folder import RATES, TABLES, order
from tests.stand_in_geography import locate, travel_tables

FUZZ = settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], deadline=None)


def csv_text(rows, delimiter=","):
    headings = list(dict.fromkeys(key for row in rows for key in row))
    out = io.StringIO()
    writer = csv.DictWriter(out, headings, delimiter=delimiter, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def write(folder: Path, *, encoding="utf-8", delimiter=",", **tables):
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in {**TABLES, **tables}.items():
        (folder / f"{name}.csv").write_bytes(csv_text(rows, delimiter).encode(encoding))
    (folder / "rates.toml").write_text(RATES, encoding="utf-8")
    (folder / "policy.toml").write_text("day = 2026-11-26\n", encoding="utf-8")
    return folder


def load(folder, **kwargs):
    return load_day(folder, locate=locate, tables=travel_tables, **kwargs)


def said(folder):
    with pytest.raises(BadFiles) as caught:
        load(folder)
    return [(problem.file, problem.row, problem.says) for problem in caught.value.problems]


def tried(folder, **kwargs):
    """Return the day, or None and the problems."""
    try:
        return load(folder, **kwargs), ()
    except BadFiles as fault:
        return None, fault.problems


NAMES = [order(buyer="Zoë Façade", make_model="Corvane Coupé, “two-door”", notes="£5 – paid")]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_every_letter_survives_whatever_the_program_wrote(tmp_path, encoding, delimiter):
    day = load(write(tmp_path, encoding=encoding, delimiter=delimiter, orders=NAMES))
    assert day.orders[0].buyer.name == "Zoë Façade"
    assert day.orders[0].car.make_model == "Corvane Coupé, “two-door”"
    assert day.orders[0].notes == "£5 – paid"
    assert any("Windows-1252" in note for note in day.notes) == (encoding == "cp1252")


def test_bytes_of_no_known_encoding_are_named_with_their_line(tmp_path):
    write(tmp_path)
    raw = (tmp_path / "orders.csv").read_bytes().replace(b"Testwell", b"Test\x81ell")
    (tmp_path / "orders.csv").write_bytes(raw)
    assert said(tmp_path)[0][:2] == ("orders.csv", 2)


def test_a_spreadsheets_separator_line_is_passed_over(tmp_path):
    write(tmp_path, delimiter=";")
    text = (tmp_path / "orders.csv").read_text(encoding="utf-8")
    (tmp_path / "orders.csv").write_text("sep=;\n" + text.replace("1200", "heavy"), encoding="utf-8")
    assert said(tmp_path) == [("orders.csv", 3, "a number from 300 to 5000 kg is expected")]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_end_of_line_is_one(tmp_path, end):
    write(tmp_path, orders=[order(notes="one\ntwo")])
    text = csv_text([order(notes="one, two")]).replace("\r\n", end)
    (tmp_path / "orders.csv").write_bytes(text.encode())
    assert len(load(tmp_path).moves) == 1


def test_an_open_quotation_mark_swallows_no_rows_in_silence(tmp_path):
    write(tmp_path, orders=[order(), order(order="A2", registration="Q2")])
    text = (tmp_path / "orders.csv").read_text(encoding="utf-8").replace("Corvane Lumo", '"Corvane Lumo', 1)
    (tmp_path / "orders.csv").write_text(text, encoding="utf-8")
    assert any("cannot be told apart" in says and row == 2 for _, row, says in said(tmp_path))


@pytest.mark.parametrize("name", ["orders.csv", "drivers.csv", "transporters.csv", "compounds.csv", "rates.toml"])
def test_a_missing_file_is_named(tmp_path, name):
    write(tmp_path)
    (tmp_path / name).unlink()
    assert (name, None, "the file is missing") in said(tmp_path)


@pytest.mark.parametrize("content", ["", "\n\n", " , ,\n"])
def test_an_empty_file_is_named(tmp_path, content):
    write(tmp_path)
    (tmp_path / "drivers.csv").write_text(content, encoding="utf-8")
    assert ("drivers.csv", None, "the file is empty") in said(tmp_path)


def test_a_missing_folder_is_named(tmp_path):
    assert said(tmp_path / "nowhere")[0][2] == "there is no such folder"


def test_a_table_with_headings_alone_is_an_empty_table(tmp_path):
    write(tmp_path)
    (tmp_path / "transporters.csv").write_text(",".join(TABLES["transporters"][0]) + "\n", encoding="utf-8")
    assert load(tmp_path).transporters == ()


def test_without_a_policy_the_day_is_given(tmp_path):
    write(tmp_path)
    (tmp_path / "policy.toml").unlink()
    assert load(tmp_path, on=date(2026, 11, 26)).clock.day == date(2026, 11, 26)


class TestWorkbooks:
    """Workbooks are made by xlsxwriter, which shares no code with what reads them."""

    def book(self, path, rows, *, typed):
        headings = list(rows[0])
        with xlsxwriter.Workbook(str(path)) as workbook:
            sheet = workbook.add_worksheet("Any name")
            forms = {kind: workbook.add_format({"num_format": form}) for kind, form in (
                (date, "dd/mm/yyyy"), (datetime, "dd/mm/yyyy hh:mm"), (time, "hh:mm"), (timedelta, "[h]:mm"))}
            sheet.write_row(0, 0, headings)
            for number, row in enumerate(rows, start=1):
                for column, heading in enumerate(headings):
                    cell = typed.get(heading, row[heading])
                    if isinstance(cell, date | time | timedelta):
                        sheet.write_datetime(number, column, cell, forms[type(cell)])
                    else:
                        sheet.write(number, column, cell)

    def test_dates_times_and_numbers_of_a_spreadsheet_are_what_they_show(self, tmp_path):
        write(tmp_path)
        (tmp_path / "orders.csv").unlink()
        row = order(window_opens="", window_closes="", mileage="", charge="", warning_light="")
        self.book(tmp_path / "orders.xlsx", [row], typed={
            "promised": date(2026, 11, 26), "window_opens": time(10, 0), "window_closes": time(14, 30), "mass_kg": 1200,
            "mileage": 18250.0, "charge": 149.5, "phone": 7700900101, "warning_light": False})
        day = load(tmp_path)
        promise = day.orders[0].promise
        assert (promise.day, promise.window.opens_min, promise.window.closes_min) == (date(2026, 11, 26), 600, 870)
        assert (day.orders[0].car.mass_kg, day.orders[0].car.mileage, day.orders[0].charge_pence) == (1200, 18250, 14950)
        assert day.orders[0].buyer.phone == "07700900101"

    def test_hours_and_moments_are_what_they_show(self, tmp_path):
        write(tmp_path)
        (tmp_path / "drivers.csv").unlink()
        row = {**TABLES["drivers"][0], "driven_this_week": "", "worked_this_week": "", "last_duty_ended": ""}
        self.book(tmp_path / "drivers.xlsx", [row], typed={
            "driven_this_week": timedelta(hours=31, minutes=30), "worked_this_week": timedelta(hours=40),
            "last_duty_ended": datetime(2026, 11, 25, 17, 40)})  # noqa: DTZ001 - a workbook's times have no zone
        week = load(tmp_path).drivers[0].week
        assert (week.driven_week_min, week.worked_week_min, week.last_duty_end_min) == (1890, 2400, -380)

    def test_rows_are_counted_as_the_spreadsheet_shows_them(self, tmp_path):
        write(tmp_path)
        (tmp_path / "orders.csv").unlink()
        rows = [order(), dict.fromkeys(order(), ""), order(order="A2", registration="Q2", mass_kg="heavy")]
        self.book(tmp_path / "orders.xlsx", rows, typed={})
        assert said(tmp_path)[0][:2] == ("orders.xlsx", 4)

    def test_of_several_sheets_the_one_of_the_tables_name_is_read_and_said(self, tmp_path):
        write(tmp_path)
        (tmp_path / "orders.csv").unlink()
        with xlsxwriter.Workbook(str(tmp_path / "orders.xlsx")) as workbook:
            workbook.add_worksheet("Cover").write(0, 0, "Printed on Wednesday")
            sheet = workbook.add_worksheet("Orders")
            sheet.write_row(0, 0, list(order()))
            sheet.write_row(1, 0, list(order().values()))
        day = load(tmp_path)
        assert len(day.moves) == 1
        assert "Of the 2 sheets of orders.xlsx only 'Orders' was read." in day.notes

    def test_a_formula_that_failed_is_named(self, tmp_path):
        write(tmp_path)
        (tmp_path / "orders.csv").unlink()
        with xlsxwriter.Workbook(str(tmp_path / "orders.xlsx")) as workbook:
            sheet = workbook.add_worksheet()
            sheet.write_row(0, 0, list(order()))
            sheet.write_row(1, 0, list(order().values()))
            sheet.write_formula(1, list(order()).index("address_1"), "=1/0", value="#DIV/0!")
            sheet.write(0, 30, "mileage")
            sheet.write_formula(1, 30, "=VLOOKUP(1,A1:A2,9)", value="#REF!")
        found = [("orders.xlsx", 2, "the formula in this cell has failed")] * 2
        assert said(tmp_path) == found

    def test_a_workbook_and_a_csv_together_are_refused(self, tmp_path):
        write(tmp_path)
        self.book(tmp_path / "orders.xlsx", [order()], typed={})
        assert said(tmp_path) == [("orders.xlsx", None, "orders.csv is there too")]

    @pytest.mark.parametrize("raw", [b"", b"PK\x03\x04", b"not a workbook at all"])
    def test_what_is_no_workbook_is_named(self, tmp_path, raw):
        write(tmp_path)
        (tmp_path / "orders.csv").unlink()
        (tmp_path / "orders.xlsx").write_bytes(raw)
        assert "no workbook" in said(tmp_path)[0][2]


@pytest.mark.parametrize(("cell", "text"), [
    ("x", "x"), (1450.0, "1450"), (0.5, "0.5"), (True, "yes"), (False, "no"), (date(2026, 11, 26), "2026-11-26"),
    (datetime(2026, 11, 26, 8, 30, tzinfo=UTC).replace(tzinfo=None), "2026-11-26 08:30:00"), (time(8, 30), "08:30:00"),
    (timedelta(hours=38, minutes=30), "38:30"), (7, "7"),
])
def test_a_workbooks_cells_become_text(cell, text):
    assert cell_text(cell) == text


def spoilt(rows, row, column, cell):
    return [{**each, column: cell} if number == row else each for number, each in enumerate(rows)]


ROWS = {
    **TABLES,
    "orders": [order(order=f"A{number}", registration=f"Q{number}", postcode=f"LA9 {number}PU") for number in range(1, 4)],
    "carriers": [{"carrier": "H1", "name": "Fictley", "per_mile": "1.50"}],
}
DAMAGE = st.one_of(
    st.text(max_size=12), st.sampled_from(["", "-1", "NaN", "1e9", "29/02/2027", "24:00", "01:30", "Yard", "A1", "=1+1", "#N/A", '"', ";", "\x00", "٣"]),
    st.integers(-10**6, 10**6).map(str), st.dates().map(str), st.times().map(str),
)


@FUZZ
@given(data=st.data())
def test_a_damaged_cell_is_a_problem_of_its_row_or_changes_nothing_else(tmp_path_factory, data):
    """Never a crash; never another row changed or lost; whatever is refused is named with its file."""
    from planner.desk.intake_columns import TABLES as KNOWN

    name = data.draw(st.sampled_from(sorted(ROWS)))
    column = data.draw(st.sampled_from([column.name for column in KNOWN[name][0]]))
    row = data.draw(st.integers(0, len(ROWS[name]) - 1))
    cell = data.draw(DAMAGE)
    folder = write(tmp_path_factory.mktemp("day"), **{**ROWS, name: spoilt(ROWS[name], row, column, cell)})
    day, problems = tried(folder)
    if day is None:
        assert all(problem.file and problem.says for problem in problems)
        named = {problem.file.split(".")[0] for problem in problems}
        elsewhere = {"role": {"rates"}, "compound": {"orders", "drivers", "transporters"}}.get(column, set())  # what refers to it
        assert name in named or named & elsewhere
        return
    sound = load(write(tmp_path_factory.mktemp("sound"), **ROWS))
    if name == "orders":
        spoilt_order = cell.strip() if column == "order" else f"A{row + 1}"
        kept = {str(order_.ref) for order_ in (*day.orders, *day.held)}
        assert {f"A{number}" for number in range(1, 4)} - kept <= {f"A{row + 1}"}
        for other in sound.orders:
            if other.ref != f"A{row + 1}":
                assert day.order_of[other.ref] == other
        assert spoilt_order in kept or any(spoilt_order in note for note in day.notes) or any(
            move.move_id == spoilt_order for move in day.moves)
    else:
        assert {order_.ref for order_ in day.orders} == {order_.ref for order_ in sound.orders}
    assert day_document.to_document(day)


@FUZZ
@given(raw=st.binary(max_size=300), name=st.sampled_from(["orders.csv", "drivers.csv", "carriers.csv", "policy.toml", "rates.toml", "orders.xlsx"]))
def test_a_file_of_chance_bytes_is_a_problem_or_a_day(tmp_path_factory, raw, name):
    folder = write(tmp_path_factory.mktemp("day"))
    if name == "orders.xlsx":
        (folder / "orders.csv").unlink()
    (folder / name).write_bytes(raw)
    day, problems = tried(folder, on=date(2026, 11, 26))
    assert (day is None) == bool(problems)


def test_reading_writes_nothing(tmp_path):
    folder = write(tmp_path / "day", orders=[order(mass_kg="heavy")])
    before = {path: path.read_bytes() for path in folder.iterdir()}
    said(folder)
    assert {path: path.read_bytes() for path in folder.iterdir()} == before
    assert read_files(folder).tables["orders"].file == "orders.csv"
