"""
Told pairs: mileages and drive times that others tell between two towns, beside the network's own.

Mileages come from ``data/road_checks.csv`` (printed charts and local ones, from memory: a chart's road is not always today's
fastest), minutes by car between town centres from ``data/drive_times.csv`` (as route planners tell them off-peak, from
memory, so a tenth either way is no fault of anybody's; what they show is a lean, by distance or by region).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np

from maps.packaged import packaged_rows
from maps.travel import travel_tables
from planner.model.crews import VehicleClass
from planner.model.places import Place, PlaceId
from planner.model.travel import TravelTable
from planner.units import METRES_A_MILE

ANY_DAY = date(2026, 1, 5)
#: How many pairs are told of as the worst.
WORST = 20
#: Ends of the bands of miles in which spreads are told.
BANDS_OF_MILEAGES = (0, 50, 100, 200, 1000)
BANDS_OF_TIMES = (0, 40, 70, 110, 180, 1000)


@dataclass(frozen=True, kw_only=True, slots=True)
class Told:
    """What is told of a pair beside ours, both in miles or both in minutes; ``miles`` says how far the pair lies apart."""

    origin: str
    destination: str
    region: str
    told: float
    ours: float
    miles: float
    source: str

    @property
    def error(self) -> float:
        """Ours over what is told, less one."""
        return self.ours / self.told - 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Spread:
    """How errors lie: median and 90th percentile of their size, and their middle with its sign."""

    name: str
    count: int
    median: float
    p90: float
    bias: float

    @classmethod
    def of(cls, name: str, errors: Sequence[float]) -> "Spread":
        """Return the spread of some errors."""
        size = np.abs(errors)
        return cls(
            name=name,
            count=len(size),
            median=float(np.median(size)),
            p90=float(np.percentile(size, 90)),
            bias=float(np.median(errors)),
        )


def told_mileages() -> tuple[Told, ...]:
    """Return every published distance beside the network's, miles."""
    return tuple(
        _told(row, told=float(row["miles"]), ours=metres / METRES_A_MILE, miles=float(row["miles"]))
        for row, metres, _ in beside(packaged_rows("road_checks.csv"))
    )


def told_times() -> tuple[Told, ...]:
    """Return every remembered drive time beside the network's, minutes."""
    return tuple(
        _told(row, told=float(row["minutes"]), ours=seconds / 60, miles=metres / METRES_A_MILE)
        for row, metres, seconds in beside(packaged_rows("drive_times.csv"))
    )


def _told(row: dict[str, str], *, told: float, ours: float, miles: float) -> Told:
    return Told(
        origin=row["from"],
        destination=row["to"],
        region=row["region"],
        told=told,
        ours=ours,
        miles=miles,
        source=row["source"],
    )


def beside(rows: Sequence[dict[str, str]]) -> list[tuple[dict[str, str], int, int]]:
    """Return rows of pairs of towns, each with the network's metres and seconds for a car."""
    towns: dict[str, Place] = {}
    for row in rows:
        for end in ("from", "to"):
            name, lng, lat = row[end], float(row[f"{end}_lng"]), float(row[f"{end}_lat"])
            towns.setdefault(name, Place(place_id=PlaceId(name), name=name, lng=lng, lat=lat))
    index = {name: number for number, name in enumerate(towns)}
    table = by_car(list(towns.values()))
    cells = [(index[row["from"]], index[row["to"]]) for row in rows]
    return [(row, int(table.metres[cell]), int(table.seconds[cell])) for row, cell in zip(rows, cells, strict=True)]


def by_car(places: Sequence[Place]) -> TravelTable:
    """Return the network's table for a car between places."""
    return travel_tables(places, [VehicleClass.CAR], day=ANY_DAY)[0][VehicleClass.CAR]


def spreads(told: Sequence[Told], ends_miles: Sequence[int]) -> tuple[Spread, ...]:
    """Return the spread of all errors, then by band of miles between ``ends_miles``, then by region."""
    groups: list[tuple[str, list[Told]]] = [("all", list(told))]
    for low, high in pairwise(ends_miles):
        name = f"{low} to {high} miles" if high < ends_miles[-1] else f"over {low} miles"
        groups.append((name, [each for each in told if low <= each.miles < high]))
    groups += [(region, [each for each in told if each.region == region]) for region in sorted({each.region for each in told})]
    return tuple(Spread.of(name, [each.error for each in held]) for name, held in groups if held)


def worst(told: Sequence[Told]) -> list[Told]:
    """Return the pairs that differ most, the worst first."""
    return sorted(told, key=lambda each: -abs(each.error))[:WORST]
