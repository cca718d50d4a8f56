"""The day as a document: everything a planning day knows in one JSON value, so that a plan can carry its own evidence."""

from typing import Any

from planner.model import documents
from planner.model.day import Day


def to_document(day: Day) -> dict[str, Any]:
    """Return ``day`` as plain values that JSON can hold; travel tables are packed."""
    document: dict[str, Any] = documents.to_document(day)
    return document


def from_document(document: Any) -> Day:
    """
    Return the day of which ``document`` was made.

    Raises
    ------
    BadDocument
        If it is damaged or was never a day; says where.

    """
    return documents.from_document(Day, document, where="day")
