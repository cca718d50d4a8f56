"""
Ways round: the pairs of neighbouring postcodes between which the road is longest beside the straight line.

``python -m tests.bench.road_detours [--points 1500] [--seed 3] [--worst 40]``; ``HOMELEG_ROADS`` names other roads.  Points are
spread evenly over the lived-in country and moved to the nearest postcode, so that the bare country counts as much as the
towns.  Prints road over straight line by part of the country and distance, then the pairs with most metres beyond what is
usual there that no curated water lies between.  Somebody has to look at each: an estuary or a moor is real, the rest is a
road that lacks.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from maps.build.lanes import next_to_each_other
from maps.national_grid import from_lng_lat, to_lng_lat
from maps.postcodes import table
from maps.straight_line import great_circle_m
from maps.told_bands import random_points
from maps.told_pairs import by_car
from maps.water import over_water
from planner.model.places import Place, PlaceId
from planner.units import METRES_A_MILE

NEAREST_M, FARTHEST_M = 2_000, 40_000
BANDS_KM = ((2, 6), (6, 12), (12, 20), (20, 40))


@dataclass(frozen=True, kw_only=True, slots=True)
class Neighbours:
    """Two postcodes next to each other among those drawn; ends are lat, lng."""

    ends: tuple[float, float, float, float]
    part: str
    straight_m: float
    road_m: float
    seconds: float
    is_over_water: bool

    @property
    def ratio(self) -> float:
        return self.road_m / self.straight_m


def part_of(lat: float, lng: float) -> str:
    """Return a rough part of the country."""
    if lat > 56.4:
        return "Highlands and North East"
    if lat > 55:
        return "Scotland south of Perth"
    if lng < -2.9 and 51.35 < lat < 53.5:
        return "Wales and the Marches"
    return "South West" if lng < -3 and lat < 51.35 else "rest of England"


def some_places(count: int, seed: int) -> tuple[list[Place], np.ndarray]:
    """Return postcodes spread evenly over the country, and their grid metres."""
    held = table()
    homes = np.stack([held.easting[held.is_live], held.northing[held.is_live]], axis=1).astype(np.float64)
    points = np.stack(from_lng_lat(*random_points(count, seed)), axis=1)
    xy = homes[np.unique(cKDTree(homes).query(points)[1])]
    degrees = zip(*to_lng_lat(xy[:, 0], xy[:, 1]), strict=True)
    return [
        Place(place_id=PlaceId(f"{number}"), name=f"{number}", lng=float(lng), lat=float(lat))
        for number, (lng, lat) in enumerate(degrees)
    ], xy


def neighbours(count: int, seed: int) -> Iterator[Neighbours]:
    """Yield the neighbours in a triangulation that lie 2 to 40 km apart and have a road."""
    places, xy = some_places(count, seed)
    roads = by_car(places)
    for one, other in next_to_each_other(xy):
        a, b = places[one], places[other]
        straight = float(great_circle_m(a.lng, a.lat, b.lng, b.lat))
        if NEAREST_M < straight < FARTHEST_M and roads.metres[one, other] > 0:
            yield Neighbours(
                ends=(a.lat, a.lng, b.lat, b.lng),
                part=part_of(a.lat, a.lng),
                straight_m=straight,
                road_m=float(roads.metres[one, other]),
                seconds=float(roads.seconds[one, other]),
                is_over_water=bool(over_water(xy[one], xy[other][None])[0]),
            )


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--points", type=int, default=1500)
    options.add_argument("--seed", type=int, default=3)
    options.add_argument("--worst", type=int, default=40)
    given = options.parse_args()
    found = list(neighbours(given.points, given.seed))
    usual: dict[tuple[str, int], float] = {}
    print(f"{'road over straight line':26} {'km':>7} {'pairs':>6} {'median':>7} {'90th':>6} {'mph':>6}")
    for part in sorted({each.part for each in found}):
        for low, high in BANDS_KM:
            band = [each for each in found if each.part == part and low * 1000 <= each.straight_m < high * 1000]
            if not band:
                continue
            ratios = [each.ratio for each in band]
            usual[part, low] = float(np.median(ratios))
            mph = sum(each.road_m for each in band) / sum(each.seconds for each in band) * 3600 / METRES_A_MILE
            print(f"{part:26} {low:3}-{high:3} {len(band):6} {usual[part, low]:7.2f} {np.percentile(ratios, 90):6.2f} {mph:6.1f}")

    def beyond_usual_m(each: Neighbours) -> float:
        low = next(low for low, high in BANDS_KM if each.straight_m < high * 1000)
        return each.road_m - usual[each.part, low] * each.straight_m

    print("\nlongest beyond what is usual there, water apart (lat, lng)")
    dry = sorted((each for each in found if not each.is_over_water), key=beyond_usual_m, reverse=True)
    for each in dry[: given.worst]:
        ends = "{:.3f},{:.3f}  {:.3f},{:.3f}".format(*each.ends)
        print(f"  {ends}  {each.straight_m / 1000:5.1f} km straight, {each.road_m / 1000:6.1f} km by road  {each.part}")


if __name__ == "__main__":
    main()
