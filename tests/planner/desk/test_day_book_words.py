"""Events in words: by the office's clocks, whatever zone the book keeps its times in."""

from datetime import UTC, datetime

import pytest

from planner.desk.day_book.entries import Event
from planner.desk.day_book.refusals import ClockWentBack
from planner.desk.day_book.words import sentence


def event(at, **more):
    values = {"thing": "hold", "subject": "A1", "kind": "held", "before": None, "after": {"gate": "funds"}} | more
    return Event(id=1, change=1, at=at, actor="nell", day="2026-07-01", topic="A1", **values)


@pytest.mark.parametrize(("at", "shown"), [
    ("2026-07-01T12:00:00.000+00:00", "13:00 on 2026-07-01"),  # British Summer Time: an hour ahead of UTC
    ("2026-07-01T23:30:00.000+00:00", "00:30 on 2026-07-02"),
    ("2026-11-26T12:00:00.000+00:00", "12:00 on 2026-11-26"),
])
def test_a_sentence_shows_the_hour_that_the_clock_on_the_wall_showed(at, shown):
    assert sentence(event(at)) == f"{shown}, nell: A1 held (gate funds)"


def test_a_clock_that_went_back_is_told_by_the_clock_on_the_wall():
    said = str(ClockWentBack(datetime(2026, 7, 1, 11, 0, tzinfo=UTC), datetime(2026, 7, 1, 12, 0, tzinfo=UTC)))
    assert "12:00:00 on 01 July 2026, but the last entry of the book is of 13:00:00 on 01 July 2026" in said
