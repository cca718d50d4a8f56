"""
Shift: how many minutes of a run count as duty, and how many of them at night.

Duty runs from the start of the first activity to the end of the last, breaks and rests by day included; the rest of a night
out (9 h or more: Reg. (EC) 561/2006, article 4(g)) is none.
"""

from datetime import UTC, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from planner.clock import DayClock
from planner.model.rates import Wage
from planner.runs.run import ActivityKind, Run
from planner.units import MINUTES_A_DAY

LEAST_NIGHT_OUT_MIN = 540


def duty_min(run: Run) -> int:
    """Return the minutes of duty; 0 for a hired carrier."""
    return sum(end - start for start, end in duty_stretches(run))


def duty_stretches(run: Run) -> tuple[tuple[int, int], ...]:
    """Return (start, end) of each stretch of duty between nights out, minutes of the planning day."""
    stretches: list[tuple[int, int]] = []
    start: int | None = None
    end = 0
    for activity in run.activities:
        if activity.kind is ActivityKind.REST and activity.end_min - activity.start_min >= LEAST_NIGHT_OUT_MIN:
            if start is not None:
                stretches.append((start, activity.start_min))
            start, end = None, activity.end_min
            continue
        start, end = activity.start_min if start is None else start, activity.end_min
    if start is not None:
        stretches.append((start, end))
    return tuple(stretches)


def night_min(run: Run, clock: DayClock, wage: Wage) -> int:
    """Return the minutes of duty inside the role's night stretch."""
    total = 0
    for start, end in duty_stretches(run):
        for offset in range(start // MINUTES_A_DAY - 1, end // MINUTES_A_DAY + 2):
            opens, closes = _night(clock, offset, wage.night_from_min, wage.night_to_min)
            total += max(0, min(end, closes) - max(start, opens))
    return total


@lru_cache(maxsize=512)
def _night(clock: DayClock, offset: int, from_min: int, to_min: int) -> tuple[int, int]:
    """Return the night that begins ``offset`` days after the planning day, as minutes that truly pass."""
    over_midnight = 1 if to_min <= from_min else 0
    return _minute(clock, offset, from_min), _minute(clock, offset + over_midnight, to_min)


def _minute(clock: DayClock, offset: int, wall_min: int) -> int:
    """Return the real minute of a wall-clock minute; a time the clocks skip counts as the hour after."""
    day = clock.day + timedelta(days=offset + wall_min // MINUTES_A_DAY)
    wall = time(wall_min % MINUTES_A_DAY // 60, wall_min % 60)
    instant = datetime.combine(day, wall, ZoneInfo(clock.zone)).astimezone(UTC)
    return int((instant - clock.midnight).total_seconds()) // 60
