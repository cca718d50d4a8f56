"""``homeleg report``: what delivery cost, earned and used over some planned days, as tables, files and one page."""

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cli.dates import FORM, a_date
from cli.day_options import BOOK
from planner.faults import PlannerError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.desk.report_tables import Table
    from planner.runs.plan_document import PlanFile


class NoDays(PlannerError):
    """A folder without a plan in the period."""

    def __init__(self, folder: Path, first: date, last: date, found: list[date]) -> None:
        has = f"It has {len(found)}, from {min(found)} to {max(found)}." if found else "It has none at all."
        super().__init__(f"{folder} has no plan from {first} to {last}. {has} Plans are written by 'homeleg plan DAY --out ...'.")


class TwoPlans(PlannerError):
    """Two plans of one day, of which only one can be true."""

    def __init__(self, day: date, one: Path, other: Path) -> None:
        super().__init__(f"{one} and {other} are both plans of {day}. Move the one that was not driven out of the folder.")


def report(
    first: Annotated[datetime, typer.Option("--from", parser=a_date, metavar=FORM, help="First day.")],
    last: Annotated[datetime, typer.Option("--to", parser=a_date, metavar=FORM, help="Last day.")],
    folder: Annotated[Path, typer.Option(help="Folder in and below which plan.json files lie.", metavar="DIR")] = Path(),
    out: Annotated[Path, typer.Option(help="Folder for report.html, report.xlsx and the CSV files.")] = Path("report"),
    vat_percent: Annotated[float, typer.Option(min=0, max=100, help="VAT that is in the charges.")] = 20.0,
    book: Annotated[
        str | None, typer.Option(envvar="HOMELEG_BOOK", help=f"Day book that tells how promises ended; {BOOK} if it is here.")
    ] = None,
) -> None:
    """Report cost against charge, promises, miles, crews, decks, hours, fuel and gases of a period."""
    from decimal import Decimal

    from cli.atomic import write_whole
    from planner.desk.report import report as rows_of
    from planner.desk.report_files import csv_text, workbook
    from planner.desk.report_page import page
    from planner.desk.report_tables import tables

    if first > last:
        raise typer.BadParameter(f"{first:%Y-%m-%d} is after {last:%Y-%m-%d}. Swap the two.", param_hint="--from")
    read = plans_in(folder, first.date(), last.date())
    made = tables(rows_of([(item.day, item.plan) for item in read], vat_percent=Decimal(str(vat_percent))))
    book = book or (BOOK if Path(BOOK).is_file() else None)
    made = (*made, *_outcomes(book, first.date(), last.date())) if book else made
    retailer = read[-1].day.policy.retailer
    write_whole(out / "report.html", page(made, first=first.date(), last=last.date(), retailer=retailer))
    write_whole(out / "report.xlsx", workbook(made))
    for table in made:
        write_whole(out / f"{table.key}.csv", csv_text(table))
    for row in made[0].rows:
        print(f"{row[0]:<40}{row[1]:>16}")
    print(made[0].note)
    print(f"{out}: report.html, report.xlsx and {len(made)} CSV files.")


def _outcomes(book: str, first: date, last: date) -> "Iterator[Table]":
    """Yield the table of outcomes if the book has a published plan of the period."""
    from cli.day_desk import at_desk
    from planner.desk.day_book.outcomes import outcomes
    from planner.desk.report_outcomes import outcome_table

    with at_desk(book, actor="", on=None, needs_day=False) as desk, desk.book.reading() as reader:
        days = outcomes(reader, first, last)
    if days:
        yield outcome_table(days)


def plans_in(folder: Path, first: date, last: date) -> "list[PlanFile]":
    """
    Return every plan of the period in and below a folder, by day.

    Raises
    ------
    NoDays
        If there is none.
    TwoPlans
        If two are of the same day.
    UnreadablePlan
        If one of them is damaged.

    """
    from cli.plan_file import read_plan

    found: dict[date, Path] = {}
    for path in sorted(folder.rglob("plan.json")):
        day = _day_of(path)
        if day is None:
            continue
        if day in found and first <= day <= last:
            raise TwoPlans(day, found[day], path)
        found[day] = path
    wanted = [path for day, path in sorted(found.items()) if first <= day <= last]
    if not wanted:
        raise NoDays(folder, first, last, sorted(found))
    return [read_plan(path) for path in wanted]


def _day_of(path: Path) -> date | None:
    """Return the date that a plan file states near its head, without reading it whole; None when there is none."""
    import re

    with path.open(encoding="utf-8-sig", errors="replace") as file:
        stated = re.search(r'"date":\s*"(\d{4}-\d\d-\d\d)"', file.read(2000))
    try:
        return date.fromisoformat(stated[1]) if stated else None
    except ValueError:
        return None
