"""
The compiled search, the plain one and a search minute by minute agree.

The oracle below is derived from the wording of the rules alone: it walks every minute of every start, at each of which a
step goes on, a break goes on, or (between steps, or inside one that may be split) a break begins.
"""

# ruff: noqa: C901, PLR0917, FBT003 - the oracle is one walk over minutes, as near to the wording of the rules as can be

from functools import cache

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.rules import timetable_law as row
from planner.rules.books import BOOK_NAMES, book_named
from planner.rules.timetable_kernel import search as compiled
from planner.rules.timetable_law import break_lengths, day_law
from planner.rules.timetable_plain import search as plain
from planner.rules.timetable_shapes import Duty, Step

QUICK = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)


@st.composite
def steps_of_a_day(draw, longest: int = 200, most: int = 7, spacing: int = 150):
    made, now = [], 360
    for _ in range(draw(st.integers(1, most))):
        duty = draw(st.sampled_from([Duty.DRIVE, Duty.DRIVE, Duty.OTHER, Duty.OTHER, Duty.RIDE, Duty.AVAILABLE]))
        minutes = draw(st.integers(0, longest))
        opens = now + draw(st.integers(-spacing // 2, spacing)) if draw(st.integers(0, 2)) == 0 else None
        closes = (now if opens is None else opens) + draw(st.integers(1, spacing)) if draw(st.integers(0, 2)) == 0 else None
        made.append(Step(
            duty=duty, minutes=minutes, opens_min=opens, closes_min=closes,
            splittable=duty is Duty.DRIVE and draw(st.integers(0, 4)) > 0,
            is_ferry=duty is Duty.AVAILABLE and draw(st.booleans()),
        ))  # fmt: skip
        now += minutes
    return tuple(made)


def lawful(book: str, steps, left: int):
    driving = sum(step.minutes for step in steps if step.duty is Duty.DRIVE)
    work = sum(step.minutes for step in steps if step.duty.is_work)
    law = day_law(book_named(book), driving=driving, work=work, reduced_rests_left=left)
    return law, break_lengths(law, driving=driving, work=work)


@QUICK
@given(steps_of_a_day(most=5), st.sampled_from(BOOK_NAMES), st.integers(0, 1), st.sampled_from(["end", "duty"]), st.integers(900, 1500))
def test_the_compiled_search_answers_as_the_plain_one(steps, book, left, objective, latest):
    law, lengths = lawful(book, steps, left)
    one, other = (how(steps, law, lengths, earliest_min=300, latest_end_min=latest, objective=objective) for how in (plain, compiled))
    assert (one is None) == (other is None)
    if one is not None:
        assert (one.start_min, one.end_min) == (other.start_min, other.end_min)


def small_law(every_drive: int, every_work: int, need_total: int, need_single: int, *, split: bool):
    """Return a law with the shape of the real one and small figures, so that every minute can be tried."""
    law = np.zeros(row.SIZE, np.int64)
    law[row.EVERY_DRIVE], law[row.FULL], law[row.PART1], law[row.PART2] = every_drive, 4, 2, 3
    law[row.EVERY_WORK], law[row.WORK_PART], law[row.NEED_TOTAL] = every_work, 2, need_total
    law[row.NEED_SINGLE], law[row.SPREAD] = need_single, 30
    if need_single:  # the books with such a break have no split ones, and no breaks from work
        law[row.FULL], law[row.PART1], law[row.PART2], law[row.WORK_PART] = 2, 0, 0, 0
    if split:
        law[row.SPREAD_SPLIT], law[row.SPLIT_REST] = 36, 7
    return law


def by_the_minute(steps, law, earliest: int, latest_end: int):
    """Return the set of (end, duty) that some legal schedule reaches, by trying every minute."""
    steps = tuple(step for step in steps if step.minutes)
    busy = [number for number, step in enumerate(steps) if step.duty.is_work]
    inner = (busy[0], busy[-1]) if busy else (0, -1)
    found = set()
    for start in range(earliest, latest_end + 1):

        @cache
        def ends(now, step, done, idle, driven, first, worked, rested, single, split, _start=start):
            if step == len(steps):
                spread = law[row.SPREAD_SPLIT] if split and law[row.SPREAD_SPLIT] else law[row.SPREAD]
                legal = rested >= law[row.NEED_TOTAL] and (single or not law[row.NEED_SINGLE]) and now - _start <= spread
                return frozenset([now] if legal else [])
            if now >= latest_end or now - _start > 40:
                return frozenset()
            task = steps[step]
            total = frozenset()
            opens = now if task.opens_min is None else task.opens_min
            closes = now + 1 if task.closes_min is None else task.closes_min
            # go on with the step (a break that was under way ends here and counts)
            if done or opens <= now < closes:
                d, f, w, r, s, p = driven, first, worked, rested, single, split
                if idle and not task.is_ferry:
                    d, f, w, r, s, p = counted(idle, d, f, w, r, s, p)
                work, drives = task.duty.is_work, task.duty is Duty.DRIVE
                d2, w2 = d + drives, w + work
                if not (drives and d2 > law[row.EVERY_DRIVE]) and w2 <= law[row.EVERY_WORK]:
                    last = done + 1 == task.minutes
                    rest = idle + 1 if task.is_ferry else 0
                    total |= ends(now + 1, step + last, 0 if last else done + 1, rest, d2, f, w2, r, s, p)
            # idle for a minute: only after the first work and not after the last, elsewhere it is a plain wait
            may_split = done and task.splittable and task.duty.is_work
            if (not done and now > _start) or may_split:
                is_inner = inner[0] < step <= inner[1] or (done and inner[0] <= step <= inner[1])
                if is_inner:
                    total |= ends(now + 1, step, done, idle + 1, driven, first, worked, rested, single, split)
                else:
                    total |= ends(now + 1, step, done, 0, driven, first, worked, rested, single, split)
            return total

        def counted(idle, driven, first, worked, rested, single, split):
            if idle >= law[row.FULL] or (first and idle >= law[row.PART2]):
                driven, first = 0, False
            elif idle >= law[row.PART1] and driven:
                first = True
            if idle >= law[row.WORK_PART]:
                worked, rested = 0, min(int(law[row.NEED_TOTAL]), rested + idle)
            return (driven, first, worked, rested, single or bool(law[row.NEED_SINGLE] and idle >= law[row.NEED_SINGLE]),
                    split or bool(law[row.SPLIT_REST] and idle >= law[row.SPLIT_REST]))  # fmt: skip

        found |= {(end, end - start) for end in ends(start, 0, 0, 0, 0, False, 0, 0, False, False)}
    return found


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(
    steps_of_a_day(longest=9, most=5, spacing=12).filter(lambda steps: not any(step.is_ferry or not step.minutes for step in steps)),
    # art. 7, art. 7 with the 6 hours of work, the work's total alone, plates, a single break: as the books combine them
    st.sampled_from([(6, 40, 0, 0), (7, 9, 0, 0), (40, 8, 5, 0), (40, 40, 4, 0), (5, 40, 0, 3), (40, 40, 0, 3)]), st.booleans(),
)  # fmt: skip
def test_the_search_finds_what_trying_every_minute_finds(steps, limits, split):
    """Derived: with the limits scaled down every schedule can be tried."""
    law = small_law(*limits, split=split)
    lengths = tuple(range(2, 6)) + ((7,) if split else ())
    every = by_the_minute(steps, law, 357, 395)
    for objective, best in (("end", lambda pair: pair), ("duty", lambda pair: (pair[1], pair[0]))):
        answer = compiled(steps, law, lengths, earliest_min=357, latest_end_min=395, objective=objective)
        expected = min(every, key=best, default=None)
        assert (None if answer is None else (answer.end_min, answer.duty_min)) == expected
