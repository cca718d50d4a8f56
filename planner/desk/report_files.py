"""The tables of a report as files: one CSV each, and one workbook with a sheet each; as text and bytes, not on disk."""

import io
from collections.abc import Sequence
from datetime import date
from typing import Any

from planner.desk.report_tables import Cell, Table, Unit, headed, number

FORMATS = {
    Unit.POUNDS: "£#,##0.00;[Red]-£#,##0.00", Unit.MILES: "#,##0.0", Unit.HOURS: "#,##0.00", Unit.SHARE: "0.0%",
    Unit.KG: "#,##0.0", Unit.LITRES: "#,##0.0", Unit.KWH: "#,##0.0", Unit.COUNT: "#,##0", Unit.DAY: "ddd d mmm yyyy",
}  # fmt: skip


def safe(text: str) -> str:
    """
    Return a text that no spreadsheet takes for a formula: a quote goes before what would begin one.

    >>> safe("=1+1"), safe("York")
    ("'=1+1", 'York')
    """
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def csv_text(table: Table) -> str:
    """Return a table as CSV: numbers in the unit of the heading, dates as ISO 8601, nothing for what is not known."""
    return str(data_frame(table).to_csv(index=False, lineterminator="\n"))


def data_frame(table: Table) -> Any:
    """Return a table as a pandas frame of plain values, its headings with their units, for anyone who counts on."""
    import pandas as pd

    rows = [[_plain(cell, unit) for cell, (_, unit) in zip(row, table.columns, strict=True)] for row in table.rows]
    return pd.DataFrame(rows, columns=[heading for heading, _ in headed(table)], dtype=object)


def _plain(cell: Cell, unit: Unit) -> str | int | float:
    value = number(cell, unit)
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    return safe(value) if isinstance(value, str) else value


def workbook(tables: Sequence[Table]) -> bytes:
    """Return every table as a sheet of one XLSX workbook, headings frozen and filters set."""
    import xlsxwriter

    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    formats = {unit: book.add_format({"num_format": text}) for unit, text in FORMATS.items()}
    for table in tables:
        sheet = book.add_worksheet(table.title[:31])
        headings = list(headed(table))
        for column, (heading, unit) in enumerate(headings):
            sheet.write_string(0, column, heading, head)
            sheet.set_column(column, column, 24 if unit is Unit.TEXT else 14)
        for row, cells in enumerate(table.rows, start=1):
            for column, (cell, (_, unit)) in enumerate(zip(cells, table.columns, strict=True)):
                value = number(cell, unit)
                if isinstance(value, date):
                    sheet.write_datetime(row, column, value, formats[Unit.DAY])
                elif isinstance(value, str):
                    sheet.write_string(row, column, value)
                elif value is not None:
                    sheet.write_number(row, column, value, formats.get(unit))
        sheet.freeze_panes(1, 1)
        if table.rows:
            sheet.autofilter(0, 0, len(table.rows), len(headings) - 1)
    book.close()
    return out.getvalue()
