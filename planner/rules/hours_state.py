"""The clock's state: everything that the rules of a book ask about what a driver has done so far, in minutes."""

from dataclasses import dataclass, replace
from functools import cached_property

from planner.rules.books import Book
from planner.rules.hours_calendar import WEEK, Calendar
from planner.units import MINUTES_A_DAY


@dataclass(frozen=True, slots=True)
class Debt:
    """Minutes cut from a weekly rest, due in one block by a minute of the clock (None: nobody said when)."""

    minutes: int
    due_min: int | None


@dataclass(frozen=True, kw_only=True)
class Clock:
    """
    A driver's hours at one minute.

    A *pause* is time with neither work nor availability that is still going on; a *rest* is the part of it called rest,
    which a ferry may interrupt.  ``inner_breaks`` have work on both sides, ``open_breaks`` so far only before them.
    """

    book: Book
    drivers: int
    calendar: Calendar
    now_min: int
    # since breaks
    driven: int = 0
    has_first: bool = False
    worked: int = 0
    pause_min: int = 0
    # the rest that is going on
    rest_from_min: int | None = None
    rest_week_end_min: int = 0
    rest_min: int = 0
    rest_stops: int = 0
    rest_stop_min: int = 0
    cabin_min: int = 0
    is_stopped: bool = False
    # the day
    day_from_min: int = 0
    day_driven: int = 0
    day_light: int = 0
    day_worked: int = 0
    day_duty: int = 0
    day_work_end_min: int = 0
    inner_breaks: int = 0
    inner_longest: int = 0
    open_breaks: int = 0
    open_longest: int = 0
    has_split: bool = False
    stretches: tuple[tuple[int, int], ...] = ()  # of work, of the last 24 hours
    # the week
    week_from_min: int = 0
    week_driven: int = 0
    last_week_driven: int = 0
    week_worked: int = 0
    week_extended: int = 0
    last_week_extended: int = 0
    has_long_drive: bool = False
    long_duty: int = 0
    # between weekly rests
    reduced_rests: int = 0
    weekly_rest_end_min: int = 0
    reduced_weekly_week_end: int | None = None  # end of the last week that the last weekly rest touched, if that was reduced
    debts: tuple[Debt, ...] = ()

    @cached_property
    def week_end_min(self) -> int:
        """When the fixed week ends."""
        return self.week_from_min + WEEK

    @property
    def recent_stretches(self) -> tuple[tuple[int, int], ...]:
        """The stretches of work that the last 24 hours touch."""
        return tuple(part for part in self.stretches if part[1] > self.now_min - MINUTES_A_DAY)

    @property
    def extended_used(self) -> int:
        """Days over the regular driving limit in the week in which this day began, this day included once it is one."""
        return self.last_week_extended if self.day_from_min < self.week_from_min else self.week_extended

    @property
    def reduced_left(self) -> int:
        """Reduced daily rests still allowed before the next weekly rest."""
        return max(0, self.book.get("reduced_rests_count", 0) - self.reduced_rests)

    @property
    def rest_period_min(self) -> int:
        """The period within which a daily rest must be complete."""
        return self.book.get("crew_rest_period", self.book["rest_period"]) if self.drivers > 1 else self.book["rest_period"]

    @property
    def spread_limit(self) -> int:
        """From the start of the day, the latest at which its daily rest must begin."""
        period, book = self.rest_period_min, self.book
        if self.has_split and "split_rest_second" in book:
            return period - book["split_rest_second"]
        if self.reduced_left and "reduced_daily_rest" in book:
            return period - book["reduced_daily_rest"]
        return period - book["daily_rest"]

    def new_week(self, start_min: int) -> "Clock":
        """Return the clock with a new fixed week begun."""
        return replace(
            self, week_from_min=start_min, last_week_driven=self.week_driven, week_driven=0, week_worked=0,
            last_week_extended=self.week_extended, week_extended=0, has_long_drive=False, long_duty=0,
        )  # fmt: skip

    def new_day(self) -> "Clock":
        """Return the clock with a new day begun after a daily or weekly rest."""
        return replace(
            self, day_from_min=self.now_min, day_driven=0, day_light=0, day_worked=0, day_duty=0, inner_breaks=0, inner_longest=0,
            open_breaks=0, open_longest=0, has_split=False, driven=0, has_first=False, worked=0,
        )  # fmt: skip

    def rest_over(self) -> "Clock":
        """Return the clock with no rest going on."""
        return replace(
            self, rest_from_min=None, rest_min=0, rest_stops=0, rest_stop_min=0, cabin_min=0, is_stopped=False,
        )  # fmt: skip
