"""Dates on the command line."""

from datetime import datetime

import pytest
import typer

from cli.dates import a_date


def test_a_date_is_read_as_files_write_it():
    assert a_date(" 2026-11-26 ") == datetime(2026, 11, 26)  # noqa: DTZ001 - a date without a place


@pytest.mark.parametrize("text", ["2026-13-40", "2019-02-29", "26/11/2026", "tomorrow", "", "2026-11-26T08:00"])
def test_what_is_no_date_is_refused_with_how_to_write_one(text):
    with pytest.raises(typer.BadParameter, match=r"is no date\. Write it as 2026-11-26\.$"):
        a_date(text)
