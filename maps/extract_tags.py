"""
What the tags of an OpenStreetMap way say to a driver: its class, its directions, and what is signed on it.

Conventions of tagging as the OpenStreetMap community documents them (from memory): keys highway, oneway, junction,
maxspeed, maxheight, maxweight, maxwidth, access, motor_vehicle, hgv, route and duration.
"""

import re
from collections.abc import Mapping

from maps.roads import RoadClass
from planner.units import METRES_A_MILE

CLASS_OF = {
    "motorway": RoadClass.MOTORWAY,
    "motorway_link": RoadClass.MOTORWAY,
    "trunk": RoadClass.SINGLE,
    "trunk_link": RoadClass.SINGLE,
    "primary": RoadClass.SINGLE,
    "primary_link": RoadClass.SINGLE,
    "secondary": RoadClass.SINGLE,
    "secondary_link": RoadClass.SINGLE,
    "tertiary": RoadClass.MINOR,
    "tertiary_link": RoadClass.MINOR,
    "unclassified": RoadClass.MINOR,
    "residential": RoadClass.MINOR,
    "living_street": RoadClass.MINOR,
    "road": RoadClass.MINOR,
}
#: A one-way carriageway of these is half of a dual carriageway.
MAY_BE_DUAL = ("trunk", "primary")
SHUT = ("no", "private", "agricultural", "forestry", "emergency")
CHECK_IN_S = 1800
FERRY_KMH = 25.0
VAN_KG = 3500  # "hgv=no" shuts out goods vehicles above this

NUMBER = re.compile(r"(\d+(?:\.\d+)?)\s*([a-z]*)")
FEET = re.compile(r"(\d+)\s*'\s*(?:(\d+)\s*\"?)?")


def road_class(tags: Mapping[str, str]) -> RoadClass | None:
    """Return the class of a way that motor vehicles may use, None for every other way."""
    if tags.get("route") == "ferry":
        return None if tags.get("motor_vehicle", tags.get("motorcar")) == "no" or tags.get("access") in SHUT else RoadClass.FERRY
    kind = tags.get("highway", "")
    if kind not in CLASS_OF or tags.get("area") == "yes":
        return None
    allowed = tags.get("motor_vehicle", tags.get("vehicle", tags.get("access", "yes")))
    if allowed in SHUT:
        return None
    if kind in MAY_BE_DUAL and direction(tags) and tags.get("junction") != "roundabout":
        return RoadClass.DUAL
    return CLASS_OF[kind]


def direction(tags: Mapping[str, str]) -> int:
    """Return 1 for one way as drawn, -1 for one way against it, 0 for both ways."""
    told = tags.get("oneway", "")
    if told in ("yes", "true", "1"):
        return 1
    if told in ("-1", "reverse"):
        return -1
    if told in ("no", "false", "0"):
        return 0
    return 1 if tags.get("junction") in ("roundabout", "circular") or tags.get("highway") == "motorway" else 0


def speed_kmh(text: str) -> int:
    """
    Return a signed speed in km/h, 0 where none is signed.

    >>> speed_kmh("30 mph"), speed_kmh("50"), speed_kmh("national")
    (48, 50, 0)
    """
    told = NUMBER.fullmatch(text.strip().lower())
    if not told or told[2] not in ("", "mph", "kmh", "kph"):
        return 0
    return int(float(told[1]) * (METRES_A_MILE / 1000 if told[2] == "mph" else 1))


def length_mm(text: str) -> int:
    """
    Return a signed height or width in millimetres, 0 where none can be read.

    >>> length_mm("4.2"), length_mm("4.2 m"), length_mm("14'6"), length_mm("default")
    (4200, 4200, 4419, 0)
    """
    feet = FEET.fullmatch(text.strip())
    if feet:
        return int((int(feet[1]) * 12 + int(feet[2] or 0)) * 25.4)
    told = NUMBER.fullmatch(text.strip().lower())
    if not told or told[2] not in ("", "m"):
        return 0
    return round(float(told[1]) * 1000)


def mass_kg(text: str) -> int:
    """
    Return a signed mass in kilograms, 0 where none can be read.

    >>> mass_kg("7.5"), mass_kg("18 t"), mass_kg("3500 kg"), mass_kg("none")
    (7500, 18000, 3500, 0)
    """
    told = NUMBER.fullmatch(text.strip().lower())
    if not told or told[2] not in ("", "t", "kg"):
        return 0
    return round(float(told[1]) * (1 if told[2] == "kg" else 1000))


def largest_kg(tags: Mapping[str, str]) -> int:
    """Return the largest mass that may pass, 0 where nothing is signed."""
    signed = mass_kg(tags.get("maxweight", tags.get("maxgcweight", "")))
    barred = VAN_KG if tags.get("hgv") == "no" else 0
    return min(signed, barred) if signed and barred else signed or barred


def ferry_s(tags: Mapping[str, str], metres: float) -> int:
    """Return the seconds of a crossing with half an hour of check-in; by its length where no duration is told."""
    told = re.fullmatch(r"(\d{1,2}):(\d{2})(?::\d{2})?", tags.get("duration", "").strip())
    aboard = int(told[1]) * 3600 + int(told[2]) * 60 if told else round(metres / 1000 / FERRY_KMH * 3600)
    return max(aboard, 60) + CHECK_IN_S
