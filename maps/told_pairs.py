"""
Told pairs: mileages and drive times that others tell between two towns, beside the network's own.

Mileages come from ``data/road_checks.csv`` (printed charts and local ones, from memory: a chart's road is not always today's
fastest), minutes by car between town centres from ``data/drive_times.csv`` (as route planners tell them off-peak, from
memory, so a tenth either way is no fault of anybody's; what they show is a lean, by distance or by region).
"""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from importlib.resources import files
from itertools import pairwise

import numpy as np

from maps.roads import RoadNetwork, in_use
from maps.travel import travel_tables
from planner.model.crews import VehicleClass
from planner.model.places import Place, PlaceId
from planner.units import METRES_A_MILE

ANY_DAY = date(2026, 1, 5)
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


def told_mileages(network: RoadNetwork | None = None) -> tuple[Told, ...]:
    """Return every published distance beside the network's, miles."""
    return tuple(
        _told(row, told=float(row["miles"]), ours=metres / METRES_A_MILE, miles=float(row["miles"]))
        for row, metres, _ in _beside("road_checks.csv", network)
    )


def told_times(network: RoadNetwork | None = None) -> tuple[Told, ...]:
    """Return every remembered drive time beside the network's, minutes."""
    return tuple(
        _told(row, told=float(row["minutes"]), ours=seconds / 60, miles=metres / METRES_A_MILE)
        for row, metres, seconds in _beside("drive_times.csv", network)
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


def _beside(named: str, network: RoadNetwork | None) -> list[tuple[dict[str, str], int, int]]:
    """Return the rows of a table of pairs, each with the network's metres and seconds for a car."""
    rows = list(csv.DictReader((files(__package__) / "data" / named).read_text(encoding="utf-8").splitlines()))
    towns: dict[str, Place] = {}
    for row in rows:
        for end in ("from", "to"):
            name, lng, lat = row[end], float(row[f"{end}_lng"]), float(row[f"{end}_lat"])
            towns.setdefault(name, Place(place_id=PlaceId(name), name=name, lng=lng, lat=lat))
    index = {name: number for number, name in enumerate(towns)}
    tables, _ = travel_tables(list(towns.values()), [VehicleClass.CAR], day=ANY_DAY, network=network or in_use())
    table = tables[VehicleClass.CAR]
    cells = [(index[row["from"]], index[row["to"]]) for row in rows]
    return [(row, int(table.metres[cell]), int(table.seconds[cell])) for row, cell in zip(rows, cells, strict=True)]


def spreads(told: Sequence[Told], ends_miles: Sequence[int]) -> tuple[Spread, ...]:
    """Return the spread of all errors, then by band of miles between ``ends_miles``, then by region."""
    groups: list[tuple[str, list[Told]]] = [("all", list(told))]
    for low, high in pairwise(ends_miles):
        name = f"{low} to {high} miles" if high < ends_miles[-1] else f"over {low} miles"
        groups.append((name, [each for each in told if low <= each.miles < high]))
    groups += [(region, [each for each in told if each.region == region]) for region in sorted({each.region for each in told})]
    return tuple(Spread.of(name, [each.error for each in held]) for name, held in groups if held)


def worst(told: Sequence[Told], count: int = 20) -> list[Told]:
    """Return the pairs that differ most, the worst first."""
    return sorted(told, key=lambda each: -abs(each.error))[:count]
