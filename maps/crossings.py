"""
Crossings: ferries, tolls and charging zones as dated data.

A price is what its source said on the day it was read; past its review date the :class:`Charge` says so by
``review_after``, and nothing is guessed.
"""

import csv
from functools import lru_cache
from importlib.resources import files

from planner.model.travel import Charge, ChargeKind


@lru_cache(maxsize=1)
def ferries() -> dict[str, Charge]:
    """Return every ferry of the package by key."""
    text = (files(__package__) / "data" / "ferries.csv").read_text(encoding="utf-8")
    return {
        row["key"]: Charge(key=row["key"], name=row["name"], kind=ChargeKind.FERRY, bands=(), must_book=row["must_book"] == "yes")
        for row in csv.DictReader(text.splitlines())
    }
