"""
Told bands: what is published of random journeys, beside the network's own between random points all over the country.

Road over straight line and door-to-door mph by distance, from ``data/road_bands.toml``.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from maps.packaged import packaged_toml
from maps.roads_settings import surroundings
from maps.straight_line import great_circle_m
from maps.told_pairs import by_car
from planner.model.places import Place, PlaceId
from planner.units import METRES_A_MILE

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


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


def random_points(count: int, seed: int) -> tuple[Floats, Floats]:
    """Return lng and lat of points spread evenly over the lived-in country."""
    rng = np.random.default_rng(seed)
    lng, lat = rng.uniform(-7.5, 1.8, 60 * count), rng.uniform(49.95, 58.7, 60 * count)
    even = rng.random(60 * count) < np.cos(np.radians(lat))
    lng, lat = lng[even], lat[even]
    _, _, away = surroundings().at(lng, lat)
    chosen = np.flatnonzero(away <= 0)[:count]
    return lng[chosen], lat[chosen]


def told_bands(count: int, seed: int) -> tuple[Band, ...]:
    """Return the published bands of circuity and speed beside the network's, for random points."""
    lng, lat = random_points(count, seed)
    places = [
        Place(place_id=PlaceId(f"{number}"), name=f"point {number}", lng=float(east), lat=float(north))
        for number, (east, north) in enumerate(zip(lng, lat, strict=True))
    ]
    table = by_car(places)
    one, other = np.triu_indices(len(places), 1)
    road_km, hours = table.metres[one, other] / 1000, table.seconds[one, other] / 3600
    straight_km = great_circle_m(lng[one], lat[one], lng[other], lat[other]) / 1000
    miles = road_km / (METRES_A_MILE / 1000)
    good = (road_km > 0) & (straight_km > 1)
    south = (lat[one] < 55) & (lat[other] < 55)
    told = packaged_toml("road_bands.toml")

    def circuity(rows: Bools) -> float:
        return float(np.median(road_km[rows] / straight_km[rows]))

    def mph(rows: Bools) -> float:
        return float(miles[rows].sum() / hours[rows].sum())

    found = []
    for where, here in (("britain", good), ("south_of_55", good & south)):
        for what, figures, unit, far, ours in (
            ("circuity", told["circuity"], "km", straight_km, circuity), ("mph", told["speed"], "miles", miles, mph),
        ):  # fmt: skip
            for (low, high), published in zip(figures[unit], figures[where], strict=True):
                rows = here & (far >= low) & (far < high)
                found.append(Band(
                    what=what, where=where, low=low, high=high, pairs=int(rows.sum()), published=published,
                    ours=ours(rows) if rows.any() else 0.0,
                ))  # fmt: skip
    return tuple(found)
