"""Calendars: bank holidays by nation, the weekend, and which compound, driver or transporter is to be had on a day."""

from collections.abc import Iterable
from datetime import date
from functools import cache

from planner.desk.intake_cells import WEEKDAYS
from planner.desk.intake_policy import HouseRules
from planner.model.places import Nation

_SUBDIVISION = {Nation.ENGLAND: "ENG", Nation.WALES: "WLS", Nation.SCOTLAND: "SCT"}


@cache
def bank_holidays(nation: Nation, year: int) -> dict[date, str]:
    """
    Return the bank holidays of a nation in a year, with their names.

    Source: the ``holidays`` package (MIT), after the Banking and Financial Dealings Act 1971 and proclamations.
    """
    import holidays

    return dict(holidays.country_holidays("GB", subdiv=_SUBDIVISION[nation], years=year))


def bank_holiday(nation: Nation, on: date, rules: HouseRules) -> str:
    """Return the name of the bank holiday, "" when it is none; ``policy.toml`` may add and take away days."""
    if on in rules.no_bank_holidays:
        return ""
    usual = bank_holidays(nation, on.year).get(on, "")
    return usual or ("Bank holiday" if on in rules.more_bank_holidays else "")


def is_off(on: date, days_off: Iterable[date | str]) -> bool:
    """Return whether ``on`` is one of the dates, or falls on one of the weekdays named."""
    return any(on == off or WEEKDAYS[on.weekday()] == off for off in days_off)


def pays_weekend(on: date, nations: Iterable[Nation], rules: HouseRules) -> bool:
    """Return whether the day pays weekend wages: Saturday, Sunday, or a bank holiday in a nation where crews belong."""
    return on.weekday() >= 5 or any(bank_holiday(nation, on, rules) for nation in set(nations))
