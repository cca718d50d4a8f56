"""
Peak hours: how long a path takes when one leaves at a given time of day.

Factors by hour come from ``data/peaks.toml``; 1 is the working-day average of the travel tables.  The clock runs along
the path, each stretch at the pace of the hour in which it is driven, so that leaving later never means arriving earlier.
"""

from collections.abc import Iterable
from datetime import date, timedelta
from functools import lru_cache

from maps.crossings import is_workday as is_workday_on
from maps.packaged import packaged_toml
from maps.roads import RoadClass, Setting
from maps.travel_path import Piece

HOUR_MS = 3_600_000


def kind_of(road_class: RoadClass, setting: Setting) -> str:
    """Return the row of factors that holds for a stretch: ``fast``, ``open``, ``town`` or "" for a ferry."""
    if road_class is RoadClass.FERRY:
        return ""
    if setting in (Setting.TOWN, Setting.CITY, Setting.INNER):
        return "town"
    return "fast" if road_class in (RoadClass.MOTORWAY, RoadClass.DUAL) else "open"


@lru_cache(maxsize=1)
def _factors() -> dict[str, dict[str, tuple[float, ...]]]:
    told = packaged_toml("peaks.toml")
    return {day: {kind: tuple(row) for kind, row in rows.items()} for day, rows in told.items()}


def peak_factor(minute: int, road_class: RoadClass, setting: Setting, *, is_workday: bool = True) -> float:
    """Return how much longer than on average a stretch takes at a minute of the day."""
    kind = kind_of(road_class, setting)
    return _factors()["workdays" if is_workday else "other_days"][kind][minute // 60 % 24] if kind else 1.0


def seconds_leaving(pieces: Iterable[Piece], minute: int, *, day: date | None = None) -> int:
    """
    Return the seconds a path takes, whole and rounded up, leaving at a minute of a day.

    What is driven after midnight has the traffic of the next day; without ``day`` all are working days.
    """
    start = now = minute * 60_000.0
    for piece in pieces:
        left = float(piece.ms)
        while left > 1e-6:
            at = int(now // 60_000)
            is_workday = day is None or is_workday_on(day + timedelta(days=at // 1440))
            factor = peak_factor(at, piece.road_class, piece.setting, is_workday=is_workday)
            till_the_hour = HOUR_MS - now % HOUR_MS
            spent = min(left * factor, till_the_hour)
            left -= spent / factor
            now += spent
            if spent < 1e-6:
                now += 1e-3
    return -(-round(now - start) // 1000)
