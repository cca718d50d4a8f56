"""
Workbooks: the cells of one sheet of an XLSX file as the text that would stand in a CSV file.

The reader of workbooks leaves cells whose formula failed blank, which would lose them in silence; they are looked up in the
file's own XML (ECMA-376 part 1, 18.3.1.4: a cell of type "e" holds an error) and come back as ``#N/A`` and the like.
"""

import io
import re
import zipfile
from datetime import date, datetime, time, timedelta
from typing import Any

_WIDEST = 400  # columns; a spreadsheet formatted to its last column has 16,384
_FAILED = re.compile(r'<c\b(?=[^>]*\bt="e")[^>]*\br="([A-Z]{1,3})(\d{1,7})"[^>]*>(?:(?!</c>).)*?<v>([^<]*)</v>', re.DOTALL)


def read_sheet(raw: bytes, wanted: str) -> tuple[list[tuple[str, ...]], str, int]:
    """
    Return the rows of a sheet from its first cell on, the sheet's name, and how many sheets there are.

    The sheet called ``wanted`` is read, whatever its case, else the first.

    Raises
    ------
    Exception
        Of a kind of its own for each sort of damage.

    """
    import python_calamine

    workbook = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(raw))
    names = workbook.sheet_names
    name = next((sheet for sheet in names if sheet.casefold() == wanted), names[0])
    cells = workbook.get_sheet_by_name(name).to_python(skip_empty_area=False)
    rows = [[cell_text(cell) for cell in row[:_WIDEST]] for row in cells]
    for row, column, text in _failed_cells(raw, name):
        if row < len(rows) and column < len(rows[row]):
            rows[row][column] = text
    return [tuple(row) for row in rows], name, len(names)


def _failed_cells(raw: bytes, sheet: str) -> list[tuple[int, int, str]]:
    """Return row, column (from 0) and text of each cell of a sheet whose formula failed."""
    with zipfile.ZipFile(io.BytesIO(raw)) as package:
        path = _path_of(package, sheet)
        text = package.read(path).decode("utf-8", errors="replace") if path in package.namelist() else ""
    if ' t="e"' not in text:
        return []
    return [(int(row) - 1, _number(letters), fault) for letters, row, fault in _FAILED.findall(text)]


def _path_of(package: zipfile.ZipFile, sheet: str) -> str:
    """Return where the package keeps a sheet, "" where that cannot be found."""
    from html import unescape

    listed = package.read("xl/workbook.xml").decode("utf-8", errors="replace")
    linked = package.read("xl/_rels/workbook.xml.rels").decode("utf-8", errors="replace")
    for tag in re.findall(r"<(?:\w+:)?sheet\b[^>]*>", listed):
        if unescape(_attribute(tag, "name")) == sheet:
            link = _attribute(tag, r"\w+:id")
            for relation in re.findall(r"<Relationship\b[^>]*>", linked):
                if _attribute(relation, "Id") == link:
                    target = _attribute(relation, "Target")
                    return target.removeprefix("/") if target.startswith("/") else f"xl/{target}"
    return ""


def _attribute(tag: str, name: str) -> str:
    found = re.search(rf'\s{name}="([^"]*)"', tag)
    return found[1] if found else ""


def _number(letters: str) -> int:
    """Return the number, from 0, of the column that a spreadsheet calls by these letters."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1


def cell_text(cell: Any) -> str:
    """
    Return a workbook's cell as it would stand in a CSV file.

    >>> cell_text(1450.0), cell_text(True), cell_text(timedelta(hours=38, minutes=30))
    ('1450', 'yes', '38:30')
    """
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return str(int(cell)) if cell == int(cell) and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, datetime):
        return cell.isoformat(sep=" ", timespec="seconds")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, time):
        return cell.isoformat(timespec="seconds")
    if isinstance(cell, timedelta):
        minutes = round(cell.total_seconds() / 60)
        return f"{minutes // 60}:{minutes % 60:02d}"
    return str(cell)
