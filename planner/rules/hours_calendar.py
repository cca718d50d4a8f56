"""
The clock's calendar: which minutes begin a fixed week, and which are night.

A week begins on Monday at 00:00.  Where the day is not known, the week is taken to begin where the record does, and anew
where a weekly rest ends that is five days or more from there (at the latest after seven): the reading under which the
record can be legal.  Where the time of day is not known, nothing is night.
"""

from dataclasses import dataclass

from planner.units import MINUTES_A_DAY, hours_text

WEEK = 7 * MINUTES_A_DAY
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
NIGHT_END = 240  # goods vehicles: 00:00 to 04:00 (Working Time Regs 2005 reg. 2)


@dataclass(frozen=True, kw_only=True, slots=True)
class Calendar:
    """What the time is at minute 0 of the clock: minutes since Monday 00:00, or since midnight, or unknown."""

    week_minute: int | None = None
    day_minute: int | None = None

    def week_start(self, minute: int) -> int:
        """Return the minute at which the week of ``minute`` began."""
        if self.week_minute is None:
            return minute
        return minute - (minute + self.week_minute) % WEEK

    @property
    def is_fixed(self) -> bool:
        """Whether it is known when weeks begin."""
        return self.week_minute is not None

    @property
    def midnight(self) -> int | None:
        """A minute of the clock at which it is midnight, None where the time is unknown."""
        known = self.week_minute if self.week_minute is not None else self.day_minute
        return None if known is None else -(known % MINUTES_A_DAY)

    def shown(self, minute: int) -> str:
        """Return the day, where known, and the time of a minute; as far as nothing is known, how long after the first line."""
        if self.midnight is None:
            return f"{hours_text(minute)} after the first line"
        day, since = divmod(minute - self.midnight, MINUTES_A_DAY)
        first = self.week_minute
        name = f"day {day + 1}" if first is None else DAYS[(first // MINUTES_A_DAY + day) % 7]
        return f"{name} {since // 60:02d}:{since % 60:02d}"

    def night_minutes(self, start_min: int, end_min: int) -> int:
        """Return how many minutes of a stretch are night."""
        if self.midnight is None:
            return 0
        total = 0
        day = (start_min - self.midnight) // MINUTES_A_DAY
        while (opens := self.midnight + day * MINUTES_A_DAY) < end_min:
            total += max(0, min(end_min, opens + NIGHT_END) - max(start_min, opens))
            day += 1
        return total
