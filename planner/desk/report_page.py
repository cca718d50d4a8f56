"""The page of a report: figures at a glance, pictures, then every table; one file that needs nothing else."""

from collections.abc import Iterator, Sequence
from datetime import date
from html import escape

from planner.desk.report_charts import Series, bars, lines, values_of
from planner.desk.report_tables import Table, Unit, shown

MOST_ROWS = 400
STYLE = """
@page { size: A4; margin: 12mm; }
body { font: 14px/1.45 system-ui, "Liberation Sans", Arial, sans-serif; color: #16202a; max-width: 1240px; }
body { margin: 6mm auto; padding: 0 5mm; }
h1 { font-size: 24px; margin-bottom: 0; } h2 { font-size: 18px; margin: 9mm 0 2mm; }
.glance { display: grid; grid-template-columns: repeat(auto-fill, minmax(190px, 1fr)); gap: 3mm; }
.glance div { border: 1px solid #b9c2c9; padding: 2mm 3mm; } .glance b { display: block; font-size: 19px; }
.pictures { display: grid; grid-template-columns: repeat(auto-fit, minmax(420px, 1fr)); gap: 6mm; margin-top: 6mm; }
.pictures figure { margin: 0; break-inside: avoid; } svg { width: 100%; height: auto; }
.wide { overflow-x: auto; } table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th, td { padding: 1mm 2.5mm 1mm 0; border-bottom: 1px solid #d5dbdf; text-align: right; white-space: nowrap; }
th { vertical-align: bottom; white-space: normal; } th.t, td.t { text-align: left; } tr { break-inside: avoid; }
.note { color: #3c4852; font-size: 12.5px; }
@media (max-width: 520px) { .pictures { grid-template-columns: 1fr; } }
"""


def page(tables: Sequence[Table], *, first: date, last: date, retailer: str) -> str:
    """
    Return a report as HTML.

    Parameters
    ----------
    tables
        What :func:`planner.desk.report_tables.tables` returned.
    first, last
        The period asked for.
    retailer
        Whose deliveries they are.

    """
    by_key = {table.key: table for table in tables}
    period = shown(first, Unit.DAY) if first == last else f"{shown(first, Unit.DAY)} to {shown(last, Unit.DAY)}"
    glance = by_key["summary"]
    cards = "".join(f"<div>{escape(str(row[0]))}<b>{escape(str(row[1]))}</b></div>" for row in glance.rows)
    figures = "".join(f"<figure>{picture}</figure>" for picture in pictures(by_key))
    body = "".join(_table(table) for table in tables if table.key != "summary")
    return (
        f'<!doctype html>\n<html lang="en-GB"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>Delivery report, {escape(period)}</title><style>{STYLE}</style></head><body>"
        f"<h1>Delivery report</h1><p>{escape(retailer)}, {escape(period)}. {escape(glance.note)}</p>"
        f'<div class="glance">{cards}</div><div class="pictures">{figures}</div>{body}</body></html>\n'
    )


def pictures(tables: dict[str, Table]) -> Iterator[str]:
    """Yield the pictures of a report."""
    for key, title in (("by_method", "by method"), ("by_distance", "by distance")):
        table = tables[key]
        names = [str(row[0]) for row in table.rows]
        if names:
            cost = Series(name="cost", values=values_of(table.rows, 3))
            charged = Series(name="charged, no VAT", values=values_of(table.rows, 4))
            yield bars(f"Cost and charge of a delivery {title}", names, [cost, charged], Unit.POUNDS)
            yield bars(f"CO2e of a delivery {title}", names, [Series(name="kg", values=values_of(table.rows, 7))], Unit.KG)
    regions = sorted(tables["by_region"].rows, key=lambda row: -float(row[1] or 0))[:12]  # type: ignore[arg-type]
    if regions:
        names = [f"{row[0]} ({row[1]})" for row in regions]
        left = Series(name="left", values=values_of(regions, 5))
        yield bars("Left over a delivery, areas with most deliveries", names, [left], Unit.POUNDS)
    days = tables["by_day"].rows
    if len(days) > 1:
        names = [f"{row[0]:%d %b}" for row in days]
        cost, charged = (Series(name=name, values=values_of(days, at)) for name, at in (("cost of runs", 3), ("charged", 4)))
        yield lines("Cost and charge, day by day", names, [cost, charged], Unit.POUNDS)
        kept = Series(name="promises kept", values=values_of(tables["promises"].rows, 5))
        empty = Series(name="empty miles", values=values_of(days, 8))
        yield lines("Promises kept and empty miles, day by day", names, [kept, empty], Unit.SHARE)
    decks = tables["decks"].rows
    if decks:
        full = Series(name="share", values=values_of(decks, 6))
        yield bars("Slot-miles with a car", [str(row[0]) for row in decks], [full], Unit.SHARE)


def _table(table: Table) -> str:
    heads = "".join(f'<th class="{_side(unit)}">{escape(heading)}</th>' for heading, unit in table.columns)
    rows = "".join(
        "<tr>" + "".join(f'<td class="{_side(unit)}">{escape(shown(cell, unit))}</td>'
                         for cell, (_, unit) in zip(row, table.columns, strict=True)) + "</tr>"
        for row in table.rows[:MOST_ROWS]
    )  # fmt: skip
    left_out = len(table.rows) - MOST_ROWS
    note = table.note + (f" {left_out} more rows are in the workbook." if left_out > 0 else "")
    if not table.rows:
        rows = f'<tr><td class="t" colspan="{len(table.columns)}">None in this period.</td></tr>'
    said = f'<p class="note">{escape(note)}</p>' if note else ""
    return f'<h2 id="{table.key}">{escape(table.title)}</h2>{said}<div class="wide"><table><tr>{heads}</tr>{rows}</table></div>'


def _side(unit: Unit) -> str:
    return "t" if unit in (Unit.TEXT, Unit.DAY) else "n"
