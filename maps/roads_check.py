"""
How far to trust the roads: the network's own distances and speeds against published ones.

Pairs come from ``data/road_checks.csv`` (most from printed charts, from memory: a chart's road is not always today's
fastest); bands from ``data/road_bands.toml``, held against random points all over the country.
"""

import csv
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from maps.roads import RoadNetwork, in_use
from maps.roads_settings import surroundings
from maps.straight_line import great_circle_m
from maps.travel import travel_tables
from planner.model.crews import VehicleClass
from planner.model.places import Place, PlaceId
from planner.units import METRES_A_MILE

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
ANY_DAY = date(2026, 1, 5)


@dataclass(frozen=True, kw_only=True, slots=True)
class Checked:
    """One published distance beside ours, miles; ``seconds`` are ours."""

    origin: str
    destination: str
    region: str
    published_miles: float
    miles: float
    seconds: int
    source: str

    @property
    def error(self) -> float:
        """Ours over the published, less one."""
        return self.miles / self.published_miles - 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Band:
    """One band of distances: what is published and what ours is, for all of Great Britain or its south."""

    what: str
    where: str
    low: int
    high: int
    pairs: int
    published: float
    ours: float

    @property
    def error(self) -> float:
        """Ours over the published, less one; 0 where no pair fell into the band."""
        return self.ours / self.published - 1 if self.pairs else 0.0


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


def _place(name: str, lng: float, lat: float) -> Place:
    return Place(place_id=PlaceId(name), name=name, lng=lng, lat=lat)


def check_pairs(network: RoadNetwork | None = None) -> tuple[Checked, ...]:
    """Return every published distance beside the network's."""
    text = (files(__package__) / "data" / "road_checks.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    towns: dict[str, Place] = {}
    for row in rows:
        for end in ("from", "to"):
            towns.setdefault(row[end], _place(row[end], float(row[f"{end}_lng"]), float(row[f"{end}_lat"])))
    index = {name: number for number, name in enumerate(towns)}
    tables, _ = travel_tables(list(towns.values()), [VehicleClass.CAR], day=ANY_DAY, network=network or in_use())
    table = tables[VehicleClass.CAR]
    found = []
    for row in rows:
        cell = index[row["from"]], index[row["to"]]
        found.append(
            Checked(
                origin=row["from"],
                destination=row["to"],
                region=row["region"],
                published_miles=float(row["miles"]),
                miles=int(table.metres[cell]) / METRES_A_MILE,
                seconds=int(table.seconds[cell]),
                source=row["source"],
            )
        )
    return tuple(found)


def spreads(checked: Sequence[Checked]) -> tuple[Spread, ...]:
    """Return the spread of all errors, then by band of miles, then by region."""
    groups: list[tuple[str, list[Checked]]] = [("all", list(checked))]
    for low, high in ((0, 50), (50, 100), (100, 200), (200, 1000)):
        name = f"{low} to {high} miles" if high < 1000 else f"over {low} miles"
        groups.append((name, [each for each in checked if low <= each.published_miles < high]))
    groups += [
        (region, [each for each in checked if each.region == region]) for region in sorted({each.region for each in checked})
    ]
    return tuple(Spread.of(name, [each.error for each in held]) for name, held in groups if held)


def random_points(count: int, seed: int) -> tuple[Floats, Floats]:
    """Return lng and lat of points spread evenly over the lived-in country."""
    rng = np.random.default_rng(seed)
    lng, lat = rng.uniform(-7.5, 1.8, 60 * count), rng.uniform(49.95, 58.7, 60 * count)
    even = rng.random(60 * count) < np.cos(np.radians(lat))
    lng, lat = lng[even], lat[even]
    _, _, away = surroundings().at(lng, lat)
    chosen = np.flatnonzero(away <= 0)[:count]
    return lng[chosen], lat[chosen]


def check_bands(count: int = 400, seed: int = 5, network: RoadNetwork | None = None) -> tuple[Band, ...]:
    """Return the published bands of circuity and speed beside the network's, for random points."""
    lng, lat = random_points(count, seed)
    places = [
        _place(f"point {number}", float(east), float(north)) for number, (east, north) in enumerate(zip(lng, lat, strict=True))
    ]
    tables, _ = travel_tables(places, [VehicleClass.CAR], day=ANY_DAY, network=network or in_use())
    table = tables[VehicleClass.CAR]
    one, other = np.triu_indices(len(places), 1)
    road_km, hours = table.metres[one, other] / 1000, table.seconds[one, other] / 3600
    straight_km = great_circle_m(lng[one], lat[one], lng[other], lat[other]) / 1000
    good = (road_km > 0) & (straight_km > 1)
    south = (lat[one] < 55) & (lat[other] < 55)
    told = tomllib.loads((files(__package__) / "data" / "road_bands.toml").read_text(encoding="utf-8"))
    found = []
    for where, here in (("britain", good), ("south_of_55", good & south)):
        for (low, high), published in zip(told["circuity"]["km"], told["circuity"][where], strict=True):
            rows = here & (straight_km >= low) & (straight_km < high)
            ours = float(np.median(road_km[rows] / straight_km[rows])) if rows.any() else 0.0
            found.append(_band("circuity", where, (low, high), rows, published, ours))
        for (low, high), published in zip(told["speed"]["miles"], told["speed"][where], strict=True):
            miles = road_km / (METRES_A_MILE / 1000)
            rows = here & (miles >= low) & (miles < high)
            found.append(
                _band(
                    "mph",
                    where,
                    (low, high),
                    rows,
                    published,
                    float(miles[rows].sum() / hours[rows].sum()) if rows.any() else 0.0,
                )
            )
    return tuple(found)


def _band(what: str, where: str, limits: tuple[int, int], rows: Bools, published: float, ours: float) -> Band:
    return Band(what=what, where=where, low=limits[0], high=limits[1], pairs=int(rows.sum()), published=published, ours=ours)
