"""The gazetteer: any text that people give for a place, read as a postcode, as ``lat,lng``, or as a name, in that order."""

import re

import numpy as np

from maps import postcodes
from maps.place_names import find_name
from maps.roads_settings import surroundings
from planner.faults import ByArrangement, UnknownPlace
from planner.model.places import Place, PlaceId

NUMBER = r"[-+]?\d{1,3}(?:\.\d+)?"
LAT_LNG = re.compile(rf"\s*({NUMBER})\s*[,; ]\s*({NUMBER})\s*")
FARTHEST_FROM_PEOPLE_M = 12_000
#: Boxes of what is near but by arrangement: lng from, lat from, lng to, lat to.
NEIGHBOURS = {
    "Northern Ireland": (-8.2, 54.0, -5.4, 55.35),
    "the Isle of Man": (-4.9, 54.03, -4.25, 54.45),
    "Jersey": (-2.3, 49.15, -2.0, 49.28),
    "Guernsey and its islands": (-2.7, 49.4, -2.15, 49.75),
}


def locate(text: str) -> Place:
    """
    Return the place that a text means.

    ``lat,lng`` (latitude first, as people copy it from a map) gives that very point; ``off_by_m`` is 0.

    Raises
    ------
    ByArrangement
        For places outside Great Britain that a delivery may still reach.
    UnknownPlace
        For anything else, with what it might have meant.

    """
    point = LAT_LNG.fullmatch(text)
    if point:
        return _point(text, float(point[1]), float(point[2]))
    looks_like_code = any(letter.isdigit() for letter in text.partition(",")[0]) or text.strip().upper() in postcodes.areas()
    if looks_like_code or (postcodes.clean(text)[:2] in postcodes.ELSEWHERE and len(text.strip()) == 2):
        return postcodes.find(text)
    return find_name(text)


def _point(text: str, lat: float, lng: float) -> Place:
    if not (-90 <= lat <= 90 and -180 <= lng <= 180):
        raise UnknownPlace(text, reason="is no point on Earth: the first number is the latitude, the second the longitude")
    _, nation, away = surroundings().at(np.array([lng]), np.array([lat]))
    if away[0] > FARTHEST_FROM_PEOPLE_M:
        for where, (west, south, east, north) in NEIGHBOURS.items():
            if west <= lng <= east and south <= lat <= north:
                raise ByArrangement(text, where)
        swapped = (f"{lng:g},{lat:g}",) if 49 <= lng <= 61 and -9 <= lat <= 2 else ()
        raise UnknownPlace(text, swapped, reason="lies in the sea, abroad, or far from any address of Great Britain")
    name = f"{lat:.5f},{lng:.5f}"
    return Place(place_id=PlaceId(name), name=name, lng=lng, lat=lat, nation=postcodes.NATIONS[int(nation[0])])
