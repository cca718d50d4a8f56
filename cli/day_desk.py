"""What every ``homeleg day`` command needs: the book, who is asking, which day, and what they last saw of it."""

import getpass
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from planner.faults import PlannerError

if TYPE_CHECKING:
    from planner.desk.day_book.book import Book
    from planner.desk.day_book.change import Change
    from planner.desk.intake import DayFiles
    from planner.model.day import Day


@dataclass(slots=True)
class Desk:
    """One person at an open book; ``on`` is the planning day, ISO, blank when the book has none yet."""

    book: "Book"
    actor: str
    now: datetime
    on: str

    @contextmanager
    def change(self, *, clock_was_wrong: bool = False) -> "Iterator[Change]":
        """Yield a change made on what this person last saw of the day."""
        with self.book.reading() as reader:
            seen = reader.seen_by(self.actor, self.on)
        with self.book.change(actor=self.actor, at=self.now, seen=seen, clock_was_wrong=clock_was_wrong) as change:
            yield change

    def crew(self, name: str, *tables: str) -> str:
        """
        Return a crew as the day folder spells it, ``tables`` being ``drivers``, ``transporters`` or both.

        Raises
        ------
        NotSo
            If no such table lists it.

        """
        from cli.day_folder import read_files
        from planner.desk.day_book.refusals import NotSo
        from planner.desk.intake_cells import unknown
        from planner.desk.intake_table import column

        files = read_files(self.folder())
        known = [
            cell for table in tables if table in files.tables for cell in column(files.tables[table], table.removesuffix("s"))
        ]  # fmt: skip
        found = next((one for one in known if one.casefold() == name.casefold()), None)
        if found is None:
            fault = unknown(" or ".join(table.removesuffix("s") for table in tables), name, known)
            raise NotSo(f"{name}: {fault.says} in {self.folder()}. {fault.advice}")
        return found

    def folder(self) -> Path:
        """Return the day folder that was opened for the day."""
        with self.book.reading() as reader:
            return Path(reader.value("day", self.on)["folder"])


class NoDay(PlannerError):
    """A day that was never opened."""

    def __init__(self, on: str) -> None:
        super().__init__(f"{on or 'No day'} has not been opened in this book. Begin with 'homeleg day open FOLDER'.")


@contextmanager
def at_desk(book: str, *, actor: str, on: datetime | None, may_make: bool = False, needs_day: bool = True) -> Iterator[Desk]:
    """
    Yield the desk; the day is ``on``, else the latest that was opened.

    Raises
    ------
    NoDay
        If a day is needed and was never opened.

    """
    from planner.desk.day_book.book import open_book

    with open_book(book, may_make=may_make) as opened:
        with opened.reading() as reader:
            days = reader.subjects("day")
        wanted = on.date().isoformat() if on else max(days, default="")
        if needs_day and wanted not in days:
            raise NoDay(wanted)
        yield Desk(book=opened, actor=actor or getpass.getuser(), now=datetime.now().astimezone(), on=wanted)


def cut_off(desk: Desk, by: str) -> str:
    """
    Return date and time by which something has to be done, of a time as typed.

    A time alone counts on the day before the planning day while that has not begun: crews leave before dawn.
    """
    import typer

    from planner.clock import office_time
    from planner.desk.day_book.road_form import when
    from planner.desk.intake_cells import CellFault

    try:
        day, wall_min = when(by)
    except CellFault as fault:
        raise typer.BadParameter(f"{by!r}: {fault.says}. {fault.advice}") from None
    planned = date.fromisoformat(desk.on)
    day = day or (planned - timedelta(days=1) if office_time(desk.now).date() < planned else planned)
    return f"{day.isoformat()} {wall_min // 60:02}:{wall_min % 60:02}"


class _Sound(Exception):
    pass


def checked_files(folder: Path, *, source: str, on: date | None) -> "tuple[DayFiles, date]":
    """
    Return the files of a folder, a source's headings put into ours, and the planning day.

    Raises
    ------
    BadFiles
        With every fault of every file; travel tables are not made for it.

    """
    import tomllib
    from dataclasses import replace

    from cli.day_folder import read_files
    from maps.gazetteer import locate
    from planner.desk.day_book.orders import mapped
    from planner.desk.intake import planning_day, read_day

    files = read_files(folder)
    config = folder / "sources.toml"
    if config.exists() and "orders" in files.tables:
        try:
            names = tomllib.loads(config.read_text(encoding="utf-8")).get(source, {}).get("columns", {})
        except (tomllib.TOMLDecodeError, UnicodeDecodeError, AttributeError) as fault:
            raise BadSources(config, str(fault)) from None
        if not isinstance(names, dict) or not all(isinstance(ours, str) for ours in names.values()):
            raise BadSources(config, f'the columns of {source!r} are no list of heading = "our column"')
        files = replace(files, tables={**files.tables, "orders": mapped(files.tables["orders"], names)})

    def stop(*_: object, **__: object) -> "object":
        raise _Sound

    on = on or planning_day(files)
    with suppress(_Sound):
        read_day(files, locate=locate, tables=stop, on=on)  # type: ignore[arg-type]
    assert on is not None  # without one read_day has refused
    return files, on


class BadSources(PlannerError):
    """A file of column maps that cannot be read."""

    def __init__(self, path: Path, says: str) -> None:
        super().__init__(f'{path}: {says}. Write it as [sales-desk.columns] and lines such as "Order No" = "order".')


def day_of_book(desk: Desk) -> "Day":
    """Return the day as the book has it: its orders, holds, pins and crews, the rest from the folder."""
    from cli.day_folder import read_files
    from maps.gazetteer import locate
    from maps.travel import travel_tables
    from planner.desk.day_book.hours import week_cells
    from planner.desk.day_book.planning import as_said, files_with, rows_to_plan
    from planner.desk.intake import read_day

    on = date.fromisoformat(desk.on)
    files = read_files(desk.folder())
    with desk.book.reading() as reader:
        rows = rows_to_plan(reader, on)
        weeks = week_cells(reader, on)
        return as_said(read_day(files_with(files, rows, weeks), locate=locate, tables=travel_tables, on=on), reader)
