"""Dates on the command line, as people write them in files."""

from datetime import datetime

import typer

FORM = "YYYY-MM-DD"


def a_date(text: str) -> datetime:
    """Return midnight of a date written as ``FORM``; anything else is a fault of the command line."""
    try:
        return datetime.strptime(text.strip(), "%Y-%m-%d")  # noqa: DTZ007 - a date without a place
    except ValueError:
        raise typer.BadParameter(f"{text!r} is no date. Write it as 2026-11-26.") from None
