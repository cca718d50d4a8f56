"""A folder of the least that makes a day, as cells, each of which a test may change."""

from datetime import date

from planner.desk.intake import DayFiles, read_day
from planner.desk.intake_table import RawTable
from planner.faults import BadFiles
from tests.stand_in_geography import locate, travel_tables

DAY = date(2026, 11, 26)
ORDER = {
    "order": "A1", "registration": "QA20 AAA", "make_model": "Corvane Lumo", "mass_kg": "1200", "length_mm": "4000",
    "height_mm": "1500", "width_mm": "1750", "fuel": "petrol", "stands_at": "Yard", "buyer": "Ada Testwell",
    "phone": "07700 900101", "address_1": "Orchard House", "postcode": "LA9 4PU", "promised": "2026-11-26",
}
TABLES = {
    "orders": [ORDER],
    "drivers": [{"driver": "D1", "name": "Bram Sampleton", "base": "Yard", "licences": "B"}],
    "transporters": [{"transporter": "T1", "registration": "QT20 AAA", "base": "Yard", "deck": "one-car-3500", "gross_kg": "3500",
                      "payload_kg": "1400", "slots": "1"}],
    "compounds": [{"compound": "Yard", "postcode": "NN11 8QL"}],
}
RATES = """
[[wages]]
from = 2026-04-01
role = "plate driver"
pence_per_hour = 1400

[[fuel]]
from = 2026-10-01
petrol = 137.5
diesel = 144
electric = 40

[[running]]
from = 2026-01-01
vehicle = "car"
pence_per_km = 7

[[running]]
from = 2026-01-01
vehicle = "goods-3500"
pence_per_km = 10

[[running]]
from = 2026-01-01
vehicle = "goods-7500"
pence_per_km = 10

[[running]]
from = 2026-01-01
vehicle = "goods-heavy"
pence_per_km = 15
"""


def order(**changes):
    return {**ORDER, **changes}


def table(name, rows):
    headings = tuple(dict.fromkeys(heading for row in rows for heading in row))
    return RawTable(file=f"{name}.csv", headings=headings, rows=tuple(tuple(row.get(heading, "") for heading in headings) for row in rows))


def files(*, policy="day = 2026-11-26", rates=RATES, decks="", **tables):
    found = {name: table(name, rows) for name, rows in {**TABLES, **tables}.items() if rows}
    return DayFiles(tables=found, policy=policy, rates=rates, decks=decks)


def read(*, on=None, **changes):
    return read_day(files(**changes), locate=locate, tables=travel_tables, on=on)


def faults(*, on=None, **changes):
    """Return the problems as (file, row, column, what is wrong); an empty list when there are none."""
    try:
        read(on=on, **changes)
    except BadFiles as fault:
        return [(problem.file, problem.row, problem.column, problem.says) for problem in fault.problems]
    return []


def only_fault(**changes):
    found = faults(**changes)
    assert len(found) == 1, found
    return found[0]


def orders_fault(**changes):
    """Return column and sentence of the one fault in the one order with these changes."""
    file, row, column, says = only_fault(orders=[order(**changes)])
    assert (file, row) == ("orders.csv", 2)
    return column, says
