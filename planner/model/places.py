"""
Places: points on the map where cars stand, leave and arrive.

Coordinates are WGS84 degrees, ``lng`` before ``lat``, always.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import NewType

PlaceId = NewType("PlaceId", str)


class Nation(StrEnum):
    """The nation whose bank holidays and speed limits hold at a place."""

    ENGLAND = "England"
    SCOTLAND = "Scotland"
    WALES = "Wales"


@dataclass(frozen=True, kw_only=True, slots=True)
class Window:
    """Half-open stretch of time: work may start at ``opens_min`` but not at ``closes_min``."""

    opens_min: int
    closes_min: int

    def __post_init__(self) -> None:
        if self.opens_min >= self.closes_min:
            raise ValueError(f"Expected opens before closes, got {self.opens_min} and {self.closes_min}.")


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """A point with a name; ``off_by_m`` says how far the true door may be from it."""

    place_id: PlaceId
    name: str
    lng: float
    lat: float
    postcode: str = ""
    nation: Nation = Nation.ENGLAND
    off_by_m: int = 0

    def __post_init__(self) -> None:
        if not (-180 <= self.lng <= 180 and -90 <= self.lat <= 90):
            raise ValueError(f"Expected lng in [-180, 180] and lat in [-90, 90], got {self.lng} and {self.lat}.")


@dataclass(frozen=True, kw_only=True, slots=True)
class Compound:
    """A place of ours where cars stand; ``window`` is None on a day it stays shut, ``bays`` None without limit."""

    place: Place
    window: Window | None
    address: tuple[str, ...] = ()
    phone: str = ""
    bays: int | None = None
    plate_sets: int = 0

    @property
    def place_id(self) -> PlaceId:
        """The compound's place, by which everything refers to it."""
        return self.place.place_id
