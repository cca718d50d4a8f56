"""Price lists from a file of postcodes: read whole, every fault named, then quoted and written as CSV."""

import csv
import io
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from planner.faults import BadFiles, ByArrangement, Problem, UnknownPlace

if TYPE_CHECKING:
    from planner.desk.tariff import Tariff
    from planner.model.orders import Method
    from planner.model.places import Place


def price_list(
    file: Path, *, folder: Path, out: Path | None, tariff: "Tariff", car: str, method: "Method", now: datetime
) -> None:
    """Quote every postcode of a file and write the list to ``out``, or print it."""
    from cli.atomic import write_whole
    from cli.quoting import open_desk, roads_apart, roads_to
    from planner.desk.quote_car import car_of
    from planner.desk.quote_later import with_all_later_orders
    from planner.desk.quote_list import HEADINGS, quotes_for, row_of, row_without_price

    doors, asked_car = read_doors(file), car_of(car)
    with open_desk(folder, now=now, tariff=tariff) as opened:
        desk = with_all_later_orders(opened.desk, roads_to)
    text = io.StringIO()
    writer = csv.DictWriter(text, HEADINGS, lineterminator="\n")
    writer.writeheader()
    reached = [(name, where) for name, where in doors if not isinstance(where, str)]
    priced = quotes_for(desk, reached, roads_apart, car=asked_car, method=method)
    for name, where in doors:
        writer.writerow(row_without_price(name, where) if isinstance(where, str) else row_of(next(priced), desk.day))
    if out is None:
        print(text.getvalue(), end="")
        return
    write_whole(out, text.getvalue())
    print(f"{out}: {len(doors)} prices. Nothing is held: prices and days are those of {now:%H:%M on %d %B %Y}.")


def read_doors(file: Path) -> "list[tuple[str, Place | str]]":
    """
    Return each row's postcode with its place, or why nobody can say what delivery there costs.

    Raises
    ------
    BadFiles
        With a problem for each row that is no place, or one for the file.

    """
    from maps.gazetteer import locate

    rows = _rows(file)
    headings = [heading.strip().casefold() for heading in rows[0]] if rows else []
    if "postcode" not in headings:
        raise BadFiles([Problem(file=file.name, says="has no column postcode", advice="Give it the heading postcode.", row=1)])
    column = headings.index("postcode")
    doors: list[tuple[str, Place | str]] = []
    problems: list[Problem] = []
    for number, row in enumerate(rows[1:], start=2):
        text = row[column].strip() if column < len(row) else ""
        if not text:
            if any(cell.strip() for cell in row):
                problems.append(Problem(file=file.name, row=number, column="postcode", says="is empty", advice="Fill it in."))
            continue
        try:
            doors.append((text, locate(text)))
        except ByArrangement as fault:
            doors.append((text, f"by arrangement: {fault.where}"))
        except UnknownPlace as fault:
            says, _, advice = str(fault).removeprefix(repr(text)).strip().partition(". ")
            says = says.rstrip(".")
            problems.append(Problem(file=file.name, row=number, column="postcode", value=text, says=says, advice=advice))
    if problems:
        raise BadFiles(problems)
    if not doors:
        raise BadFiles([Problem(file=file.name, says="holds no postcode", advice="Write one a row below the heading.")])
    return doors


def _rows(file: Path) -> list[list[str]]:
    try:
        text = file.read_text(encoding="utf-8-sig")
        return list(csv.reader(io.StringIO(text), strict=True))
    except OSError as fault:
        says = f"cannot be opened ({fault.strerror or fault})"
        raise BadFiles([Problem(file=str(file), says=says, advice="Look at the name of the file.")]) from fault
    except (UnicodeDecodeError, csv.Error) as fault:
        says = f"cannot be read as CSV ({fault})"
        raise BadFiles([Problem(file=file.name, says=says, advice="Save it as CSV in UTF-8.")]) from fault
