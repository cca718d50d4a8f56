"""What the book proves: promises by how they ended, and drivers' hours for the next day's planning."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from planner.desk.day_book import hours, outcomes
from planner.desk.day_book.book import open_book
from planner.desk.day_book.entries import Event
from planner.desk.intake import read_day
from tests.planner.desk import small_folder
from tests.planner.desk.quoting_world import greedy_plan
from tests.stand_in_geography import locate, travel_tables

DAY = date(2026, 11, 26)  # a Thursday


def event(number, thing, subject, after):
    return Event(id=number, change=number, at="2026-11-26T06:00:00.000+00:00", actor="nell", kind="x", day="2026-11-26", topic=subject,
                 thing=thing, subject=subject, before=None, after=after)


def version(number, pence, **promises):
    return event(number, "version", "2026-11-26", {"number": number, "cost_pence": pence, "promises": promises})


def road(number, ref, what, at):
    return event(number, "road", f"{at} {ref} {what}", {"order": ref, "crew": "D1", "what": what, "at": f"2026-11-26T{at}+00:00"})


YARD = [{"compound": "Yard", "postcode": "NN11 8QL", "plate_sets": "3"}]
NOON = {"closes": "2026-11-26T12:00+00:00", "work_min": 30}


def ended(*told, **promises):
    return outcomes.day_outcome(DAY, [version(1, 50_000, **promises), *told])


def test_a_promise_is_kept_when_the_work_began_before_the_window_closed():
    assert ended(road(2, "A", "arrived", "11:59"), road(3, "A", "handed over", "12:40"), A=NOON).kept == 1
    assert ended(road(2, "A", "arrived", "12:00"), road(3, "A", "handed over", "12:20"), A=NOON).late == 1
    assert ended(road(2, "A", "handed over", "12:29"), A=NOON).kept == 1, "12:29 less the 30 minutes of the handover is 11:59"
    assert ended(road(2, "A", "handed over", "12:30"), A=NOON).late == 1
    assert ended(road(2, "A", "handed over", "23:00"), A={"closes": None, "work_min": 30}).kept == 1


def test_failures_are_counted_by_their_cause_and_what_nobody_told_of_is_neither():
    found = ended(road(2, "A", "refused", "10:00"), road(3, "B", "nobody home", "10:00"), road(4, "C", "refused", "10:30"),
                  A=NOON, B=NOON, C=NOON, D=NOON, E=None)
    assert found.failed == {"nobody home": 1, "not planned": 1, "refused": 2}
    assert (found.promised, found.kept, found.late, found.untold) == (5, 0, 0, 1)


def test_what_was_taken_back_does_not_count_and_a_later_version_drops_no_promise():
    told = road(2, "A", "refused", "10:00")
    events = [version(1, 50_000, A=NOON, B=NOON), told, event(3, "road", told.subject, None), road(4, "A", "handed over", "11:00"),
              version(5, 53_000, A=NOON, B=None)]
    found = outcomes.day_outcome(DAY, events)
    assert (found.promised, found.kept, found.untold, found.failed) == (2, 1, 1, {})
    assert (found.versions, found.planned_pence, found.final_pence) == (2, 50_000, 53_000)
    assert dict(outcomes.total([found, found]))["replan_pence"] == 6_000
    assert outcomes.day_outcome(DAY, [told]) is None


def test_a_promise_that_was_broken_on_an_earlier_day_is_not_kept_by_a_second_visit():
    again = {**NOON, "again": True}
    found = ended(road(2, "A", "handed over", "11:00"), road(3, "B", "nobody home", "11:00"), A=again, B=again, C=NOON)
    assert (found.promised, found.kept, found.late, found.failed, found.untold, found.at_last) == (1, 0, 0, {}, 1, 1)
    assert dict(outcomes.total([found, found]))["at_last"] == 2


def test_an_order_still_open_after_its_promised_day_is_late_or_counted_apart():
    """A0 was promised for the day itself, A1 the day before; a plan of that day spoke of A1, or none did."""
    drivers = [{"driver": f"D{n}", "name": f"Bram Sampleton {n}", "base": "Yard", "licences": "B"} for n in (1, 2)]
    rows = [small_folder.order(order=f"A{n}", registration=f"QA20 A{n}A", postcode=code, promised=day)
            for n, (code, day) in enumerate((("NN11 4FD", "2026-11-26"), ("LE1 5TT", "2026-11-25")))]
    day = read_day(small_folder.files(orders=rows, drivers=drivers, compounds=YARD), locate=locate, tables=travel_tables)
    plan = greedy_plan(day)
    assert len(plan.runs) == 2
    never = outcomes.promises(day, plan)
    assert never["A1"]["closes"] == "2026-11-26T00:00+00:00", "whenever it is brought today, it is late"
    assert never["A0"]["closes"] > never["A1"]["closes"]
    spoken = outcomes.promises(day, plan, spoken_of={"A0", "A1"})
    assert [ref for ref, said in spoken.items() if said.get("again")] == ["A1"]
    assert set(outcomes.promises(day, replace(plan, runs=()))) == {"A0", "A1"}
    assert set(outcomes.promises(day, replace(plan, runs=()), spoken_of={"A1"})) == {"A0"}


@pytest.fixture
def book(tmp_path):
    with open_book(tmp_path / "book.db", may_make=True) as opened:
        yield opened


def shift_put(book, day, begins, ends, driving, work, *told):
    """Publish a shift of D1 and tell its ends, as (what, HH:MM)."""
    with book.change(actor="nell", at=datetime(2026, 11, 27, tzinfo=UTC)) as change:
        value = {"begins": f"{day}T{begins}+00:00", "ends": f"{day}T{ends}+00:00", "driving_min": driving, "work_min": work}
        change.put("published", "version", day, {"number": 1, "shifts": {"D1": value}}, topic=day, day=day)
        for what, at in told:
            change.put(what, "road", f"{day} {what}", {"what": what, "crew": "D1", "at": f"{day}T{at}+00:00"}, topic="D1", day=day)


def cells(book, on=DAY):
    with book.reading() as reader:
        return hours.week_cells(reader, on).get("D1")


def test_the_week_so_far_is_that_of_the_shifts_told():
    """Worked by hand in the next test; here only: a longer shift is driving, a shorter one less work."""
    at = datetime(2026, 11, 26, 8, tzinfo=UTC)
    planned = {"day": DAY, "driver": "D1", "planned_begins": at, "planned_ends": at + timedelta(hours=8), "planned_driving_min": 300,
               "planned_work_min": 420, "begins": at, "is_told": True}
    longer = hours.Shift(**planned, ends=at + timedelta(hours=9))
    assert (longer.driving_min, longer.work_min) == (360, 480)
    shorter = hours.Shift(**planned, ends=at + timedelta(hours=5))
    assert (shorter.driving_min, shorter.work_min) == (300, 300), "work is never less than its driving"


def test_hours_used_this_week_reach_the_next_days_drivers(book):
    # Last week: Friday 20th, 400 driven.  This week: Monday 23rd 560 driven (more than 9 h), Tuesday as planned, Wednesday 30 min longer.
    shift_put(book, "2026-11-20", "08:00", "18:00", 400, 500)
    shift_put(book, "2026-11-23", "06:00", "19:00", 560, 700, ("on duty", "06:00"), ("off duty", "19:00"))
    shift_put(book, "2026-11-24", "05:00", "14:00", 300, 400)
    shift_put(book, "2026-11-25", "06:00", "15:00", 240, 420, ("on duty", "06:00"), ("off duty", "15:30"))
    assert cells(book) == {
        "driven_this_week": "18:50",  # 560 + 300 + 240 + 30 = 1130
        "driven_last_week": "6:40", "worked_this_week": "25:50",  # 700 + 400 + 420 + 30 = 1550
        "duty_days": "3", "long_days": "1", "short_rests": "1",  # Monday 19:00 to Tuesday 05:00 is 10 h, below 11
        "last_duty_ended": "2026-11-25 15:30", "weekly_rest_ended": "2026-11-23 06:00",
    }
    assert cells(book, date(2026, 11, 28))["last_duty_ended"] == "", "more than 24 h before the day: a weekly rest lies between"
    assert cells(book, date(2026, 12, 30)) is None


def test_the_file_comes_before_the_book(book):
    shift_put(book, "2026-11-25", "06:00", "15:00", 240, 420)
    with book.reading() as reader:
        weeks = hours.week_cells(reader, DAY)
    base = {"name": "Bram Sampleton", "base": "Yard", "licences": "B"}
    drivers = [{"driver": "D1", **base, "Driven this week": ""}, {"driver": "D2", **base}]
    day = small_folder.read(drivers=drivers)
    assert day.driver_of["D1"].week.driven_week_min == 0
    filled = hours.with_weeks(small_folder.table("drivers", drivers), weeks)
    assert filled.rows[0][filled.headings.index("Driven this week")] == "4:00"
    assert filled.rows[0][filled.headings.index("worked_this_week")] == "7:00"
    assert set(filled.rows[1][4:]) == {""}, "the book knows nothing of D2"
    said = hours.with_weeks(small_folder.table("drivers", [{**drivers[0], "duty_days": "2"}]), weeks)
    assert said.rows[0][:6] == ("D1", *base.values(), "", "2"), "what the file says of a driver's week stands alone"
    assert hours.with_weeks(small_folder.table("drivers", [{"name": "x"}]), weeks).headings == ("name",)
