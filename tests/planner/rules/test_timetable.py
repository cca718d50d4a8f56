"""The timetable on days worked out by hand; the limits are those of Reg. (EC) 561/2006 and the rules named at each case."""

import pytest

from planner.model.crews import WeekSoFar
from planner.rules.books import OVER_3500, PLATES, UP_TO_3500, book_named
from planner.rules.timetable import Duty, NoTimetable, Step, Timetable, best_choice, timetable

FRESH = WeekSoFar()


def drive(minutes: int) -> Step:
    return Step(duty=Duty.DRIVE, minutes=minutes, splittable=True)


def work(minutes: int, opens: int | None = None, closes: int | None = None) -> Step:
    return Step(duty=Duty.OTHER, minutes=minutes, opens_min=opens, closes_min=closes)


def written(answer) -> str:
    assert isinstance(answer, Timetable), answer
    return " ".join(f"{part.kind[0].upper()}{part.minutes}" for part in answer.slices)


def plan(*steps: Step, book: str = OVER_3500, earliest: int = 360, latest: int = 1440, **more):
    week = more.pop("week", FRESH)
    return timetable(steps, book=book_named(book), week=week, earliest_min=earliest, latest_end_min=latest, **more)


def test_a_long_drive_is_broken_once_for_45_minutes_at_four_hours_and_a_half():
    """Reg. (EC) 561/2006 art. 7: 270 + 45 + 30."""
    answer = plan(drive(300))
    assert (written(answer), answer.start_min, answer.end_min) == ("D270 B45 D30", 360, 705)


def test_a_wait_of_fifteen_minutes_is_the_first_part_of_a_split_break():
    """Reg. (EC) 561/2006 art. 7: wait 15 at the door, then 30 within the same 270 minutes of driving (200 + 70)."""
    answer = plan(drive(200), work(10, 575, 600), drive(200))
    assert (written(answer), answer.end_min) == ("D200 B15 O10 D70 B30 D130", 575 + 10 + 200 + 30)


def test_duty_starts_as_late_as_the_first_window_allows():
    """Derived: nothing is gained by leaving before 07:20 for a door that opens at 09:00 after 100 minutes."""
    answer = plan(drive(100), work(30, 540, 600))
    assert (answer.start_min, answer.end_min) == (440, 570)


def test_nobody_stops_five_minutes_before_the_door():
    """Working Time Regulations 2005 reg. 7: 360 of work end 5 minutes before the door, so the break is taken before the drive."""
    answer = plan(work(350), drive(15), work(20, 740, 760), earliest=360)
    assert written(answer) == "O350 B15 D15 B15 O20"


def test_plates_have_a_break_every_two_hours():
    """Highway Code rule 91 as a company limit."""
    assert written(plan(drive(250), book=PLATES)) == "D120 B15 D120 B15 D10"


def test_one_break_of_twenty_minutes_in_a_day_of_more_than_six_hours():
    """Working Time Regulations 1998 reg. 12."""
    assert plan(drive(180), work(181), book=UP_TO_3500).end_min == 360 + 361 + 20
    assert plan(drive(180), work(180), book=UP_TO_3500).end_min == 360 + 360


def test_breaks_from_work_may_be_made_of_any_parts_of_fifteen_minutes_and_more():
    """Working Time Regulations 2005 reg. 7: a wait of 22 and a break of 23 are the 45 of a day of more than 9 h."""
    answer = plan(drive(100), work(200), work(130, 360 + 300 + 22, 690), work(150), earliest=360)
    assert answer.end_min == 360 + 580 + 45
    assert {part.minutes for part in answer.slices if part.kind == "break"} >= {22, 23} or answer.end_min - answer.start_min == 625


@pytest.mark.parametrize(("steps", "more", "rule"), [
    pytest.param([drive(601)], {}, "extended driving", id="art. 6(1)"),
    pytest.param([drive(541)], {"week": WeekSoFar(extended_days=2)}, "daily driving", id="art. 6(1), third long day"),
    pytest.param([drive(61)], {"week": WeekSoFar(driven_week_min=3300)}, "weekly driving", id="art. 6(2)"),
    pytest.param([drive(61)], {"week": WeekSoFar(driven_week_min=2040, driven_last_week_min=3300)}, "fortnight driving", id="art. 6(3)"),
    pytest.param([drive(100), work(10, 400, 450)], {}, "window", id="derived"),
    pytest.param([drive(280), work(10, 400, 680)], {}, "window after breaks", id="art. 7"),
    pytest.param([drive(100)], {"latest": 459}, "shift", id="derived"),
    pytest.param([work(10, 360, 361), work(10, 1260, 1300)], {"week": WeekSoFar(reduced_rests=3)}, "daily rest", id="art. 8(2), 15 h 10"),
    pytest.param([work(300), work(340)], {"book": PLATES}, None, id="company duty"),
    pytest.param([work(300), work(361)], {"book": PLATES}, "daily duty", id="company duty passed"),
    pytest.param([work(10)], {"week": WeekSoFar(duty_days=6)}, "weekly rest", id="art. 8(6)"),
])  # fmt: skip
def test_what_cannot_be_is_an_answer(steps, more, rule):
    answer = plan(*steps, **more)
    assert (answer.rule if isinstance(answer, NoTimetable) else None) == rule


def test_the_quick_answer_is_the_start_and_end_of_the_full_one():
    more = {"book": book_named(OVER_3500), "week": FRESH, "earliest_min": 300, "latest_end_min": 1440, "objective": "duty"}
    steps = (work(15), drive(200), work(30, 640, 700), drive(220), work(20))
    full, quick = timetable(steps, **more), best_choice(steps, **more)
    assert (full.start_min, full.end_min) == (quick.start_min, quick.end_min)
    assert best_choice((drive(601),), **more) is None


@pytest.mark.parametrize("objective", ["end", "duty"])
def test_a_night_out_makes_a_long_run_legal(objective):
    """Reg. (EC) 561/2006 arts. 6(1) and 8: 900 of driving need two days, and 11 h (9 h where one is left) between them."""
    steps = (work(15), drive(400), work(30), drive(500), work(10))
    alone = plan(*steps, objective=objective, earliest=700, latest=2800)
    assert alone.rule == "extended driving"
    answer = plan(*steps, objective=objective, earliest=700, latest=2800, nights=1)
    rests = [part.minutes for part in answer.slices if part.kind == "rest"]
    assert (answer.nights, rests) == (1, [540])
    without = plan(*steps, objective=objective, earliest=700, latest=2800, nights=1, week=WeekSoFar(reduced_rests=3))
    assert without.end_min - answer.end_min == 120


def test_a_night_out_keeps_clear_of_the_night_when_24_hours_hold_more_than_ten_of_work():
    """Working Time Regulations 2005 reg. 9: 955 minutes of work, so the second day begins at 04:00."""
    answer = plan(work(15), drive(400), work(30), drive(500), work(10), latest=2800, nights=1)
    second = next(part for part, rest in zip(answer.slices[1:], answer.slices, strict=False) if rest.kind == "rest")
    assert second.start_min == 1440 + 240


def test_days_and_rests_are_counts_and_everything_else_is_minutes():
    """Reg. (EC) 561/2006 arts. 6(1) and 8(4): two extended days a week, three reduced rests between weekly rests."""
    answer = plan(drive(580), book=OVER_3500, week=WeekSoFar(reduced_rests=1, extended_days=1), latest=1500)
    counts = {item.rule: (item.used, item.limit) for item in answer.counters if item.is_count}
    assert counts == {"days of more than 9 h driving in a week": (2, 2), "reduced daily rests between two weekly rests": (1, 3)}
    assert {item.limit >= 60 for item in answer.counters if not item.is_count} == {True}
