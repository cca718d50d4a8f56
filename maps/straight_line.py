"""Straight lines between places, one exactly on the ellipsoid or many on the sphere, and how much farther the road is."""

import numpy as np
import numpy.typing as npt

from planner.model.places import Place

EARTH_M = 6_371_008.8  # mean radius of WGS84, IUGG
Floats = npt.NDArray[np.float64]


def straight_metres(origin: Place, destination: Place) -> int:
    """Return whole metres along the WGS84 geodesic, by geopy (Karney 2013)."""
    from geopy.distance import geodesic

    metres: float = geodesic((origin.lat, origin.lng), (destination.lat, destination.lng)).m
    return round(metres)


def circuity(origin: Place, destination: Place, road_metres: int) -> float | None:
    """Return road metres over the straight line; None between points less than 100 m apart, where it says nothing."""
    straight = straight_metres(origin, destination)
    return road_metres / straight if straight >= 100 else None


def great_circle_m(lng: Floats, lat: Floats, to_lng: Floats, to_lat: Floats) -> Floats:
    """Return great-circle metres, element by element, by the haversine formula."""
    a, b, over = np.radians(lat), np.radians(to_lat), np.radians(to_lng - lng)
    half = np.sin((b - a) / 2) ** 2 + np.cos(a) * np.cos(b) * np.sin(over / 2) ** 2
    return np.asarray(2 * EARTH_M * np.arcsin(np.sqrt(half)))
