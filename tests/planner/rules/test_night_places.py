"""Places for a night out against trying every one: none that is legal is passed over, and no floor is above the truth."""

import random

import pytest

from planner.model.crews import WeekSoFar
from planner.rules.books import BOOK_NAMES, book_named
from planner.rules.night_out import TwoDays, week_after, works_too_long_at_night
from planner.rules.night_places import places
from planner.rules.timetable import NIGHTS_AT, Duty, Step, best_choice, best_night_out
from planner.rules.timetable_plain import Choice, Pause
from planner.rules.timetable_slices import slices

LATEST_MIN = 2900


def random_steps(rng):
    """A short run of drives of some minutes or some hours, with work and windows."""
    steps = [Step(duty=Duty.OTHER, minutes=rng.choice([10, 40]))]
    for _ in range(rng.randint(1, 3)):
        steps.append(Step(duty=Duty.DRIVE, minutes=rng.choice([7, 160, 290, 420]), splittable=rng.random() < 0.6))
        if rng.random() < 0.2:
            steps.append(Step(duty=Duty.AVAILABLE, minutes=50))
        opens = rng.choice([None, None, 480, 700, 1000, 1700])
        steps.append(Step(duty=rng.choice([Duty.OTHER, Duty.RIDE]), minutes=rng.choice([20, 90, 200]), opens_min=opens,
                          closes_min=None if opens is None else opens + rng.choice([30, 400])))  # fmt: skip
    return tuple(steps)


def cut(steps, number, done):
    """The two days of a run with its rest there."""
    if not done:
        return steps[:number], steps[number:]
    step = steps[number]
    head, tail = (Step(duty=step.duty, minutes=minutes, splittable=True) for minutes in (done, step.minutes - done))
    return (*steps[:number], head), (tail, *steps[number + 1 :])


def legal_nights(steps, book):
    """Every legal night, at every thirteenth minute of a drive: where, and first and second day as the timetable has them."""
    week = WeekSoFar()
    for number, step in enumerate(steps):
        for done in range(0 if number else 13, step.minutes if step.splittable else 1, 13):
            before, after = cut(steps, number, done)
            for objective in ("end", "duty"):
                first = best_choice(before, book=book, week=week, earliest_min=360, latest_end_min=LATEST_MIN, objective=objective)
                if first is None:
                    break
                rested = first.end_min + book.get("reduced_daily_rest", book["daily_rest"])
                second = best_choice(after, book=book, week=week_after(before, first, book, week), earliest_min=rested, latest_end_min=LATEST_MIN, objective=objective)
                if second is not None:
                    yield number, done, first, second


@pytest.mark.parametrize("name", BOOK_NAMES)
def test_no_legal_night_is_passed_over_or_overpriced(name):
    rng, book, legal = random.Random(7), book_named(name), 0
    for _ in range(60):
        steps = random_steps(rng)
        known = {(place.step, place.done_min): place for place in places(steps, book, earliest_min=360)}
        for number, done, first, second in legal_nights(steps, book):
            place = known[number, done]
            assert place.first_min <= first.duty_min
            assert place.second_min <= second.duty_min
            assert place.end_min <= second.end_min
            legal += 1
    assert legal > 100


@pytest.mark.parametrize("at_base", [False, True])
def test_who_rests_at_base_has_gone_home_and_is_not_out(at_base):
    """6 h of work, then 4 h that must wait for the next day: the one place for the rest is before the last step."""
    book = book_named("over-3500")
    steps = (Step(duty=Duty.DRIVE, minutes=240), Step(duty=Duty.OTHER, minutes=120, opens_min=600, closes_min=601),
             Step(duty=Duty.OTHER, minutes=240, opens_min=1500, at_base=at_base))  # fmt: skip
    found = {place.step for place in places(steps, book, earliest_min=360)}
    assert found == (set() if at_base else {2})
    night = best_night_out(steps, book=book, week=WeekSoFar(), earliest_min=360, latest_end_min=LATEST_MIN)
    assert (night is None) == at_base


def least_night(steps, book, earliest, aim):
    """The least duty and end of any place, day by day, and after the night where resting no longer works too long in it."""
    week, found = WeekSoFar(), []
    for number, step in enumerate(steps):
        for done in range(0 if number else 1, step.minutes if step.splittable else 1):
            before, after = cut(steps, number, done)
            for objective in ("end", "duty"):
                first = best_choice(before, book=book, week=week, earliest_min=earliest, latest_end_min=LATEST_MIN, objective=objective)
                if first is None:
                    break
                rested = first.end_min + book.get("reduced_daily_rest", book["daily_rest"])
                for start in (rested, *[closes for _, closes in NIGHTS_AT if closes > rested][:1]):
                    second = best_choice(after, book=book, week=week_after(before, first, book, week), earliest_min=start, latest_end_min=LATEST_MIN, objective=aim)
                    if second is None:
                        break
                    later = [Pause(pause.step + number, pause.done_min + (done if pause.step == 0 else 0), pause.minutes) for pause in second.pauses]
                    night = Pause(number, done, second.start_min - first.end_min)
                    both = Choice(first.start_min, second.end_min, (*first.pauses, night, *later))
                    if not works_too_long_at_night(slices(steps, both), book, NIGHTS_AT):
                        found.append((first.duty_min + second.duty_min, both.end_min))
                        break
    return min(found, key=lambda night: night if aim == "duty" else night[::-1], default=None)


@pytest.mark.parametrize("aim", ["duty", "end"])
def test_floors_by_the_night_rule_pass_over_no_better_night(aim):
    """Days of more than ten hours of work, which no 24 hours that reach into a night may hold (2005, reg. 9)."""
    rng, book, after_the_night = random.Random(3), book_named(BOOK_NAMES[0]), 0
    for _ in range(12):
        drives = [Step(duty=Duty.DRIVE, minutes=rng.choice([200, 290, 330]), splittable=rng.random() < 0.8) for _ in range(rng.choice([2, 3]))]
        opens = rng.choice([None, None, 480, 1700])
        door = Step(duty=Duty.OTHER, minutes=40, opens_min=opens, closes_min=None if opens is None else opens + 400)
        steps = (Step(duty=Duty.OTHER, minutes=rng.choice([40, 90])), *drives[:1], door, *drives[1:], Step(duty=Duty.OTHER, minutes=10))
        earliest = rng.choice([300, 600, 840])
        night = best_night_out(steps, book=book, week=WeekSoFar(), earliest_min=earliest, latest_end_min=LATEST_MIN, objective=aim)
        least = least_night(steps, book, earliest, aim)
        assert (None if night is None else (night.duty_min, night.end_min)) == least
        after_the_night += isinstance(night, TwoDays) and any(pause.minutes > 540 for pause in night.whole.pauses)
    assert after_the_night > 1
