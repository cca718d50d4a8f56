"""Cells: what each reader takes and refuses; dates and times as spreadsheets write them."""

import contextlib
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.desk import intake_cells as cells
from planner.desk.intake_cells import CellFault
from planner.model.cars import Fuel


@pytest.mark.parametrize(("text", "read"), [
    ("2026-11-26", date(2026, 11, 26)),
    ("26/11/2026", date(2026, 11, 26)),
    ("26/11/26", date(2026, 11, 26)),
    ("3.2.2027", date(2027, 2, 3)),  # the day first, always
    ("26 Nov 2026", date(2026, 11, 26)),
    ("26-November-26", date(2026, 11, 26)),
    ("2026-11-26 00:00:00", date(2026, 11, 26)),
    ("29/02/2028", date(2028, 2, 29)),
    # Spreadsheets count days so that 1 January 2000 is 36526 (ECMA-376 part 1, 18.17.4.1, 1900 date base; from memory).
    ("36526", date(2000, 1, 1)),
    ("46352", date(2026, 11, 26)),
    ("46352.0", date(2026, 11, 26)),
])
def test_dates_are_read(text, read):
    assert cells.day(text) == read


@pytest.mark.parametrize(("text", "says"), [
    ("29/02/2027", "2027 has no 29 February"),
    ("2100-02-29", "2100 has no 29 February"),  # a century year that 400 does not divide
    ("11/26/2026", "no such month"),
    ("31/11/2026", "no such day"),
    ("2026-00-10", "no such day"),
    ("0026-11-26", "too far away"),
    ("tomorrow", "a date is expected"),
    ("26 Nuv 2026", "a date is expected"),
    ("2026-11-26 10:00", "a date is expected"),
    ("1234567", "a date is expected"),
])
def test_dates_that_are_none_are_refused_with_a_remedy(text, says):
    with pytest.raises(CellFault, match=says) as caught:
        cells.day(text)
    assert caught.value.advice


@given(st.dates(date(2000, 1, 1), date(2100, 12, 31)))
def test_every_way_of_writing_a_date_reads_alike(on):
    serial = (on - date(1899, 12, 30)).days
    ways = (on.isoformat(), f"{on:%d/%m/%Y}", f"{on.day} {on:%B} {on.year}", str(serial), f"{on} 00:00:00")
    assert {cells.day(way) for way in ways} == {on}


@pytest.mark.parametrize(("text", "minutes"), [
    ("08:30", 510), ("8:30", 510), ("0830", 510), ("08:30:00", 510), ("8:30am", 510), ("8:30 PM", 1230), ("12am", 0), ("12 pm", 720),
    ("24:00", 1440), ("00:00", 0), ("0", 0), ("1", 1440), ("0.354166666666667", 510), ("0.5", 720),
])
def test_times_are_read(text, minutes):
    assert cells.clock_time(text) == minutes


@pytest.mark.parametrize("text", ["24:01", "25:00", "08:60", "8", "8.30", "13pm", "0am", "08:30:30", "noon", "-1", "2460", "1.5"])
def test_times_that_are_none_are_refused(text):
    with pytest.raises(CellFault):
        cells.clock_time(text)


@given(st.integers(0, 1439))
def test_every_way_of_writing_a_time_reads_alike(minutes):
    hours, rest = divmod(minutes, 60)
    half = f"{hours % 12 or 12}:{rest:02d}{'pm' if hours >= 12 else 'am'}"
    ways = (f"{hours}:{rest:02d}", f"{hours:02d}{rest:02d}", f"{hours:02d}:{rest:02d}:00", half, f"{minutes / 1440:.15f}")
    assert {cells.clock_time(way) for way in ways} == {minutes}


@pytest.mark.parametrize(("text", "read"), [
    ("2026-11-25 17:40", (date(2026, 11, 25), 1060)),
    ("25/11/2026 5:40pm", (date(2026, 11, 25), 1060)),
    ("2026-11-25T17:40:00", (date(2026, 11, 25), 1060)),
    ("46351.7361111111", (date(2026, 11, 25), 1060)),
    ("2026-11-26 00:00:00", (date(2026, 11, 26), 0)),
])
def test_moments_are_read(text, read):
    assert cells.moment(text) == read


@pytest.mark.parametrize("text", ["2026-11-25", "17:40", "2026-11-25 25:00", "yesterday 17:40"])
def test_moments_that_are_none_are_refused(text):
    with pytest.raises(CellFault):
        cells.moment(text)


@pytest.mark.parametrize(("text", "minutes"), [("38:30", 2310), ("38.5", 2310), ("0", 0), ("7:05", 425), ("12", 720), ("38:30:00", 2310)])
def test_hours_are_read(text, minutes):
    assert cells.hours(text) == minutes


@pytest.mark.parametrize("text", ["38:60", "-1", "201", "201:00", "two"])
def test_hours_that_are_none_are_refused(text):
    with pytest.raises(CellFault):
        cells.hours(text)


@pytest.mark.parametrize(("text", "pence"), [("£1,234.50", 123450), ("149", 14900), ("0.05", 5), ("£ 12.3", 1230), ("14995.00", 1499500)])
def test_pounds_become_pence(text, pence):
    assert cells.pounds(text) == pence


@pytest.mark.parametrize("text", ["1.234,50", "12,5", "1.005", "-1", "£", "12.50 pounds", "1e3", "٣"])
def test_pounds_that_are_none_are_refused(text):
    with pytest.raises(CellFault):
        cells.pounds(text)


@given(st.integers(0, 99_999_999))
def test_pounds_lose_no_penny(pence):
    plain = f"{pence // 100}.{pence % 100:02d}"
    assert cells.pounds(plain) == cells.pounds(f"£{pence // 100:,}.{pence % 100:02d}") == pence


def test_miles_become_metres():
    assert cells.miles(most=500)("100") == 160_934  # 1 mile = 1609.344 m, international yard and pound agreement 1959


@pytest.mark.parametrize(("text", "read"), [("1310", 1310), ("1,310", 1310), ("1310 kg", 1310), ("1310kg", 1310), ("1310.0", 1310)])
def test_whole_numbers_are_read(text, read):
    assert cells.whole(least=0, most=5000, unit="kg")(text) == read


@pytest.mark.parametrize("text", ["1310.5", "5001", "-1", "13,10", "NaN", "inf", "1_000", "", "1" * 400])
def test_whole_numbers_that_are_none_are_refused(text):
    with pytest.raises(CellFault):
        cells.whole(least=0, most=5000, unit="kg")(text)


@pytest.mark.parametrize(("text", "read"), [
    ("07700 900123", "07700 900123"),
    ("7700900123", "07700900123"),  # the spreadsheet took the nought
    ("1632960101", "01632960101"),
    ("+44 7700 900123", "+44 7700 900123"),
])
def test_telephones_are_read(text, read):
    """Numbers for drama, Ofcom: 07700 900000 to 900999 and 01632 960000 to 960999."""
    assert cells.phone(text) == read


@pytest.mark.parametrize("text", ["n/a", "12345", "07700 90012x", "0" * 16])
def test_telephones_that_are_none_are_refused(text):
    with pytest.raises(CellFault):
        cells.phone(text)


def test_a_word_out_of_a_list_is_read_whatever_its_case_and_its_slip_is_named():
    assert cells.choice(Fuel)(" Petrol ".strip()) is Fuel.PETROL
    with pytest.raises(CellFault, match="Did you mean electric"):
        cells.choice(Fuel)("electrc")


def test_licences_are_read_with_and_without_plus():
    assert cells.listing(cells.licence, split=",;/ ")("B, c1; C+E") == ("B", "C1", "CE")
    with pytest.raises(CellFault, match="no driving-licence category"):
        cells.licence("C7")


@pytest.mark.parametrize(("text", "read"), [("Sunday", "sunday"), ("sat", "saturday"), ("26/11/2026", date(2026, 11, 26))])
def test_days_off_are_weekdays_or_dates(text, read):
    assert cells.day_or_weekday(text) == read


def test_days_off_that_are_neither_are_refused():
    with pytest.raises(CellFault, match="a date or a weekday"):
        cells.day_or_weekday("Sonntag")


@pytest.mark.parametrize("reader", [
    cells.words, cells.name, cells.pounds, cells.yes_no, cells.day, cells.clock_time, cells.moment, cells.hours, cells.phone,
    cells.registration, cells.vin, cells.reference, cells.licence, cells.day_or_weekday, cells.choice(Fuel), cells.listing(cells.name),
    cells.miles(most=1500), cells.whole(least=0, most=9), cells.decimal(least=0, most=9), cells.number(least=0, most=9, unit="kg"),
])
@given(text=st.text(min_size=1) | st.from_regex(r"[0-9:/ .T-]{1,20}", fullmatch=True))
def test_no_text_gets_anything_but_a_value_or_a_fault_out_of_a_reader(reader, text):
    with contextlib.suppress(CellFault):  # any other exception fails the test
        reader(text.strip() or "x")


def test_a_spreadsheets_first_day_is_where_its_count_says():
    assert cells.day("36526") - timedelta(days=36526) == date(1899, 12, 30)


def test_a_vehicle_identification_number_has_seventeen_signs_without_i_o_and_q():
    """ISO 3779:2009, 4.2 and 4.5 (from memory): 17 characters, Roman letters except I, O and Q, and digits."""
    assert cells.vin("1m8g dm9a xkp0 42788") == "1M8GDM9AXKP042788"
    for wrong in ("1M8GDM9AXKP04278", "1M8GDM9AXKP0427888", "1M8GDM9AXKPO42788", "IM8GDM9AXKP042788", "1M8GDM9AXKQ042788"):
        with pytest.raises(CellFault):
            cells.vin(wrong)
