"""A planned day of the invented country, made once, and the sales desk that stands on it."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from planner.desk.quote import Booked, QuoteDesk
from planner.desk.quote_dates import Calendar
from planner.desk.tariff import Tariff
from tests.planner.desk.quoting_world import greedy_plan, world

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=ZoneInfo("Europe/London"))


def desk_of(day, plan, *, now=NOW, tariff=None) -> QuoteDesk:
    tariff = tariff or Tariff()
    calendar = Calendar(tariff=tariff, planned=day.clock.day, now=now, holiday=lambda _: "")
    return QuoteDesk(day=day, tariff=tariff, calendar=calendar, booked={day.clock.day: Booked(moves=day.moves, runs=plan.runs)})


@pytest.fixture(scope="session")
def planned():
    """Thirty moves and the crews for them."""
    day = world(moves=30, plate_drivers=9, transporters=5)
    return day, greedy_plan(day)


@pytest.fixture
def desk(planned):
    return desk_of(*planned)
