"""
The referee's reading of the law on hours against published examples and the figures of the law itself.

E and W rows: break patterns and weeks of Regulation (EC) 561/2006, articles 6 to 8, from DVSA's guide GV 262 and trade
reference pages on tachograph examinations; those without such a source follow from the articles.  Notation: D driving,
O other work, R ride, P waiting, F aboard a
ferry, B break, N rest; minutes.
"""

import re
from dataclasses import replace
from datetime import date

import pytest

from planner.clock import DayClock
from planner.model.crews import WeekSoFar
from planner.runs.referee import Rule
from planner.runs.referee.breach import Notebook
from planner.runs.referee.hours import check_hours, next_monday_min
from planner.runs.run import ActivityKind
from tests.planner.runs.refereed import carried, driven, legal_day, of_day
from tests.planner.runs.worked_day import YARD, step

KINDS = {"D": ActivityKind.DRIVE, "O": ActivityKind.OTHER_WORK, "R": ActivityKind.RIDE, "P": ActivityKind.AVAILABLE,
         "F": ActivityKind.AVAILABLE,
         "B": ActivityKind.BREAK, "N": ActivityKind.REST}


def broken(pattern: str, *, start_min: int = 420, base=None, day=None, **week: int | None) -> set[Rule]:
    """Return the rules that a run of this pattern breaks, by the law for the transporter or ``base``."""
    run, at_min, steps = base or carried(), start_min, []
    for letter, minutes in re.findall(r"([DORPFBN])(\d+)", pattern):
        done = step(KINDS[letter], at_min, at_min + int(minutes), YARD)
        steps.append(replace(done, visit=1) if letter == "F" else done)
        at_min += int(minutes)
    notes = Notebook()
    day = of_day(day or legal_day(), "drivers", run.itinerary.driver, week=WeekSoFar(**week))
    check_hours(day, replace(run, activities=tuple(steps), counters=()), notes)
    return {breach.rule for breach in notes.found}


@pytest.mark.parametrize(("pattern", "is_legal"), [
    pytest.param("D270 B45 D270", True, id="E1"),
    pytest.param("D150 O60 D120 B45", True, id="E2"),
    pytest.param("D120 B15 D150 B30", True, id="E3"),
    pytest.param("D120 B34 D150 B30", True, id="E4"),
    pytest.param("O30 D60 B15 D120 B30 D270 B45", True, id="E5"),
    pytest.param("D180 B45 D270 B45", True, id="E6"),
    pytest.param("D150 O60 D120 B45 D270 B45", True, id="E7"),
    pytest.param("D60 B30 D210 B15 D270 B45", False, id="E8"),
    pytest.param("D90 B30 D90 B15 D270 O120", False, id="E9"),
    pytest.param("D180 B30 D90 B15 D1", False, id="E10"),
    pytest.param("D240 B40 D60", False, id="E11"),
    pytest.param("D240 B40 D30 B30 D270", True, id="E12"),
    pytest.param("D120 B10 D150 B35 D1", False, id="E13"),
    pytest.param("D135 B22 D135 B23 D10", False, id="E14"),
    pytest.param("D150 O60 D120 O30 D1", False, id="E15"),
    pytest.param("D90 B15 D90 B15 D90 B30 D270", True, id="E16"),
    pytest.param("D60 B20 D210 B30 D270", True, id="E17"),
    pytest.param("D270 B30 D1", False, id="E18"),
    pytest.param("D271", False, id="E19"),
    pytest.param("D60 B15 D60 B30 D150 B15 D120 B30 D90", True, id="E20"),
    pytest.param("D200 P45 D71", False, id="waiting is no break"),
    pytest.param("D200 R45 D71", False, id="a ride is no break"),
    pytest.param("D200 B20 B25 D71", True, id="two breaks that touch are one"),
])  # fmt: skip
def test_breaks_from_driving(pattern, is_legal):
    assert (Rule.DRIVING_BREAK not in broken(pattern)) is is_legal


@pytest.mark.parametrize(("pattern", "rules"), [
    # Article 6(1): 9 h, twice a week 10 h.
    ("D270 B45 D270", set()),
    ("D270 B45 D270 B45 D60", set()),
    ("D270 B45 D270 B45 D61", {Rule.DAILY_DRIVING}),
    # Working Time Regulations 2005, regulation 7, as DfT's guidance sums it up.
    ("O300 B15 O300", {Rule.WORK_BREAK}),
    ("O330 B30 O180", set()),
    ("O361 B45", {Rule.WORK_BREAK}),
    ("O360 B45 O1", set()),
    ("O360 B30 O180", set()),
    ("O360 B30 O181", {Rule.WORK_BREAK}),
    ("O360 B14 O1", {Rule.WORK_BREAK}),
    ("O180 P60 O180 B30", set()),
    ("O180 R180 B15 B14 O1", {Rule.WORK_BREAK}),
    # Article 8: 13 h from start to end leave 11 h of rest; 15 h leave 9 h, three times; 3 h and 9 h.
    ("O360 B45 O360 P15", set()),
    ("O360 B45 O360 B135", set()),
    ("O360 B45 O360 B136", {Rule.DAILY_REST}),
])  # fmt: skip
def test_one_day(pattern, rules):
    assert broken(pattern, reduced_rests=0) == rules


@pytest.mark.parametrize(("pattern", "reduced", "is_legal"), [
    pytest.param("O360 B45 O300 P75", 3, True, id="W2: 13 h from start to end"),
    pytest.param("O360 B45 O300 P76", 3, False, id="a fourth reduced rest"),
    pytest.param("O360 B45 O300 P195", 2, True, id="W3: 15 h, the third reduced rest"),
    pytest.param("O360 B45 O300 P225", 0, False, id="W4: 15 h 30"),
    pytest.param("O360 B180 O360", 3, True, id="W5: 15 h with a rest of 3 h inside"),
    pytest.param("O360 B179 O361", 3, False, id="2 h 59 is no part of a rest"),
    pytest.param("O360 B180 O361", 3, False, id="3 h inside, yet 15 h 01"),
    pytest.param("O360 N660 O360", 3, True, id="a night out of 11 h"),
    pytest.param("O360 N659 O360", 3, False, id="a night out of less, the fourth"),
    pytest.param("O360 N540 O360", 2, True, id="a night out of 9 h, the third"),
    pytest.param("O360 B30 O360 P90 N600 O360", 3, False, id="14 h, then 10 h of rest"),
])  # fmt: skip
def test_daily_rest(pattern, reduced, is_legal):
    assert (Rule.DAILY_REST not in broken(pattern, reduced_rests=reduced)) is is_legal


@pytest.mark.parametrize(("ended_min", "reduced", "is_legal"), [
    (-240, 3, True), (-239, 3, False), (-239, 2, True), (-120, 2, True), (-119, 0, False), (None, 3, True),
])  # fmt: skip
def test_rest_before_duty_at_seven(ended_min, reduced, is_legal):
    assert (Rule.DAILY_REST not in broken("O60", last_duty_end_min=ended_min, reduced_rests=reduced)) is is_legal


@pytest.mark.parametrize(("week", "rules"), [
    pytest.param({"extended_days": 1}, set(), id="W8: the second day of 10 h"),
    pytest.param({"extended_days": 2}, {Rule.EXTENDED_DAYS}, id="W9: the third"),
    pytest.param({"driven_week_min": 2760}, set(), id="56 h in the week"),
    pytest.param({"driven_week_min": 2761}, {Rule.WEEKLY_DRIVING}, id="a minute more"),
    pytest.param({"driven_last_week_min": 3360, "driven_week_min": 1440}, set(), id="56 h, then 34 h"),
    pytest.param({"driven_last_week_min": 3360, "driven_week_min": 1500}, {Rule.FORTNIGHT_DRIVING}, id="W10: 56 h, then 35 h"),
    pytest.param({"worked_week_min": 3000}, set(), id="60 h of work in the week"),
    pytest.param({"worked_week_min": 3001}, {Rule.WEEKLY_WORK}, id="a minute more of work"),
    pytest.param({"duty_days": 5}, set(), id="the sixth day"),
    pytest.param({"duty_days": 6}, {Rule.WEEKLY_REST}, id="the seventh"),
    pytest.param({"weekly_rest_ended_min": 1110 - 8640}, set(), id="W11: six times 24 h"),
    pytest.param({"weekly_rest_ended_min": 1109 - 8640}, {Rule.WEEKLY_REST}, id="W11: a minute more"),
])  # fmt: skip
def test_a_day_of_ten_hours_in_its_week(week, rules):
    """07:00 to 18:30 (minute 1110): 600 minutes of driving."""
    assert broken("D270 B45 D270 B45 D60", **week) == rules


def test_driving_after_sunday_counts_for_the_next_week():
    sunday = replace(legal_day(), clock=DayClock(date(2026, 6, 14)))
    assert next_monday_min(sunday.clock) == 1440
    pattern = "D240 N660 D240"  # 20:00 to midnight, then from 11:00
    assert broken(pattern, start_min=1200, day=sunday, driven_week_min=3120) == set()
    assert broken(pattern, start_min=1201, day=sunday, driven_week_min=3120) == set()
    assert broken(pattern, start_min=1201, day=sunday, driven_week_min=3122) == {Rule.WEEKLY_DRIVING}
    assert broken(pattern, start_min=1200, day=sunday, driven_week_min=3120, driven_last_week_min=2041) == {Rule.FORTNIGHT_DRIVING}


@pytest.mark.parametrize(("start_min", "is_legal"), [(239, False), (240, True)])
def test_night_work_is_ten_hours_at_most(start_min, is_legal):
    """Regulation 9 of 2005: work between 00:00 and 04:00 makes it night work; 10 h 01 of work."""
    assert (Rule.NIGHT_WORK not in broken("O300 B45 O301", start_min=start_min)) is is_legal


def test_night_follows_the_clock_on_the_wall():
    """On 29 March 2026 clocks go from 01:00 to 02:00, so 04:00 is the 180th minute."""
    spring = replace(legal_day(), clock=DayClock(date(2026, 3, 29)))
    assert Rule.NIGHT_WORK in broken("O300 B45 O301", start_min=179, day=spring)
    assert Rule.NIGHT_WORK not in broken("O300 B45 O301", start_min=180, day=spring)


def small(day):
    return of_day(day, "transporters", "T1", gross_kg=3500)


@pytest.mark.parametrize(("pattern", "rules"), [
    # Transport Act 1968, part VI, GOV.UK: 10 h of driving, 11 h of duty; no break of its own.
    ("D600 B20", set()),
    ("D601 B20", {Rule.DAILY_DRIVING}),
    ("D60 B20 O600", set()),
    ("D60 B20 O601", {Rule.DUTY}),
    ("B20 O661", set()),  # no driving on that day, no limit of duty
    # Working Time Regulations 1998: 20 minutes beyond 6 h; 11 h of rest in 24.
    ("D360", set()),
    ("D361", {Rule.WORK_BREAK}),
    ("D200 B19 D161", {Rule.WORK_BREAK}),
    ("D200 B440 D140", set()),
    ("D200 B441 D140", {Rule.DAILY_REST}),
])  # fmt: skip
def test_goods_vehicles_to_3500_kg(pattern, rules):
    day, run = small(legal_day()), replace(carried(), book="up-to-3500")
    assert broken(pattern, base=run, day=day) == rules
    assert Rule.DAILY_REST in broken(pattern, base=run, day=day, last_duty_end_min=-239)


@pytest.mark.parametrize(("pattern", "rules"), [
    ("D120 B15 D120 O45 R60", set()),
    ("D120 B14 D1", {Rule.DRIVING_BREAK}),
    ("D121", {Rule.DRIVING_BREAK}),
    ("D120 O30 D1", {Rule.DRIVING_BREAK}),
    ("D120 R60 D1", {Rule.DRIVING_BREAK}),
    ("D120 B15 D120 B15 D120 B20 D120 B15 D120", set()),
    ("D120 B15 D120 B15 D120 B20 D120 B15 D120 B15 D1", {Rule.DAILY_DRIVING}),
    ("D60 O300 B20 O300", set()),
    ("D60 O300 B20 O301", {Rule.DUTY}),
    ("D60 R300 O1", {Rule.WORK_BREAK}),
    ("D60 R240 P14 O60", set()),
    ("D60 R240 F1 O60", {Rule.WORK_BREAK}),
])  # fmt: skip
def test_cars_on_plates_are_held_to_the_companys_limits(pattern, rules):
    """10 h of driving, 11 h of duty, 15 minutes after two hours (Highway Code rule 91), as policy.toml has them."""
    assert broken(pattern, base=driven()) == rules


def test_a_sold_van_is_a_goods_vehicle():
    day = legal_day()
    van = of_day(day, "moves", "M4", car=replace(day.move_of["M4"].car, is_van=True))
    assert broken("D121 B20", base=driven(), day=van) == {Rule.BOOK}


def test_a_second_driver_is_held_to_the_same_law():
    run = driven()
    run = replace(run, itinerary=replace(run.itinerary, support_driver="D3"))
    day = of_day(legal_day(), "drivers", "D3", week=WeekSoFar(last_duty_end_min=0))
    assert broken("D60", base=run, day=day) == {Rule.DAILY_REST}
