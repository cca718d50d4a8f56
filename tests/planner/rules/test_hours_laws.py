"""
Laws of the hours clock on random records, and a second checker that reads the same rules minute by minute.

The second checker is derived from the wording of Reg. (EC) 561/2006 arts. 4 and 6 to 8 and of the Working Time Regulations; it keeps
one letter a minute and looks at stretches of them, and shares nothing with the clock.
"""

# ruff: noqa: C901, PLR0911, PLR0912 - one reading of the rules from top to bottom

import re

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.model.crews import WeekSoFar
from planner.rules.books import BOOK_NAMES, OVER_3500, book_named
from planner.rules.hours_clock import Breach, Doing, new_clock, step
from planner.rules.hours_verdict import judge
from planner.rules.timetable import Duty, Step, Timetable, timetable
from planner.rules.timetable_bound import earliest_end_bound

LETTER = {Doing.DRIVE: "D", Doing.OTHER: "O", Doing.RIDE: "O", Doing.AVAILABLE: "A", Doing.BREAK: "B", Doing.REST: "R"}
KINDS = st.sampled_from([Doing.DRIVE, Doing.DRIVE, Doing.OTHER, Doing.AVAILABLE, Doing.BREAK, Doing.BREAK, Doing.REST, Doing.REST])
USUAL = {
    Doing.DRIVE: [1, 60, 90, 120, 135, 180, 240, 270, 271], Doing.OTHER: [1, 15, 30, 60, 180, 300], Doing.AVAILABLE: [5, 30, 60],
    Doing.BREAK: [10, 14, 15, 20, 30, 44, 45, 60], Doing.REST: [60, 180, 240, 539, 540, 600, 660, 720, 1440, 2700],
}  # fmt: skip
RECORDS = st.lists(KINDS.flatmap(lambda doing: st.tuples(st.just(doing), st.sampled_from(USUAL[doing]))), min_size=1, max_size=22)
MANY = settings(max_examples=250, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
FEW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)


def is_legal_by_minutes(record) -> bool:
    """Judge a record under the rules above 3.5 t, no calendar, from the end of a full weekly rest, a single week long."""
    line = "".join(LETTER[doing] * minutes for doing, minutes in record)
    # days: cut at rests of 9 h or more
    days, reduced, weekly_end, extended, driven_week, worked_week = [], 0, 0, 0, 0, 0
    at, start = 0, 0
    for found in [*re.finditer(r"R{540,}", line), None]:
        end = len(line) if found is None else found.start()
        days.append((start, line[start:end], found))
        if found is not None:
            at = start = found.end()
    del at
    for begin, day, found in days:
        split = re.search(r"(?<!R)R{180,539}(?!R)", day)
        inside = 0 if found is None else min(found.end(), begin + 1440) - found.start()
        stays = len(day) if found is not None else len(day.rstrip("R")) if not split or day.endswith("R") else len(day)
        latest = 900 if reduced < 3 else 780
        for minute in range(1, len(day) + 1):  # any minute off rest has to leave room for the daily rest
            has_split = bool(re.search(r"(?<!R)R{180,539}(?=[^R])", day[:minute]))
            if day[minute - 1] != "R" and minute > (900 if has_split else latest):
                return False
        del stays
        if found is None and day.endswith("R"):
            tail = bool(re.search(r"(?<!R)R{180,539}(?!R)", day))
            if len(day) > (900 if tail else latest):
                return False
        if found is not None:
            if found.end() - found.start() >= 1440:
                pass
            elif inside < 660 and not (split and inside >= 540):
                reduced += 1
                if inside < 540 or reduced > 3:
                    return False
        if "D" in day:
            driving = day.count("D")
            extended += driving > 540
            if driving > 600 or extended > 2:
                return False
        since = first = 0
        for part in re.findall(r"D+|[BR]+|[OA]+", day):
            if part[0] == "D":
                since += len(part)
                if since > 270:
                    return False
            elif part[0] in "BR":
                if len(part) >= 45 or (first and len(part) >= 30):
                    since = first = 0
                elif len(part) >= 15 and since:
                    first = 1
        for stretch in re.split(r"[BR]{15,}", day):
            if len(re.sub(r"[ABR]", "", stretch)) > 360:
                return False
        work = len(re.findall(r"[DO]", day))
        trimmed = re.sub(r"^[^DO]*|[^DO]*$", "", day)
        breaks = sum(len(part) for part in re.findall(r"[BR]{15,}", trimmed))
        if (work > 360 and breaks < 30) or (work > 540 and breaks < 45):
            return False
        driven_week, worked_week = driven_week + day.count("D"), worked_week + work
        if driven_week > 3360 or worked_week > 3600:
            return False
        last = len(day.rstrip("R"))
        if last and begin + last > weekly_end + 8640:
            return False
        if found is not None and found.end() - found.start() >= 1440:
            reduced, weekly_end = 0, found.end()
            if found.end() >= 7200:
                return True  # the second week is another record
    return True


@MANY
@given(RECORDS)
def test_the_clock_and_a_reading_minute_by_minute_agree(record):
    total = sum(minutes for _, minutes in record)
    if total >= 10080:
        return
    cut = list(record)
    assert judge(cut, book=book_named(OVER_3500)).is_legal == is_legal_by_minutes(cut) or has_second_week(cut)


def has_second_week(record) -> bool:
    now = 0
    for doing, minutes in record:
        now += minutes
        if doing is Doing.REST and minutes >= 1440:
            return True  # weekly rests: their pairs, debts and weeks are judged by worked cases
    return False


@MANY
@given(RECORDS, st.sampled_from(BOOK_NAMES))
def test_minutes_are_conserved_and_a_legal_beginning_stays_legal(record, book):
    """Derived: what is broken was broken when it happened, so each shorter record of a legal one passes every step."""
    clock = new_clock(book_named(book))
    total = 0
    for doing, minutes in record:
        after = step(clock, doing, minutes)
        if isinstance(after, Breach):
            assert total <= after.at_min + 1440 * 30
            return
        total += minutes
        assert after.now_min == total
        clock = after


@MANY
@given(RECORDS, st.sampled_from(BOOK_NAMES), st.integers(1, 120), st.integers(0, 30))
def test_cutting_an_activity_in_two_changes_nothing(record, book, cut, where):
    """Derived: the clock is exact to the minute."""
    number = where % len(record)
    doing, minutes = record[number]
    first = min(cut, minutes)
    parts = [*record[:number], (doing, first), (doing, minutes - first), *record[number + 1 :]]
    whole, halves = (judge(one, book=book_named(book)).first_breach for one in (record, parts))
    assert (whole is None) == (halves is None)
    if whole is not None:
        assert (whole.rule, whole.at_min) == (halves.rule, halves.at_min)


@MANY
@given(RECORDS, st.sampled_from(BOOK_NAMES), st.sampled_from([15, 30, 45, 60]), st.integers(0, 30))
def test_a_break_more_never_makes_what_follows_it_illegal_by_itself(record, book, minutes, where):
    """
    Derived: up to the next break or rest nothing is broken that was not, but for the time that rests need.

    Beyond it the law itself is not so kind: once 45 minutes are complete the count begins afresh (Case C-116/92, from
    memory), so that a break which was to be the second part is then a first one.
    """
    number = where % (len(record) + 1)
    until = next((n for n in range(number, len(record)) if record[n][0] in (Doing.BREAK, Doing.REST)), len(record))
    clock, longer = new_clock(book_named(book)), None
    for at, (doing, length) in enumerate(record[:until]):
        if at == number:
            longer = step(clock, Doing.BREAK, minutes)
        clock = step(clock, doing, length)
        if longer is not None and not isinstance(longer, Breach):
            longer = step(longer, doing, length)
        if isinstance(clock, Breach):
            return
    if isinstance(longer, Breach):
        assert longer.rule in ("daily rest", "reduced rests", "between weekly rests", "weekly rest")


WORD = {"drive": Doing.DRIVE, "other work": Doing.OTHER, "ride": Doing.RIDE, "available": Doing.AVAILABLE, "break": Doing.BREAK,
        "rest": Doing.REST}


@st.composite
def runs(draw):
    steps, now = [], 400
    for _ in range(draw(st.integers(1, 9))):
        duty = draw(st.sampled_from([Duty.DRIVE, Duty.DRIVE, Duty.OTHER, Duty.RIDE, Duty.AVAILABLE]))
        minutes = draw(st.integers(1, 150))
        opens = now + draw(st.integers(-60, 90)) if draw(st.integers(0, 2)) == 0 else None
        closes = (now if opens is None else opens) + draw(st.integers(30, 300)) if draw(st.booleans()) else None
        steps.append(Step(duty=duty, minutes=minutes, opens_min=opens, closes_min=closes, splittable=duty is Duty.DRIVE,
                          is_ferry=duty is Duty.AVAILABLE and draw(st.booleans())))
        now += minutes
    return tuple(steps)


@settings(parent=FEW, max_examples=120)
@given(
    runs(), st.sampled_from(BOOK_NAMES), st.integers(0, 3), st.integers(0, 2), st.sampled_from([None, -300, -200]),
    st.sampled_from(["end", "duty"]), st.integers(0, 1),
)  # fmt: skip
def test_every_timetable_passes_the_clock(steps, book, reduced, extended, last_end, objective, nights):
    week = WeekSoFar(
        reduced_rests=reduced, extended_days=extended, last_duty_end_min=last_end, duty_days=1, driven_week_min=1500,
        weekly_rest_ended_min=-2000, worked_week_min=1800,
    )  # fmt: skip
    answer = timetable(
        steps, book=book_named(book), week=week, earliest_min=300, latest_end_min=1300 + 1440 * nights, objective=objective,
        nights=nights,
    )  # fmt: skip
    if not isinstance(answer, Timetable):
        return
    # minutes are conserved, slices touch, windows hold
    assert all(one.end_min == two.start_min for one, two in zip(answer.slices, answer.slices[1:], strict=False))
    for number, task in enumerate(steps):
        own = [part for part in answer.slices if part.step == number]
        assert sum(part.minutes for part in own) == task.minutes
        assert task.opens_min is None or own[0].start_min >= task.opens_min
        assert task.closes_min is None or own[0].start_min < task.closes_min
    assert all(item.used <= item.limit for item in answer.counters), answer.counters
    if not answer.nights:
        assert earliest_end_bound(steps, book=book_named(book), week=week, earliest_min=300) <= answer.end_min
    assert (answer.start_min, answer.end_min) == (answer.slices[0].start_min, answer.slices[-1].end_min)
    from planner.rules.hours_calendar import Calendar
    from planner.rules.hours_clock import finish

    clock = new_clock(book_named(book), week=week, calendar=Calendar(day_minute=0), now_min=answer.start_min)
    for part in answer.slices:
        clock = step(clock, WORD[part.kind.value], part.minutes)
        assert not isinstance(clock, Breach), (clock, answer.slices)
    assert not isinstance(finish(clock), Breach), finish(clock)


def test_the_floor_is_the_end_where_nothing_else_binds():
    """Derived: 600 of driving needs two breaks of 45, Reg. (EC) 561/2006 art. 7."""
    steps = (Step(duty=Duty.DRIVE, minutes=600, splittable=True),)
    more = {"book": book_named(OVER_3500), "week": WeekSoFar(), "earliest_min": 360}
    assert earliest_end_bound(steps, **more) == 360 + 690 == timetable(steps, latest_end_min=1440, **more).end_min
