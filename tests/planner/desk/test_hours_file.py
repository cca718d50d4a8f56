"""Files of hours: every way of writing a line, and every fault told at once with its place; forms are our own."""

import pytest

from planner.desk.hours_file import read_hours
from planner.faults import BadFiles
from planner.rules.hours_calendar import Calendar
from planner.rules.hours_words import Doing


def read(text: str):
    return read_hours(text, name="week.txt")


def activities(text: str):
    return [(line.doing.value, line.minutes) for line in read(text).lines]


@pytest.mark.parametrize(("line", "expected"), [
    ("drive 270", ("drive", 270)), ("DRIVE 4:30", ("drive", 270)), ("drive 4h30", ("drive", 270)), ("drive 4h", ("drive", 240)),
    ("driving 45 min", ("drive", 45)), ("270 drive", ("drive", 270)), ("other work 60", ("other", 60)), ("other,60", ("other", 60)),
    ("  rest\t660  # at home", ("rest", 660)), ("available 30", ("available", 30)), ("availability 30", ("available", 30)),
    ("disembark 20", ("other", 20)), ("06:00-10:30 drive", ("drive", 270)), ("drive 06:00 - 10:30", ("drive", 270)),
    ("22:00-02:00 other work", ("other", 240)), ("Sat 14:00 - Mon 06:00 rest", ("rest", 2400)), ("06:00 to 06:00 rest", ("rest", 1440)),
    ("break 0", ("break", 0)),
])
def test_one_line(line, expected):
    assert activities(line) == [expected]


def test_a_file_tells_what_went_before():
    record = read("start Tue 05:30\ndrivers 2\ndriven-this-week 20:00\nextended-days: 1\nsince-weekly-rest = 24:00\n\ndrive 60\nrest\n")
    assert record.calendar == Calendar(week_minute=1440 + 330, day_minute=330)
    assert (record.week.driven_week_min, record.week.extended_days, record.week.weekly_rest_ended_min) == (1200, 1, -1440)
    assert (record.drivers, record.is_resting_on, len(record.lines)) == (2, True, 1)


def test_clock_times_must_follow_on():
    assert activities("06:00-10:30 drive\nbreak 45\n11:15-12:00 drive") == [("drive", 270), ("break", 45), ("drive", 45)]
    with pytest.raises(BadFiles) as fault:
        read("06:00-10:30 drive\n11:00-12:00 drive")
    assert [(problem.row, problem.value) for problem in fault.value.problems] == [(2, "11:00-12:00")]
    assert "10:30" in str(fault.value)


def test_driving_off_that_no_rest_follows_is_other_work():
    assert [line.doing for line in read("rest 120\nembark 20\nferry 420\ndisembark 20\ndrive 60").lines] == [
        Doing.REST, Doing.EMBARK, Doing.FERRY, Doing.OTHER, Doing.DRIVE]  # fmt: skip


@pytest.mark.parametrize(("text", "rows"), [
    ("", [None]), ("# nothing\n\n", [None]), ("dirve 270", [1]), ("drive", [1]), ("drive -5", [1]), ("drive 2.5", [1]),
    ("drive 1:75", [1]), ("drive ten", [1]), ("rest\ndrive 60", [1]), ("25:00-26:00 drive", [1]), ("Foo 06:00-07:00 drive", [1]),
    ("drive 60\nstart 06:00", [2]), ("start noon\ndrive 60", [1]), ("drivers 3\ndrive 60", [1]), ("drive 60\n08:00-09:00 drive", [2]),
    ("extended-days many\ndrive 60", [1]), ("dirve 1\ndrive x\nbreak -3", [1, 2, 3]), ("drive 270 break 45", [1]),
    ("drive 99999999999999999999", None),
])
def test_every_fault_has_its_line(text, rows):
    if rows is None:
        assert read(text).lines
        return
    with pytest.raises(BadFiles) as fault:
        read(text)
    assert [problem.row for problem in fault.value.problems] == rows
    assert all(problem.advice for problem in fault.value.problems)
