"""The straight line between two places on the ellipsoid, and how much farther the road is."""

from planner.model.places import Place


def straight_metres(origin: Place, destination: Place) -> int:
    """Return whole metres along the WGS84 geodesic, by geopy (Karney 2013)."""
    from geopy.distance import geodesic

    metres: float = geodesic((origin.lat, origin.lng), (destination.lat, destination.lng)).m
    return round(metres)


def circuity(origin: Place, destination: Place, road_metres: int) -> float | None:
    """Return road metres over the straight line; None between points less than 100 m apart, where it says nothing."""
    straight = straight_metres(origin, destination)
    return road_metres / straight if straight >= 100 else None
