"""
Proof: what holds now is rebuilt from the events alone, and every seal is worked out again.

Nothing here changes a book; what is found is told as sentences.
"""

from collections.abc import Iterator
from typing import Any

from sqlalchemy import select

from planner.desk.day_book import tables
from planner.desk.day_book.documents import altered
from planner.desk.day_book.entries import Event, now_row
from planner.desk.day_book.reader import Reader
from planner.desk.day_book.seal import FIRST, SEALED, seal


def rebuilt(reader: Reader) -> dict[tuple[str, str], dict[str, Any]]:
    """Return what the events alone say holds now, by thing and subject."""
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for event in reader.events():
        key = (event.thing, event.subject)
        found.pop(key, None)
        if event.after is not None:
            found[key] = now_row(_fields(event))
    return found


def faults(reader: Reader) -> Iterator[str]:
    """Yield a sentence for each thing that does not follow from the events, or each event that was tampered with."""
    found: dict[tuple[str, str], dict[str, Any]] = {}
    before, number = FIRST, 0
    for event in reader.events():
        number += 1
        if event.id != number:
            yield f"Event {number} is missing; the next is {event.id}."
            number = event.id
        if seal(before, _fields(event)) != event.seal:
            yield f"Event {event.id} does not carry the seal of what it says and of what went before."
        was = found.pop((event.thing, event.subject), None)
        if (was["value"] if was else None) != event.before:
            yield f"Event {event.id} says {event.thing} {event.subject} was another thing than it was."
        if event.after is not None:
            found[event.thing, event.subject] = now_row(_fields(event))
        before = event.seal
    head = reader.connection.execute(select(tables.head)).mappings().one()
    if (head["event"], head["seal"]) != (number, before):
        yield f"The chain ends at event {number}, the book says it ends at {head['event']}."
    yield from altered(reader)
    stands = {(row["thing"], row["subject"]): dict(row) for row in reader.connection.execute(select(tables.now)).mappings()}
    for key in sorted({*stands, *found}):
        if stands.get(key) != found.get(key):
            yield f"{key[0]} {key[1]} stands otherwise than its events left it."


def _fields(event: Event) -> dict[str, Any]:
    return {name: getattr(event, name) for name in SEALED}
