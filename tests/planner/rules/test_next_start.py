"""From one day to the next by Reg. (EC) 561/2006 arts. 6 and 8 and the Working Time Regulations 1998 reg. 10."""

import pytest

from planner.model.crews import WeekSoFar
from planner.rules.books import OVER_3500, PLATES, book_named
from planner.rules.next_start import DayDone, check_next_start, next_start_allowed, on_next_day, week_after_day

HEAVY = book_named(OVER_3500)


def day(start: int, end: int, **more) -> DayDone:
    return DayDone(start_min=start, end_min=end, driving_min=more.pop("driving", 300), work_min=500, **more)


@pytest.mark.parametrize(("one", "reduced", "book", "expected"), [
    pytest.param(day(360, 1140), 0, OVER_3500, (1140 + 540, 1140 + 660), id="W2: 13 h, a reduced rest is left"),
    pytest.param(day(360, 1140), 3, OVER_3500, (1140 + 660, 1140 + 660), id="W2: none is left"),
    pytest.param(day(360, 1260), 2, OVER_3500, (1260 + 540, 1260 + 540), id="W3: 15 h, the rest is a reduced one anyway"),
    pytest.param(day(360, 1260, has_split_rest=True), 3, OVER_3500, (1260 + 540, 1260 + 540), id="W5: 3 h and 9 h"),
    pytest.param(day(360, 1140), 0, PLATES, (1140 + 660, 1140 + 660), id="11 h on plates"),
])
def test_the_next_start(one, reduced, book, expected):
    allowed = next_start_allowed(WeekSoFar(reduced_rests=reduced), one, book_named(book))
    assert (allowed.earliest_min, allowed.regular_min) == expected
    assert check_next_start(WeekSoFar(reduced_rests=reduced), one, book_named(book), next_start_min=expected[0]) is None
    late = check_next_start(WeekSoFar(reduced_rests=reduced), one, book_named(book), next_start_min=expected[0] - 1)
    assert (late.rule, late.short_by_min) == ("daily rest", 1)


def test_a_weekly_rest_comes_after_six_days():
    """Art. 8(6)."""
    assert next_start_allowed(WeekSoFar(duty_days=5), day(360, 900), HEAVY).earliest_min == 900 + 1440
    late = check_next_start(WeekSoFar(weekly_rest_ended_min=-7000), day(360, 900), HEAVY, next_start_min=1800)
    assert late.rule == "weekly rest"


def test_a_day_adds_up_into_the_week():
    week = week_after_day(WeekSoFar(driven_week_min=100, last_duty_end_min=-200), day(360, 1260, driving=541), HEAVY)
    assert (week.driven_week_min, week.extended_days, week.reduced_rests, week.duty_days) == (641, 1, 2, 1)
    assert on_next_day(week).last_duty_end_min == 1260 - 1440
    last = week_after_day(WeekSoFar(driven_week_min=100), day(360, 1000), HEAVY, is_last_of_week=True)
    assert (last.driven_last_week_min, last.driven_week_min) == (400, 0)
