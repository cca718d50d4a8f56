"""Queue: orders that failed and wait for another day, each time with a higher priority."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from sqlalchemy import select

from planner.desk.day_book import tables
from planner.desk.day_book.orders import OPEN
from planner.desk.day_book.reader import Reader

LOOK_BACK = timedelta(days=60)  # a promise older than this is looked for by hand


def waiting_again(reader: Reader, on: date) -> list[tuple[str, int, str, str]]:
    """Return each open order of a day or the 60 before it that failed: its times, the last cause and the priority it has now."""
    entry = tables.now.c
    query = select(entry.subject, entry.value).where(
        entry.thing == "order", entry.day >= (on - LOOK_BACK).isoformat(), entry.day <= on.isoformat(),
        entry.value["failed"].as_integer() > 0, entry.value["state"].as_string() == OPEN,
    )  # fmt: skip
    rows = reader.connection.execute(query.order_by(entry.day, entry.subject))
    return [(ref, value["failed"], value.get("why", ""), cells_now(value)["priority"]) for ref, value in rows]


def cells_now(value: Mapping[str, Any]) -> dict[str, str]:
    """Return the cells of an order as it is planned now: each time it failed raises its priority by one, to 9 at most."""
    cells: dict[str, str] = dict(value["cells"])
    if value["failed"]:
        given = cells.get("priority", "1")
        cells["priority"] = str(min(9, int(given) + int(value["failed"]))) if given.isdigit() else given
    return cells
