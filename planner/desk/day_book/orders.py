"""
Orders as the sales system gives them, again and again: what is new, what changed, what was withdrawn.

The book keeps the cells of a row, buyers' cells apart.  The same row changes nothing.  An open order that its source no
longer lists, although the file has orders of the same promised day, was withdrawn: it is cancelled and stays in the book.
A file that would cancel most of a day is taken for one that was cut short and refused, unless that is said to be right.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import select

from planner.desk.day_book import tables
from planner.desk.day_book.buyers import keep_buyer
from planner.desk.day_book.change import Change
from planner.desk.day_book.entries import Put
from planner.desk.day_book.refusals import NotSo
from planner.desk.day_book.words import difference
from planner.desk.intake_cells import CellFault, day
from planner.desk.intake_table import BLANKS, RawTable, heading

PERSONAL = ("buyer", "phone", "email", "address_1", "address_2", "address_3", "postcode", "access_notes", "notes")
OPEN, CANCELLED, DELIVERED = "open", "cancelled", "delivered"
FEW = 5  # that many may be withdrawn without asking


@dataclass(frozen=True, kw_only=True, slots=True)
class TakenIn:
    """What a file brought; ``changed`` pairs an order with a phrase for each difference."""

    new: tuple[str, ...]
    changed: tuple[tuple[str, tuple[str, ...]], ...]
    withdrawn: tuple[str, ...]
    same: int


def mapped(table: RawTable, names: Mapping[str, str]) -> RawTable:
    """Return the table with a source's own headings (however spaced or spelled in capitals) put into ours."""
    known = {heading(theirs): ours for theirs, ours in names.items()}
    return replace(table, headings=tuple(known.get(heading(text), text) for text in table.headings))


def rows_of(table: RawTable) -> list[dict[str, str]]:
    """Return the cells that are not blank of each row that is not blank, by our headings."""
    names = [heading(text) for text in table.headings]
    found = []
    for _, cells in table.numbered():
        row = {name: cell.strip(BLANKS) for name, cell in zip(names, cells, strict=False) if name and cell.strip(BLANKS)}
        if row:
            found.append(row)
    return found


def take_in(
    change: Change, rows: Sequence[Mapping[str, str]], *, source: str, on: str, may_cancel_many: bool = False,
) -> TakenIn:  # fmt: skip
    """
    Put the rows of one source into the book.

    Parameters
    ----------
    change
        The transaction.
    rows
        Cells by heading, each with ``order``.
    source
        Who sent them; only a source's own orders can be withdrawn by it.
    on
        The planning day, for a row without a promised date.
    may_cancel_many
        Whether a file that withdraws more than half of a day's orders is right.

    Raises
    ------
    NotSo
        If it would withdraw that many and nobody said it is right, or an order belongs to another source.

    """
    before = _values(change, [row["order"] for row in rows])
    puts, new, changed, same = list[Put](), list[str](), list[tuple[str, tuple[str, ...]]](), 0
    for row in rows:
        ref, was = row["order"], before.get(row["order"])
        if was is not None and was["source"] != source:
            raise NotSo(f"Order {ref} came from {was['source']}, now {source} has one too. Give one of them another reference.")
        put = _put(change, row, was, source=source, on=on)
        differs = _differences(was, put.value)
        if was is None:
            new.append(ref)
        elif differs:
            changed.append((ref, differs))
        else:
            same += 1
        puts.append(put)
    gone = _withdrawn(change, puts, source, may_cancel_many=may_cancel_many)
    change.put_all([*puts, *gone])
    return TakenIn(new=tuple(new), changed=tuple(changed), withdrawn=tuple(put.subject for put in gone), same=same)


def _values(change: Change, refs: Sequence[str]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for start in range(0, len(refs), 400):
        query = select(tables.now.c.subject, tables.now.c.value).where(
            tables.now.c.thing == "order", tables.now.c.subject.in_(refs[start : start + 400])
        )
        found |= {row.subject: row.value for row in change.connection.execute(query)}
    return found


def _put(change: Change, row: Mapping[str, str], was: Any, *, source: str, on: str) -> Put:
    personal = {name: row[name] for name in PERSONAL if name in row}
    is_finished = was is not None and was["state"] == DELIVERED
    buyer, version = keep_buyer(change, row["order"], personal, is_finished=is_finished)
    value = {
        "cells": {name: cell for name, cell in row.items() if name not in PERSONAL and name != "order"},
        "buyer": buyer, "version": version, "source": source, "state": OPEN, "failed": 0,
    }  # fmt: skip
    if was is not None:
        value |= {"state": OPEN if was["state"] == CANCELLED else was["state"], "failed": was["failed"]}
        value |= {"why": was["why"]} if "why" in was else {}  # it failed
    return Put(kind="taken in" if was is None else "changed by its source", thing="order", subject=row["order"], value=value,
               topic=row["order"], day=promised(row, on))  # fmt: skip


def promised(row: Mapping[str, str], on: str) -> str:
    """Return the promised date of a row as ISO text, ``on`` when it names none that can be read."""
    try:
        return str(day(row["promised"]).isoformat()) if "promised" in row else on
    except CellFault:
        return on


def _differences(was: Any, value: Any) -> tuple[str, ...]:
    if was is None or was == value:
        return ()
    found = difference(was["cells"], value["cells"])
    if was["version"] != value["version"]:
        found.append(f"buyer's data {was['version']} -> {value['version']}")
    if was["state"] != value["state"]:
        found.append(f"{was['state']} -> {value['state']}")
    return tuple(found)


def _withdrawn(change: Change, puts: Iterable[Put], source: str, *, may_cancel_many: bool) -> list[Put]:
    listed = {put.subject for put in puts}
    days = {put.day for put in puts if put.day is not None}
    query = select(tables.now).where(tables.now.c.thing == "order", tables.now.c.day.in_(sorted(days)))
    rows = [row for row in change.connection.execute(query).mappings() if row["value"]["source"] == source]
    still = [row for row in rows if row["value"]["state"] == OPEN]
    gone = [row for row in still if row["subject"] not in listed]
    had, lost = Counter(row["day"] for row in still), Counter(row["day"] for row in gone)
    for name, count in lost.items():
        if count > FEW and 2 * count > had[name] and not may_cancel_many:
            raise NotSo(f"This file would cancel {count} of the {had[name]} open orders of {name}: it may have been cut short. "
                        "Nothing was changed. Add --cancel-many if it is right.")  # fmt: skip
    return [
        Put(kind="withdrawn", thing="order", subject=row["subject"], value={**row["value"], "state": CANCELLED},
            topic=row["topic"], day=row["day"])
        for row in gone
    ]  # fmt: skip
