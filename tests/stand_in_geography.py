"""A stand-in for geography: any well-formed postcode has a made-up point, and roads are a third longer than the crow flies."""

import re
import zlib
from datetime import date

import numpy as np

from planner.faults import ByArrangement, UnknownPlace
from planner.model.places import Nation, Place, PlaceId
from planner.model.travel import TravelTable

# The form of a postcode after the published standard (BS 7666 / Royal Mail; the pattern from memory).
POSTCODE = re.compile(r"([A-Z]{1,2}[0-9][A-Z0-9]?) ?([0-9][ABD-HJLNP-UW-Z]{2})")


def locate(text: str) -> Place:
    match = POSTCODE.fullmatch(" ".join(text.upper().split()))
    if match is None:
        near = text.upper().replace("S0", "SO")
        raise UnknownPlace(text, (near,) if POSTCODE.fullmatch(near) else ())
    code = f"{match[1]} {match[2]}"
    if code.startswith("BT"):
        raise ByArrangement(text, "Northern Ireland")
    chance = zlib.crc32(code.encode())
    nation = Nation.SCOTLAND if re.match(r"(EH|AB|IV|KA|G)\d", code) else Nation.ENGLAND
    return Place(place_id=PlaceId(code), name=code, postcode=code, nation=nation,
                 lng=-4 + (chance % 1000) / 200, lat=51 + (chance // 1000 % 1000) / 250)


def travel_tables(places, classes, /, *, day: date):
    assert isinstance(day, date)
    points = np.array([(place.lng * 68.0, place.lat * 111.2) for place in places]).reshape(-1, 2)
    km = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1)) * 1.3
    metres = np.rint(km * 1000).astype(np.int32)
    nothing = np.zeros_like(metres)
    return {
        kind: TravelTable(vehicle_class=kind, metres=metres.copy(), seconds=(metres // 20).astype(np.int32),
                          charge_mask=nothing.astype(np.int64), ferry_seconds=nothing.copy())
        for kind in classes
    }, ()
