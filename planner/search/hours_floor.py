"""
Hours floor: the least that the rules ask of a day, as tables by minutes of driving and of work.

A floor is never stricter than the law or the rule book: break time owed is counted in total, not where it falls.  It
serves the bound and the first sieve; :mod:`planner.runs.timing` decides.  Sources of the figures: assimilated Regulation
(EC) 561/2006, articles 6 to 8; Road Transport (Working Time) Regulations 2005, regulations 4 and 7; Transport Act 1968,
part VI; Working Time Regulations 1998, regulations 10 and 12.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from planner.model.crews import Driver, Transporter, WeekSoFar
from planner.model.policy import Policy
from planner.units import MINUTES_A_DAY

FULL_DAY_MIN = 3000
Ints = npt.NDArray[np.int32]


@dataclass(frozen=True, kw_only=True, slots=True)
class Limits:
    """What one driver may still do on the day, minutes; None when there is no day left in the week."""

    from_min: int
    home_min: int
    drive_min: int
    work_min: int
    span_min: int
    rest_min: int  # the least daily rest


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Owed:
    """
    Least minutes of breaks: ``minutes[step_of[driven], worked]`` in a whole day.

    ``tail`` is for the rest of a day whose earlier part may have held any breaks: one break of the day, or the first
    part of a split one, may then lie before.
    """

    step_of: Ints
    minutes: Ints
    tail: Ints


def transporter_limits(transporter: Transporter, driver: Driver, *, nights: int = 0) -> Limits | None:
    """Return the limits of each day of a driver with that transporter, None when the week is used up."""
    if transporter.gross_kg + transporter.trailer_kg <= 3500:
        return light_limits(driver, nights=nights)
    week = driver.week
    left = min(3360 - week.driven_week_min, 5400 - week.driven_last_week_min - week.driven_week_min)
    longest = 600 if week.extended_days < 2 else 540
    return _limits(
        driver, least_rest=540, drive_min=min(longest, left), work_min=3600 - week.worked_week_min, span_min=900, nights=nights
    )


def light_limits(driver: Driver, *, nights: int = 0) -> Limits | None:
    """Return the limits of a driver of goods vehicles up to 3.5 t, sold vans too, whatever the policy says of plates."""
    return _limits(driver, least_rest=660, drive_min=600, work_min=660, span_min=780, nights=nights)


def plate_limits(policy: Policy, driver: Driver, *, nights: int = 0) -> Limits | None:
    """Return the limits of a driver on plates who drives no van."""
    drive, duty = max(policy.plate_driving_max_min, 0), max(policy.plate_duty_max_min, 0)
    return _limits(driver, least_rest=660, drive_min=drive, work_min=duty, span_min=780, nights=nights)


def _limits(driver: Driver, *, least_rest: int, drive_min: int, work_min: int, span_min: int, nights: int) -> Limits | None:
    week: WeekSoFar = driver.week
    from_min, home_min = driver.starts_from_min, driver.home_by_min + nights * MINUTES_A_DAY
    if week.last_duty_end_min is not None:
        from_min = max(from_min, week.last_duty_end_min + least_rest)
    if week.weekly_rest_ended_min is not None:
        home_min = min(home_min, week.weekly_rest_ended_min + 6 * MINUTES_A_DAY)
    if week.duty_days >= 6 or drive_min <= 0 or work_min <= 0 or from_min >= home_min:
        return None
    return Limits(
        from_min=from_min, home_min=home_min, drive_min=drive_min, work_min=work_min, span_min=span_min, rest_min=least_rest
    )


def transporter_owed(transporter: Transporter) -> Owed:
    """Return the breaks owed with that transporter."""
    return light_owed() if transporter.gross_kg + transporter.trailer_kg <= 3500 else heavy_owed()


@cache
def heavy_owed() -> Owed:
    """Return the breaks owed with goods vehicles above 3.5 t."""
    worked = np.arange(FULL_DAY_MIN)
    by_work = np.where(worked > 540, 45, np.where(worked > 360, 30, 0))
    inside = np.where(worked > 360, 15, 0)
    steps = np.maximum(np.arange(700) - 1, 0) // 270
    counts = range(int(steps.max()) + 1)
    return _owed(
        steps, [np.maximum(45 * count, by_work) for count in counts],
        [np.maximum(45 * count - 15 * (count > 0), inside) for count in counts],
    )  # fmt: skip


@cache
def light_owed() -> Owed:
    """Return the breaks owed with goods vehicles up to 3.5 t: 20 minutes above 6 h of work."""
    worked = np.arange(FULL_DAY_MIN)
    return _owed(np.zeros(700, np.int64), [np.where(worked > 360, 20, 0)], [0 * worked])


def plate_owed(policy: Policy) -> Owed:
    """Return the breaks owed on plates without a van: one after each stretch of driving, 20 minutes above 6 h of work."""
    worked = np.arange(FULL_DAY_MIN)
    every, brk = policy.plate_break_every_min, policy.plate_break_min
    steps = np.maximum(np.arange(1000) - 1, 0) // every if every else np.zeros(1000, np.int64)
    counts = range(int(steps.max()) + 1)
    whole = [
        np.where(worked > 360, max(20, brk * count + max(0, 20 - brk) * (count > 0)), brk * count) for count in counts
    ]
    return _owed(steps, whole, [0 * worked + brk * count for count in counts])


def _owed(steps: npt.NDArray[np.int64], whole: list[npt.NDArray[np.int64]], tail: list[npt.NDArray[np.int64]]) -> Owed:
    return Owed(
        step_of=steps.astype(np.int32), minutes=np.array(whole).astype(np.int32), tail=np.array(tail).astype(np.int32)
    )
