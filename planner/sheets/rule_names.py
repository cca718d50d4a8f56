"""
The hours limits as a sheet names them, from the catalogue of words.

A run keeps each limit under the name that the rule book gave it; that name leads to the row, and its key to the words.
"""

from functools import cache

from planner.rules.books import BOOK_NAMES, book_named
from planner.rules.timetable_slices import SPREAD
from planner.sheets.words import Words


def rule_name(book: str, rule: str, w: Words) -> str:
    """Return the limit as printed; one that no book of today has stands as the plan calls it."""
    key = _keys(book).get(rule)
    return w(key) if key is not None and key in w else rule


@cache
def _keys(book: str) -> dict[str, str]:
    """Return the key in the catalogue for each name of a book."""
    rows = book_named(book).rows if book in BOOK_NAMES else {}
    return {SPREAD: "rule.any.spread"} | {row.says: f"rule.{book}.{key}" for key, row in rows.items()}
