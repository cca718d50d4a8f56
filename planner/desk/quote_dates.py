"""
Dates of a quote: on which days a car may be delivered, and a later day as far as it is known today.

A day that is not planned yet is taken to have the crews, compounds and rates of the planned day; quotes that are open for
it and orders known to be promised for it count.  That is said in the reasons of the quote.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from planner.clock import DayClock
from planner.desk.tariff import Tariff
from planner.faults import PlannerError
from planner.model.crews import WeekSoFar
from planner.model.day import Day
from planner.model.moves import Move
from planner.model.travel import Charge

#: Says which bank holiday a date is, "" when none.
Holiday = Callable[[date], str]
#: Returns a toll, zone or ferry as it stands on another date.
ChargeOn = Callable[[Charge, date], Charge]


def as_they_stand(charge: Charge, _on: date) -> Charge:
    """Return a charge as it is, where nobody knows another date's."""
    return charge


class BadDate(PlannerError):
    """A date for which no quote can be given."""

    def __init__(self, day: date, says: str, remedy: str) -> None:
        self.day = day
        super().__init__(f"{day:%A %d %B %Y} {says}. {remedy}")


@dataclass(frozen=True, kw_only=True, slots=True)
class Calendar:
    """Which days can be promised, seen from now."""

    tariff: Tariff
    planned: date
    now: datetime  # local time of the planning day's zone
    holiday: Holiday
    charge_on: ChargeOn = as_they_stand

    def refuse(self, on: date) -> str:
        """Return why nothing is delivered on a date, "" when something is."""
        if on.weekday() not in self.tariff.weekdays:
            return f"no deliveries on {on:%A}s"
        if on != self.planned and not self.tariff.bank_holidays and (name := self.holiday(on)):
            return f"no deliveries on {name}"  # whoever planned a day means to deliver on it
        cut_off = datetime.combine(on - timedelta(days=1), datetime.min.time(), self.now.tzinfo)
        if self.now >= cut_off + timedelta(minutes=self.tariff.cut_off_min):
            wall = f"{self.tariff.cut_off_min // 60:02d}:{self.tariff.cut_off_min % 60:02d}"
            return f"orders closed at {wall} the day before"
        return ""

    @property
    def hold(self) -> timedelta:
        """How long a quote keeps its place."""
        return timedelta(minutes=self.tariff.hold_min)

    @property
    def last(self) -> date:
        """The last date for which a quote is given."""
        return self.now.date() + timedelta(days=self.tariff.horizon_days)

    def pays_weekend(self, on: date) -> bool:
        """Return whether the date pays weekend wages: Saturday, Sunday, bank holiday."""
        return on.weekday() >= 5 or bool(self.holiday(on))

    def check(self, on: date) -> None:
        """
        Refuse a date that has passed, or lies beyond the horizon.

        Raises
        ------
        BadDate
            With what to do.

        """
        if on < self.now.date():
            raise BadDate(on, "is in the past", "Give a date from tomorrow on.")
        if on < self.planned:
            raise BadDate(on, f"is before the planned day, {self.planned:%d %B %Y}", "Give that day or a later one.")
        if on > self.last:
            says = f"is beyond the {self.tariff.horizon_days} days for which we quote"
            raise BadDate(on, says, f"Give a date up to {self.last:%d %B %Y}, or change horizon_days in tariff.toml.")

    def dates(self, wished: date | None) -> Iterator[tuple[date, str]]:
        """Yield every date to look at with why it is out, from the first one wished on; only that one when wished."""
        if wished is not None:
            self.check(wished)
            yield wished, self.refuse(wished)
            return
        day = max(self.planned, self.now.date())
        while day <= self.last:
            yield day, self.refuse(day)
            day += timedelta(days=1)


def later_day(
    day: Day, on: date, moves: tuple[Move, ...], *, pays_weekend: Callable[[date], bool], charge_on: ChargeOn = as_they_stand
) -> Day:
    """Return the day ``on`` as far as it is known: its promised moves and charges, the crews and compounds of ``day``."""
    if on == day.clock.day:
        return replace(day, moves=moves)
    drivers = tuple(
        replace(driver, week=replace(WeekSoFar(), driven_week_min=driver.week.driven_week_min)) for driver in day.drivers
    )
    return replace(
        day,
        clock=DayClock(on, day.clock.zone),
        moves=moves,
        drivers=drivers,
        orders=(),
        held=(),
        charges=tuple(charge_on(charge, on) for charge in day.charges),
        rates=replace(day.rates, is_weekend=pays_weekend(on)),
    )
