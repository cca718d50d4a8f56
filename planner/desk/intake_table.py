"""
Tables: the rows of one file matched to the columns we know, every fault gathered with its row, column and remedy.

Rows are numbered as a spreadsheet counts them: the heading is row 1.  A row that has a fault is kept, with None where
the fault is, so that later checks still find what is wrong with the rest of it.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from planner.desk.intake_cells import CellFault, Reader, closest
from planner.faults import Problem

_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_FORMULA_FAULTS = {"#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!", "#NULL!", "#NUM!", "#SPILL!", "#CALC!"}
BLANKS = " \t\r\n\v\f\u00a0\u200b\u202f\ufeff\u2007"


@dataclass(frozen=True, kw_only=True, slots=True)
class RawTable:
    """One file's cells as text; ``rows`` are those below the heading, in order, blank ones included."""

    file: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    row_numbers: tuple[int, ...] = ()  # empty: 2, 3, 4 and so on

    def numbered(self) -> Iterator[tuple[int, tuple[str, ...]]]:
        """Yield each row with its number."""
        return zip(self.row_numbers or range(2, len(self.rows) + 2), self.rows, strict=True)


@dataclass(frozen=True, kw_only=True, slots=True)
class Column:
    """One column: its name, how a cell is read, and what the reference page says about it."""

    name: str
    read: Reader
    means: str
    example: str
    unit: str = ""
    needed: bool = False
    default: Any = None
    default_says: str = ""  # what a blank means, where the default alone does not say it


@dataclass(kw_only=True, slots=True)
class Row:
    """One row read; ``values`` has every known column, None where the cell is blank without default, or faulty."""

    file: str
    number: int
    values: dict[str, Any]
    texts: dict[str, str]
    problems: list[Problem] = field(repr=False)
    faulty: set[str] = field(default_factory=set)

    def __getitem__(self, column: str) -> Any:
        return self.values[column]

    def refuse(self, column: str, says: str, advice: str = "") -> None:
        """Note a problem with one cell of this row."""
        self.faulty.add(column)
        text = self.texts.get(column, "")
        self.problems.append(
            Problem(file=self.file, row=self.number, column=column, value=text[:80], says=says, advice=advice),
        )

    @property
    def is_sound(self) -> bool:
        """Whether nothing has been found wrong with this row so far."""
        return not self.faulty


@lru_cache(maxsize=1000)
def heading(text: str) -> str:
    """
    Return a heading as it is compared: small letters, anything else an underscore.

    >>> heading(" Kerb-mass (kg) ")
    'kerb_mass_kg'
    """
    return re.sub(r"[^a-z0-9]+", "_", text.casefold()).strip("_")


def column(table: RawTable, name: str) -> tuple[str, ...]:
    """Return the cells of one of our columns that are not blank; none where the table has no such column."""
    names = [heading(text) for text in table.headings]
    if name not in names:
        return ()
    number = names.index(name)
    cells = (row[number].strip(BLANKS) for row in table.rows if number < len(row))
    return tuple(cell for cell in cells if cell)


def read_rows(
    table: RawTable, columns: Sequence[Column], problems: list[Problem], *, ignored: frozenset[str] = frozenset(),
) -> list[Row]:  # fmt: skip
    """
    Return the rows of ``table`` that are not blank, every cell read.

    Parameters
    ----------
    table
        What the file holds.
    columns
        The columns this table may have.
    problems
        Where faults go.
    ignored
        Headings that the office wants passed over.

    """
    known = {column.name: column for column in columns}
    place = _place_columns(table, known, problems, ignored)
    rows = []
    for row_number, raw in table.numbered():
        cells = [cell.strip(BLANKS) for cell in raw]
        if any(cells):
            texts = {name: cells[at] if at < len(cells) else "" for name, at in place.items()}
            row = Row(file=table.file, number=row_number, values={}, texts=texts, problems=problems)
            _refuse_cells_beyond(row, cells, table)
            for column in columns:
                row.values[column.name] = _read_cell(row, column)
            rows.append(row)
    return rows


def _place_columns(
    table: RawTable, known: dict[str, Column], problems: list[Problem], ignored: frozenset[str],
) -> dict[str, int]:  # fmt: skip
    names = [heading(text) for text in table.headings]
    times = Counter(name for name in names if name)
    for name in (name for name, count in times.items() if count > 1):
        says = f"this heading stands {times[name]} times"
        problems.append(Problem(file=table.file, row=1, column=name, says=says, advice="Keep one."))
    for at, name in enumerate(names):
        if name and name not in known and name not in ignored:
            near = closest(name, known)
            advice = f"Did you mean {near}? " if near else ""
            advice += f'Rename it, delete it, or add "{table.file.rsplit(".", 1)[0]}.{name}" to ignored_columns in policy.toml.'
            problems.append(
                Problem(file=table.file, row=1, column=name, value=table.headings[at].strip(BLANKS)[:80],
                        says="this column is not known", advice=advice),
            )  # fmt: skip
    for column in known.values():
        if column.needed and column.name not in times:
            says = f"the column {column.name} is missing"
            problems.append(Problem(file=table.file, row=1, says=says, advice=f"Add it; for example {column.example}."))
    return {name: names.index(name) for name in known if name in times}


def _refuse_cells_beyond(row: Row, cells: list[str], table: RawTable) -> None:
    for at, cell in enumerate(cells):
        if cell and (at >= len(table.headings) or not heading(table.headings[at])):
            beyond = f"column {at + 1}"
            row.texts[beyond] = cell
            row.refuse(beyond, "this cell stands under no heading", "Delete it, or quote the cell whose comma moved it.")
            return


def _read_cell(row: Row, column: Column) -> Any:
    text = row.texts.get(column.name, "")
    if not text:
        if column.needed and column.name in row.texts:
            row.refuse(column.name, "this cell is empty", f"Fill it in; for example {column.example}.")
        elif column.needed:
            row.faulty.add(column.name)  # the missing column has its own problem
        return column.default
    if text in _FORMULA_FAULTS:
        row.refuse(column.name, "the formula in this cell has failed", "Mend it in the spreadsheet, or type the value.")
        return None
    if _UNPRINTABLE.search(text):
        row.refuse(column.name, "this cell holds a letter that cannot be printed", "Type it again.")
        return None
    try:
        return column.read(text)
    except CellFault as fault:
        row.refuse(column.name, fault.says, fault.advice)
        return None


def refuse_twice(rows: Sequence[Row], column: str, what: str) -> None:
    """Note a problem for every row that repeats what an earlier one has in ``column``."""
    first: dict[str, int] = {}
    for row in rows:
        if (value := row[column]) is not None:
            earlier = first.setdefault(str(value).casefold(), row.number)
            if earlier != row.number:
                row.refuse(column, f"this {what} stands in row {earlier} already", "Give each its own, or delete one.")
