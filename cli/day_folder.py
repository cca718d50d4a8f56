"""
Day folders: the files of one planning day read from disk as text, whatever a spreadsheet program made of them.

Tables are CSV (comma, semicolon or tab; UTF-8 with or without byte-order mark, UTF-16 with one, else Windows-1252) or
a sheet of an XLSX workbook.  What the cells mean is for :mod:`planner.desk.intake`.
"""

import csv
import io
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from planner.faults import BadFiles, Problem

if TYPE_CHECKING:
    from planner.desk.intake import DayFiles, Tables
    from planner.desk.intake_atlas import Locate
    from planner.desk.intake_table import RawTable
    from planner.model.day import Day

TOMLS = ("rates", "policy", "decks")
_LARGEST_BYTES = 50_000_000


def load_day(folder: Path, *, locate: "Locate", tables: "Tables", on: date | None = None) -> "Day":
    """
    Return the day that a folder describes.

    Parameters
    ----------
    folder
        Holds orders, drivers, transporters, compounds, rates.toml, policy.toml and perhaps carriers, rides and decks.toml.
    locate, tables
        Geography: what turns a postcode into a place, and places into travel tables.
    on
        The planning day; ``policy.toml`` names it when this is None.

    Raises
    ------
    BadFiles
        With every problem of every file.

    """
    from planner.desk.intake import read_day

    return read_day(read_files(folder), locate=locate, tables=tables, on=on)


def read_files(folder: Path) -> "DayFiles":
    """Return the texts and cells of a day folder; what cannot be read is among its problems."""
    from planner.desk.intake import DayFiles
    from planner.desk.intake_columns import TABLES

    desk = _Desk()
    if not folder.is_dir():
        desk.refuse(str(folder), "there is no such folder", "Give the folder that holds orders.csv and its companions.")
        return DayFiles(tables={}, problems=tuple(desk.problems))
    tables = {}
    for name, (_, is_needed) in TABLES.items():
        table = _read_table(folder, name, desk, is_needed=is_needed)
        if table is not None:
            tables[name] = table
    texts = {name: _read_toml(folder, name, desk) for name in TOMLS}
    return DayFiles(tables=tables, **texts, problems=tuple(desk.problems), notes=tuple(desk.notes))


@dataclass(slots=True)
class _Desk:
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def refuse(self, file: str, says: str, advice: str, *, row: int | None = None) -> None:
        self.problems.append(Problem(file=file, row=row, says=says, advice=advice))

    def raw(self, path: Path) -> bytes | None:
        try:
            if path.stat().st_size > _LARGEST_BYTES:
                self.refuse(path.name, "this file is larger than 50 MB", "Keep to the orders of one day or a few.")
                return None
            return path.read_bytes()
        except OSError as fault:
            self.refuse(path.name, f"it cannot be opened ({fault.strerror or fault})", "Close it elsewhere and try again.")
            return None


def _read_toml(folder: Path, name: str, desk: _Desk) -> str:
    path = folder / f"{name}.toml"
    if not path.exists():
        if name == "rates":
            desk.refuse(path.name, "the file is missing", "Copy it from another day folder.")
        return ""
    raw = desk.raw(path)
    return "" if raw is None else _text(path.name, raw, desk)


def read_table(path: Path) -> "RawTable":
    """
    Return the cells of one CSV file or workbook.

    Raises
    ------
    BadFiles
        If it cannot be read or is empty.

    """
    desk = _Desk()
    raw = desk.raw(path)
    table = None if raw is None else _table_of(path.name, raw, desk)
    if table is None or desk.problems:
        raise BadFiles(desk.problems)
    return table


def _read_table(folder: Path, name: str, desk: _Desk, *, is_needed: bool) -> "RawTable | None":
    found = [path for path in (folder / f"{name}.csv", folder / f"{name}.xlsx") if path.exists()]
    if len(found) > 1:
        desk.refuse(found[1].name, f"{found[0].name} is there too", "Keep the one that holds.")
    if not found:
        if is_needed:
            desk.refuse(f"{name}.csv", "the file is missing", f"Add it (or {name}.xlsx); its columns are in COLUMNS.md.")
        return None
    raw = desk.raw(found[0])
    if raw is None:
        return None
    return _table_of(found[0].name, raw, desk)


def _table_of(file: str, raw: bytes, desk: _Desk) -> "RawTable | None":
    return _table(file, _workbook(file, raw, desk) if file.endswith(".xlsx") else _csv(file, raw, desk), desk)


def _table(file: str, records: list[tuple[str, ...]], desk: _Desk) -> "RawTable | None":
    from planner.desk.intake_table import RawTable

    headed = next((at for at, record in enumerate(records) if any(cell.strip() for cell in record)), None)
    if headed is None:
        if not any(problem.file == file for problem in desk.problems):
            desk.refuse(file, "the file is empty", "Write the headings in its first row; COLUMNS.md lists them.")
        return None
    rows = tuple(records[headed + 1 :])
    numbers = tuple(range(headed + 2, headed + 2 + len(rows)))
    return RawTable(file=file, headings=records[headed], rows=rows, row_numbers=numbers)


def _text(file: str, raw: bytes, desk: _Desk) -> str:
    """Return the text of a file; Windows-1252 is said in the notes, what is neither is a problem."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        pass
    try:
        text = raw.decode("cp1252")
    except UnicodeDecodeError as fault:
        row = raw[: fault.start].count(b"\n") + 1
        desk.refuse(file, "this line holds a letter that is neither UTF-8 nor Windows-1252", "Save the file as UTF-8.", row=row)
        return raw.decode("cp1252", errors="replace")
    desk.notes.append(f"{file} was read as Windows-1252; save it as UTF-8 to be sure of every letter.")
    return text


def _csv(file: str, raw: bytes, desk: _Desk) -> list[tuple[str, ...]]:
    text = _text(file, raw, desk)
    records: list[tuple[str, ...]] = []
    if text[:4].casefold() == "sep=":  # a spreadsheet's own first line, which says what parts the cells
        text = text[text.find("\n") :] if "\n" in text else ""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    try:
        records.extend(tuple(record) for record in reader)
    except csv.Error as fault:
        says = f"the rows from here on cannot be told apart ({fault})"
        desk.refuse(file, says, "Look for a quotation mark that is opened and not closed, or doubled.", row=len(records) + 1)
    return records


def _delimiter(text: str) -> str:
    """Return what parts the cells: whichever of comma, semicolon and tab is most frequent in the heading."""
    headings = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;\t", key=headings.count)


def _workbook(file: str, raw: bytes, desk: _Desk) -> list[tuple[str, ...]]:
    from cli.workbook import read_sheet

    try:
        rows, name, count = read_sheet(raw, Path(file).stem)
    except Exception as fault:  # noqa: BLE001 - the reader of workbooks raises kinds of its own for each sort of damage
        desk.refuse(file, f"this is no workbook that can be read ({fault})", "Save it again as XLSX, or as CSV.")
        return []
    if count > 1:
        desk.notes.append(f"Of the {count} sheets of {file} only {name!r} was read.")
    return rows
