"""
The hours clock against published examples and the figures of the law itself.

E and W rows: break patterns and weeks from DVSA's guide GV 262, trade reference pages on tachograph examinations and the
text of Reg. (EC) 561/2006; those marked "derived" follow from the articles.  Notation: D driving, O other work, B break,
A availability, R rest, T a ride, F rest on a ferry, C rest in a ferry's cabin, M driving on or off board, L light driving.
"""

import re

import pytest

from planner.model.crews import WeekSoFar
from planner.rules.books import OVER_3500, PLATES, UP_TO_3500, book_named
from planner.rules.hours_calendar import Calendar
from planner.rules.hours_clock import Doing, new_clock, step
from planner.rules.hours_verdict import judge

LETTERS = {"D": Doing.DRIVE, "O": Doing.OTHER, "B": Doing.BREAK, "A": Doing.AVAILABLE, "R": Doing.REST, "T": Doing.RIDE,
           "F": Doing.FERRY, "C": Doing.CABIN, "M": Doing.EMBARK, "L": Doing.LIGHT}
SIX = Calendar(week_minute=360)  # Monday 06:00


def doings(pattern: str) -> list[tuple[Doing, int]]:
    return [(LETTERS[letter], int(minutes)) for letter, minutes in re.findall(r"([A-Z])(\d+)", pattern)]


def verdict(pattern: str, book: str = OVER_3500, **more):
    return judge(doings(pattern), book=book_named(book), **more)


def rule(pattern: str, book: str = OVER_3500, **more) -> str | None:
    found = verdict(pattern, book, **more).first_breach
    return None if found is None else found.rule


BREAKS = "driving between breaks"


@pytest.mark.parametrize(("pattern", "is_legal"), [
    pytest.param("D270 B45 D270", True, id="E1 (VOSA guide quoted in the trade press, 2011)"),
    pytest.param("D150 O60 D120 B45", True, id="E2 (the same)"),
    pytest.param("D120 B15 D150 B30", True, id="E3 (the same)"),
    pytest.param("D120 B34 D150 B30", True, id="E4 (the same)"),
    pytest.param("O30 D60 B15 D120 B30 D270 B45", True, id="E5 (drivers' list of patterns)"),
    pytest.param("D180 B45 D270 B45", True, id="E6 (the same)"),
    pytest.param("D150 O60 D120 B45 D270 B45", True, id="E7 (the same)"),
    pytest.param("D60 B30 D210 B15 D270 B45", False, id="E8 (the same)"),
    pytest.param("D90 B30 D90 B15 D270 O120", False, id="E9 (CPC examination question, 2009)"),
    pytest.param("D180 B30 D90 B15 D1", False, id="E10 (GV 262's rule, figures from memory)"),
    pytest.param("D240 B40 D60", False, id="E11 (derived)"),
    pytest.param("D240 B40 D30 B30 D270", True, id="E12 (derived)"),
    pytest.param("D120 B10 D150 B35 D1", False, id="E13 (derived)"),
    pytest.param("D135 B22 D135 B23 D10", False, id="E14 (derived)"),
    pytest.param("D150 O60 D120 O30 D1", False, id="E15 (derived)"),
    pytest.param("D90 B15 D90 B15 D90 B30 D270", True, id="E16 (derived)"),
    pytest.param("D60 B20 D210 B30 D270", True, id="E17 (derived)"),
    pytest.param("D270 B30 D1", False, id="E18 (derived)"),
    pytest.param("D271", False, id="E19 (derived)"),
    pytest.param("D60 B15 D60 B30 D150 B15 D120 B30 D90", True, id="E20 (derived)"),
    pytest.param("D200 A45 D71", False, id="availability is no break (derived)"),
    pytest.param("D200 B20 B25 D71", True, id="two breaks that touch are one (derived)"),
    pytest.param("O60 B30 D270 B30 D1", False, id="both parts lie inside the driving (art. 7)"),
    pytest.param("D200 B15 R30 D270", True, id="rest is a break too (derived)"),
    pytest.param("D200 B14 A1 B31 D71", False, id="a minute of availability parts two breaks (derived)"),
])
def test_breaks_from_driving(pattern, is_legal):
    assert rule(pattern) == (None if is_legal else BREAKS)


def test_a_breach_names_rule_limit_value_source_and_place():
    """Reg. (EC) 561/2006 art. 7: the 271st minute."""
    found = verdict("D200 O10 D71")
    breach = found.first_breach
    assert (breach.rule, breach.limit, breach.value, breach.source) == (BREAKS, 270, 271, "Reg. (EC) 561/2006 art. 7")
    assert (breach.at_min, found.breach_at) == (280, 2)


NINE, TEN = "D270 B45 D270", "D270 B45 D270 B45 D60"
W8 = f"{NINE} R660 {TEN} R660 {NINE} R660 {TEN} R660 {NINE} R660 {NINE}"


@pytest.mark.parametrize(("pattern", "broken"), [
    pytest.param("D270 B45 D270", None, id="540, art. 6(1)"),
    pytest.param(f"{TEN}", None, id="600, art. 6(1)"),
    pytest.param("D270 B45 D270 B45 D61", "extended driving", id="601, art. 6(1)"),
    pytest.param(W8, None, id="W8: 56 h in six days"),
    pytest.param(f"{TEN} R660 {TEN} R660 {NINE}", None, id="two long days"),
    pytest.param(f"{TEN} R660 {TEN} R660 D270 B45 D270 B45 D1", "extended days", id="541 after two long days"),
    pytest.param(f"{TEN} R660 {TEN} R660 {TEN}", "extended days", id="W9: a third long day"),
    pytest.param(W8 + " B45 D1", "extended days", id="W8 and a minute: 541 and 3361"),
    pytest.param(f"{NINE} R660 {TEN} R660 {NINE} R660 {TEN} R660 {NINE} R660 D269 B45 D270 B15 O15", None, id="3359"),
    pytest.param(W8 + f" R2700 {NINE} R660 {NINE} R660 {NINE} R660 D210 B45 D210", None, id="W10: 56 h, then 34 h"),
    pytest.param(W8 + f" R2700 {NINE} R660 {NINE} R660 {NINE} R660 D210 B45 D211", "fortnight driving", id="W10: 5401"),
    pytest.param(W8 + f" R2700 {NINE} R660 {NINE} R660 {NINE} R660 D240 B45 D240", "fortnight driving", id="W10: 56 h, then 35 h"),
])
def test_driving_in_a_day_a_week_and_a_fortnight(pattern, broken):
    assert rule(pattern) == broken


def test_the_weekly_limit_of_56_hours_binds_to_the_minute():
    """Reg. (EC) 561/2006 art. 6(2): 3360 and 3361."""
    assert rule("D60", week=WeekSoFar(driven_week_min=3300), calendar=SIX) is None
    assert rule("D61", week=WeekSoFar(driven_week_min=3300), calendar=SIX) == "weekly driving"
    sunday = Calendar(week_minute=6 * 1440 + 1380)  # an hour before Monday
    assert rule("D121", week=WeekSoFar(driven_week_min=3299), calendar=sunday) is None
    assert rule("D121", week=WeekSoFar(driven_week_min=3301), calendar=sunday) == "weekly driving"


@pytest.mark.parametrize(("pattern", "broken"), [
    pytest.param("O360 B45 O375 R660 O1", "continuous work", id="6 h of work first"),
    pytest.param("O360 B60 O360 R660 O1", None, id="W2: 13 h, then 11 h"),
    pytest.param("O360 B180 O360 R540 O1", None, id="W3: 15 h, then 9 h"),
    pytest.param("O360 B195 O360 B15 R510 O1", "daily rest", id="W4: 15 h 30, then 8 h 30"),
    pytest.param("O360 R180 O360 R540 O1", None, id="W5: 3 h and 9 h"),
    pytest.param("O60 R540 O60 R180 O1", None, id="W6: 9 h first is a reduced rest"),
    pytest.param("O60 R660 O60 R180 O360 B45 O195", None, id="W1: a new day at the end of each rest"),
    pytest.param("O360 B181 O360", "daily rest", id="15 h 01"),
    pytest.param("O360 B180 O360 R500", "daily rest", id="a last rest of 8 h 20 ends the record"),
    pytest.param("O60 R300", None, id="a rest that may still be followed by nine hours"),
    pytest.param("O60 R660 " * 5 + "O60", None, id="11 h each night"),
    pytest.param("O60 R540 " * 3 + "O60 R660 O60", None, id="three reduced rests"),
    pytest.param("O60 R540 " * 4, "reduced rests", id="W13: a fourth"),
    pytest.param("O60 R540 " * 3 + "O60 R1440 " + "O60 R540 " * 3, None, id="a weekly rest between them"),
    pytest.param("O60 R540 " * 3 + "O360 B180 O241", "reduced rests", id="W13: a fourth by a day of 13 h 01"),
    pytest.param("O60 R540 " * 3 + "O360 R180 O360 R540", None, id="W5: a split rest is not a reduced one"),
    pytest.param("O60 R540 " * 3 + "O360 B180 O360 R540", "reduced rests", id="three hours of break are not rest"),
])
def test_daily_rest(pattern, broken):
    """Reg. (EC) 561/2006 arts. 4(g), 8(2), 8(4); the 06:00 example of GV 262."""
    assert rule(pattern) == broken


def test_a_fourth_reduced_rest_names_the_count():
    """Reg. (EC) 561/2006 art. 8(4)."""
    breach = verdict("O60 R540 " * 4).first_breach
    assert (breach.limit, breach.value) == (3, 4)


@pytest.mark.parametrize(("pattern", "drivers", "broken"), [
    pytest.param("O360 B180 O360 A360 R540 O1", 2, None, id="W7: 21 h"),
    pytest.param("O360 B180 O360 A361 R540 O1", 2, "daily rest", id="W7: a minute more"),
    pytest.param("O360 B180 O360 A1 R540 O1", 1, "daily rest", id="alone"),
])
def test_two_drivers_rest_within_thirty_hours(pattern, drivers, broken):
    """Reg. (EC) 561/2006 art. 8(5); Commercial Motor, 3 February 2011."""
    assert rule(pattern, drivers=drivers) == broken


@pytest.mark.parametrize(("pattern", "broken"), [
    pytest.param("O60 R660 " * 11 + "O60", None, id="144 h not reached"),
    pytest.param("O180 R1260 " * 5 + "O360 B180 O360 R1440", None, id="W11: the sixth day ends at 135 h"),
    pytest.param("O180 R1260 " * 6 + "O1", "between weekly rests", id="W11: a seventh day"),
    pytest.param("O60 R1800 O60", None, id="W12: 30 h"),
])
def test_the_weekly_rest_begins_within_six_days(pattern, broken):
    """Reg. (EC) 561/2006 art. 8(6)."""
    assert rule(pattern) == broken


def test_what_is_cut_from_a_weekly_rest_is_due_by_the_end_of_the_third_week_after():
    """W12, Reg. (EC) 561/2006 art. 8(6b) and (7): 45 - 30 = 15 h, in one block with another rest."""
    clock = new_clock(book_named(OVER_3500), calendar=SIX)
    for doing, minutes in doings("O180 R1260 " * 4 + "O180 R1800"):
        clock = step(clock, doing, minutes)
    assert [(debt.minutes, debt.due_min) for debt in clock.debts] == []
    clock = step(clock, Doing.OTHER, 1)
    assert [(debt.minutes, debt.due_min) for debt in clock.debts] == [(900, 4 * 10080 - 360)]
    assert [debt.minutes for debt in after(clock, f"R{2700 + 899} O1").debts] == [900]
    assert after(clock, f"R{2700 + 900} O1").debts == ()
    assert after(clock, f"R{660 + 400} O1 R{660 + 500} O1").debts != ()


def after(clock, pattern):
    for doing, minutes in doings(pattern):
        clock = step(clock, doing, minutes)
    return clock


WEEK = "O180 R1260 " * 5 + "O180 "


@pytest.mark.parametrize(("pattern", "broken"), [
    pytest.param(WEEK + "R2700 " + WEEK + "R2700 O1", None, id="two regular"),
    pytest.param(WEEK + "R1800 " + WEEK + "R2700 O1", None, id="one reduced, one regular"),
    pytest.param(WEEK + "R2699 " + WEEK + "R2699 O1", "weekly rest", id="two reduced"),
    pytest.param("O180 R1800 " + "O180 R1260 " * 3 + "R1800 O180 R1260 O60", None, id="two in one week"),
])
def test_of_two_weekly_rests_one_is_regular(pattern, broken):
    """Reg. (EC) 561/2006 art. 8(6)."""
    assert rule(pattern) == broken


def test_an_unpaid_weekly_rest_is_a_breach_after_the_third_week():
    """Reg. (EC) 561/2006 art. 8(6b)."""
    weeks = WEEK + "R1800 " + (WEEK + "R2700 ") * 2
    assert rule(weeks + WEEK + "R2700 O1", calendar=Calendar(week_minute=0)) in (None, "compensation weeks")
    assert rule(weeks + (WEEK + "R2700 ") * 3 + "O1", calendar=Calendar(week_minute=0)) == "compensation weeks"


@pytest.mark.parametrize(("pattern", "broken"), [
    pytest.param("O60 R120 M20 F420 M20 R120 O60", None, id="W14: two interruptions, 40 minutes"),
    pytest.param("O60 R120 M30 F420 M30 R120 O60", None, id="60 minutes"),
    pytest.param("O60 R120 M30 F420 M31 R120 O60", "ferry stops", id="61 minutes"),
    pytest.param("O60 R120 M10 F200 M10 R200 M10 R140 O60", "ferry stops", id="three interruptions"),
    pytest.param("O60 R120 M20 F300 M20 R120 O60", "daily rest", id="a reduced rest may not be interrupted"),
    pytest.param("O60 R180 O60 R120 M20 F300 M20 R120 O60", None, id="with a split rest: 12 h in all"),
    pytest.param("O60 R120 M20 F1200 M20 R120 O60", None, id="a reduced weekly rest"),
    pytest.param("O60 R1000 M20 F900 M20 R1000 O60", "ferry cabin", id="a regular weekly rest, no cabin"),
    pytest.param("O60 R1000 M20 C480 M20 R1220 O60", None, id="a regular weekly rest, eight hours in a cabin"),
])
def test_rest_on_a_ferry(pattern, broken):
    """W14, Reg. (EC) 561/2006 art. 9(1)."""
    assert rule(pattern) == broken


@pytest.mark.parametrize(("pattern", "broken"), [
    pytest.param("O360", None, id="360"),
    pytest.param("O361", "continuous work", id="361"),
    pytest.param("O180 A60 O181", "continuous work", id="availability is neither work nor break"),
    pytest.param("O180 T180 B15 O1 B15 O1", None, id="a ride is work, two breaks of 15"),
    pytest.param("O300 B15 O300", "work break above 9h", id="10 h with 15 minutes"),
    pytest.param("O330 B30 O180", None, id="8 h 30 with 30 minutes"),
    pytest.param("O360 B30 O180", None, id="540 with 30"),
    pytest.param("O360 B30 O181", "work break above 9h", id="541 with 30"),
    pytest.param("O300 B15 O61", "work break above 6h", id="361 with 15"),
    pytest.param("O300 B15 O200 B15 O1 B15 O60", None, id="three of 15"),
    pytest.param("O300 B14 O61", "continuous work", id="14 is no break"),
    pytest.param("B15 O300 B15 O200 B15 R660", "work break above 6h", id="breaks at either end do not interrupt work"),
    pytest.param("D270 B45 D270", None, id="art. 7 serves both"),
])
def test_breaks_from_work(pattern, broken):
    """Working Time Regulations 2005 reg. 7; 30 minutes and parts of 15 from memory, 45 from DfT's guidance."""
    assert rule(pattern) == broken


@pytest.mark.parametrize(("pattern", "start", "broken"), [
    pytest.param("O300 B45 O300", 180, None, id="600 with night"),
    pytest.param("O300 B45 O301", 180, "night work", id="601 with night"),
    pytest.param("O300 B45 O301", 240, None, id="601 from 04:00"),
    pytest.param("O300 B45 O301", 1440 - 646, None, id="601 to midnight"),
    pytest.param("O300 B45 O301", 1440 - 645, "night work", id="601 to 00:01"),
    pytest.param("O300 B45 O301", None, None, id="no time of day"),
    pytest.param("O300 B45 O200 R660 O200", 200, "night work", id="any 24 hours reach over a rest"),
])
def test_night_work(pattern, start, broken):
    """Working Time Regulations 2005 reg. 9: 10 h in any 24 h of which some is between 00:00 and 04:00."""
    assert rule(pattern, calendar=Calendar(day_minute=start)) == broken


def test_sixty_hours_of_work_in_a_week():
    """Working Time Regulations 2005 reg. 4: 3600 and 3601."""
    day = "O300 B45 O300 R795 "
    assert rule(day * 5 + "O300 B45 O300", calendar=SIX) is None
    assert rule(day * 5 + "O300 B45 O300 B15 O1", calendar=SIX) == "weekly work"


@pytest.mark.parametrize(("pattern", "broken"), [
    pytest.param("D300 B20 D300", None, id="600 driving"),
    pytest.param("D300 B20 D301", "daily driving", id="601 driving"),
    pytest.param("D300 B20 O360", None, id="660 duty"),
    pytest.param("D300 B20 O361", "daily duty", id="661 duty"),
    pytest.param("D300 B20 O300 A61", "daily duty", id="availability is duty"),
    pytest.param("O361 B20 O360", None, id="a day without driving has no duty limit"),
    pytest.param("D240 B20 O480 R700 D240 B20 O480", None, id="a week of at most 240 driving a day has none"),
    pytest.param("D240 B20 O480 R700 D241", "daily duty", id="a day of 241 takes that away"),
    pytest.param("D241 R1100 D240 B20 O421", "daily duty", id="before or after"),
    pytest.param("D180 O181", "rest break", id="361 without a break of 20"),
    pytest.param("D180 O180", None, id="360"),
    pytest.param("D180 B19 O181", "rest break", id="19"),
    pytest.param("D180 B10 O10 B10 O171", "rest break", id="20 in two parts"),
    pytest.param("D180 O181 B20", "rest break", id="20 at the end"),
    pytest.param("D180 B20 O100 R659 O100 R300 O1", "daily rest", id="rest of 10 h 59"),
    pytest.param("D180 B240 O360 R660", None, id="13 h from start to end"),
    pytest.param("D180 B241 O360 R660", "daily rest", id="13 h 01"),
    pytest.param("D60 R1380 " * 6 + "D1", "between weekly rests", id="a seventh day without 24 h of rest"),
    pytest.param("D60 R1380 " * 5 + "D60 R1440 D60", None, id="24 h in seven days"),
    pytest.param("D300 B20 D300 R660 D300 B20 D300 R660", None, id="a working day ends with 11 h of rest"),
])
def test_goods_vehicles_to_3500_kg(pattern, broken):
    """Transport Act 1968 s. 96 as GV 262 section 2 has it; Working Time Regulations 1998 regs. 10 to 12."""
    assert rule(pattern, UP_TO_3500) == broken


@pytest.mark.parametrize(("pattern", "broken"), [
    pytest.param("D120 B15 D120 B15 D120 B20 D120 B15 D120", None, id="600 driving with the breaks"),
    pytest.param("D120 B15 D120 B15 D120 B20 D120 B15 D120 B15 D1", "daily driving", id="601"),
    pytest.param("D121", BREAKS, id="121 without a break"),
    pytest.param("D120 B14 D1", BREAKS, id="14"),
    pytest.param("D120 O30 D1", BREAKS, id="work is no break"),
    pytest.param("D60 B20 O300 T300", None, id="660 duty"),
    pytest.param("D60 B20 O300 T301", "daily duty", id="661 duty, a ride included"),
    pytest.param("O300 B20 O361", "daily duty", id="without driving too"),
    pytest.param("D60 O150 T151", "rest break", id="361 without a break of 20"),
])
def test_sold_cars_on_plates(pattern, broken):
    """Company limits, Highway Code rule 91, Working Time Regulations 1998 reg. 12."""
    assert rule(pattern, PLATES) == broken


@pytest.mark.parametrize(("pattern", "broken"), [
    pytest.param("D200 L71 D70", None, id="light driving is other work under art. 7"),
    pytest.param("D200 L71 D71", BREAKS, id="it is no break"),
    pytest.param("D270 B45 L240 B15 D90", None, id="600 of all driving"),
    pytest.param("D270 B45 L240 B15 D91", "all driving in a day that mixes vehicles", id="601 of all driving"),
    pytest.param("L60 O250 B45 O300 B15 O51", "duty in a day that mixes vehicles", id="661 of duty"),
])
def test_a_day_that_mixes_vehicles(pattern, broken):
    """GOV.UK, driving under both EU and GB domestic rules."""
    assert rule(pattern) == broken


@pytest.mark.parametrize(("week", "pattern", "broken"), [
    pytest.param({"extended_days": 2}, "D270 B45 D270 B45 D1", "extended days", id="two long days before"),
    pytest.param({"driven_last_week_min": 3360, "driven_week_min": 2040}, "D1", "fortnight driving", id="W10"),
    pytest.param({"reduced_rests": 3}, "O360 B180 O241", "reduced rests", id="three reduced rests before"),
    pytest.param({"weekly_rest_ended_min": -8600}, "D41", "between weekly rests", id="144 h"),
    pytest.param({"reduced_rests": 3, "last_duty_end_min": -600}, "O60 R600 O1", "reduced rests", id="short before duty"),
])
def test_the_week_before_counts(week, pattern, broken):
    """Derived from Reg. (EC) 561/2006 arts. 6 and 8."""
    assert rule(pattern, week=WeekSoFar(**week)) == broken


def test_a_refused_step_leaves_the_clock_as_it_was():
    clock = new_clock(book_named(OVER_3500))
    before = repr(clock)
    assert step(clock, Doing.DRIVE, 271).rule == BREAKS
    assert repr(clock) == before
    with pytest.raises(ValueError, match="Expected minutes >= 0, got -1"):
        step(clock, Doing.DRIVE, -1)
