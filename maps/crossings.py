"""
Crossings: ferries, tolls and charging zones as dated data.

A price is what its source said on the day it was read; past its review date the :class:`Charge` says so by
``review_after``, and nothing is guessed: where no price is known, it has no band and ``review_after`` is long gone.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time
from functools import lru_cache
from typing import Any

from maps.packaged import packaged_rows, packaged_toml
from planner.model.crews import VehicleClass
from planner.model.travel import Charge, ChargeBand, ChargeKind

NEVER_READ = date(2000, 1, 1)


@dataclass(frozen=True, kw_only=True, slots=True)
class Crossing:
    """
    What is paid for, without its price on a day; ``row`` holds the dated prices as they stand in the file.

    ``gate`` is a line across roads, ``area`` a zone's outline; both lng and lat, empty where they do not apply.
    ``road`` names the only road that the gate stands on, "" for whichever it crosses; roads in ``not_on`` run through the
    area without belonging to it.  ``one_way`` is "east", "north" or "south" where only travel that way pays.
    """

    key: str
    name: str
    kind: ChargeKind
    gate: tuple[tuple[float, float], ...] = ()
    area: tuple[tuple[float, float], ...] = ()
    road: str = ""
    not_on: tuple[str, ...] = ()
    one_way: str = ""
    must_book: bool = False
    row: dict[str, Any]


def _points(given: Iterable[Iterable[float]]) -> tuple[tuple[float, float], ...]:
    return tuple((float(lng), float(lat)) for lng, lat in given)


@lru_cache(maxsize=1)
def crossings() -> tuple[Crossing, ...]:
    """Return every toll, zone and ferry of the package; the place in this tuple is its bit in a path's mask."""
    told = packaged_toml("crossings.toml")
    found = [
        Crossing(
            key=row["key"],
            name=row["name"],
            kind=ChargeKind.TOLL,
            gate=_points(row["gate"]),
            road=row.get("road", ""),
            one_way=row.get("one_way", ""),
            row=row,
        )
        for row in told["toll"]
    ]
    found += [
        Crossing(
            key=row["key"],
            name=row["name"],
            kind=ChargeKind.ZONE,
            area=_points(row["area"]),
            not_on=tuple(row.get("not_on", ())),
            row=row,
        )
        for row in told["zone"]
    ]
    found += [
        Crossing(key=row["key"], name=row["name"], kind=ChargeKind.FERRY, must_book=row["must_book"] == "yes", row={})
        for row in packaged_rows("ferries.csv")
    ]
    return tuple(found)


@lru_cache(maxsize=1)
def bit_of() -> dict[str, int]:
    """Return the bit of each key."""
    return {crossing.key: bit for bit, crossing in enumerate(crossings())}


def charge_on(crossing: Crossing, day: date, *, older: frozenset[VehicleClass] = frozenset()) -> Charge:
    """
    Return what a crossing costs on a day.

    ``older`` names the classes of vehicle of ours that miss petrol Euro 4 or diesel Euro 6: only they pay in the zones
    that are for such vehicles.  A ferry's fare is not known here: it has no band, and has to be asked for.
    """
    row = crossing.row
    review = row.get("review", NEVER_READ)
    return Charge(
        key=crossing.key,
        name=crossing.name,
        kind=crossing.kind,
        bands=tuple(_bands(row, day, older)),
        pay_by=row.get("pay_by", "ask the ferry company for the fare" if crossing.kind is ChargeKind.FERRY else ""),
        must_book=crossing.must_book,
        review_after=review if review < day else None,
        source=row.get("source", ""),
    )


def for_older_only(key: str) -> bool:
    """Return whether only vehicles that miss petrol Euro 4 or diesel Euro 6 pay, or are kept out, there."""
    return bool(crossings()[bit_of()[key]].row.get("older_only"))


def _bands(row: dict[str, Any], day: date, older: frozenset[VehicleClass]) -> list[ChargeBand]:
    if _is_free(row, day):
        return []
    wanted = "workdays" if is_workday(day) else "other days"
    prices = [price for price in row.get("prices", ()) if price["since"] <= day and price.get("on", wanted) == wanted]
    if not prices:
        return []
    newest = max(price["since"] for price in prices)
    return [
        ChargeBand(vehicle_class=each, from_min=_minute(price["from"]), to_min=_minute(price["to"]), pence=price[each.value])
        for price in prices
        if price["since"] == newest
        for each in VehicleClass
        if each.value in price and (not row.get("older_only") or each in older)
    ]


def _minute(text: str) -> int:
    at = time.fromisoformat(text)
    return at.hour * 60 + at.minute


def _is_free(row: dict[str, Any], day: date) -> bool:
    start, stop, now = row.get("free_from", ""), row.get("free_to", ""), f"{day:%m-%d}"
    return bool(start) and (start <= now or now <= stop)  # the stretch runs over the new year


@lru_cache(maxsize=64)
def is_workday(day: date) -> bool:
    """Return whether a day is neither of a weekend nor a bank holiday of England."""
    import holidays

    return day.weekday() < 5 and day not in holidays.country_holidays("GB", subdiv="ENG", years=day.year)
