"""
Local time of one planning day, as whole minutes that have truly passed since local midnight.

Inside the planner a point in time is ``..._min`` or ``..._at_min``: real minutes since the midnight that opens the
planning day, in the day's time zone.  Negative is the day before, 1440 and more the day after.  On the two clock-change
Sundays the day has 1380 or 1500 of them; only this module knows that.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from planner.faults import SkippedTime

#: Where the office's clocks hang.
ZONE = "Europe/London"


def office_time(at: datetime) -> datetime:
    """
    Return a moment as the office's clocks show it.

    >>> office_time(datetime(2026, 7, 1, 12, 0, tzinfo=UTC)).isoformat(timespec="minutes")
    '2026-07-01T13:00+01:00'
    """
    return at.astimezone(ZoneInfo(ZONE))


@dataclass(frozen=True, slots=True)
class DayClock:
    """
    Turns local wall times of one planning day into minutes since its midnight and back.

    >>> spring = DayClock(date(2026, 3, 29))
    >>> spring.minute(time(8, 0)), spring.wall(420)
    (420, '08:00')
    """

    day: date
    zone: str = ZONE

    @property
    def midnight(self) -> datetime:
        """The instant, in UTC, at which the planning day begins."""
        return datetime.combine(self.day, time(), ZoneInfo(self.zone)).astimezone(UTC)

    def minute(self, wall: time, *, day: date | None = None) -> int:
        """
        Return the minute at which local clocks show ``wall`` on ``day`` (the planning day if not given).

        The earlier of the two when the clocks go back.

        Raises
        ------
        SkippedTime
            If the clocks go forward over that time.

        """
        on = day or self.day
        local = datetime.combine(on, wall, ZoneInfo(self.zone))
        instant = local.astimezone(UTC)
        if instant.astimezone(ZoneInfo(self.zone)).time() != wall:
            raise SkippedTime(on, wall)
        return int((instant - self.midnight).total_seconds()) // 60

    def local(self, minute: int) -> datetime:
        """Return the local date and time, with its offset, ``minute`` minutes after midnight."""
        return (self.midnight + timedelta(minutes=minute)).astimezone(ZoneInfo(self.zone))

    def iso(self, minute: int) -> str:
        """Return the local time as ISO 8601 with offset, to the minute."""
        return self.local(minute).isoformat(timespec="minutes")

    def from_iso(self, text: str) -> int:
        """Return the minute that :meth:`iso` wrote as ``text``."""
        return int((datetime.fromisoformat(text).astimezone(UTC) - self.midnight).total_seconds()) // 60

    def wall(self, minute: int) -> str:
        """Return what a clock on the wall shows, with the weekday when it is another day."""
        local = self.local(minute)
        return f"{local:%H:%M}" if local.date() == self.day else f"{local:%a %H:%M}"
