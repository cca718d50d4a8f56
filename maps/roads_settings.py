"""
What stands around a point: open country, village, town or city, its nation, and whether anybody lives near it.

Two small grids over the national grid, made from the postcodes: settings on squares of 500 m, nations on squares of 2 km.
"""

from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from maps.national_grid import from_lng_lat
from maps.near_points import NearPoints


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Surroundings:
    """Grids indexed ``[easting // square, northing // square]``; ``lived_in`` holds the indices of lived-in squares."""

    setting: npt.NDArray[np.uint8]
    nation: npt.NDArray[np.uint8]
    lived_in: NearPoints

    def at(
        self, lng: npt.NDArray[np.float64], lat: npt.NDArray[np.float64]
    ) -> tuple[npt.NDArray[np.uint8], npt.NDArray[np.uint8], npt.NDArray[np.float32]]:
        """Return the setting, the nation's number and the metres to the nearest lived-in square of points."""
        east, north = from_lng_lat(np.asarray(lng), np.asarray(lat))
        fine = _index(east, 500, self.setting.shape[0]), _index(north, 500, self.setting.shape[1])
        coarse = _index(east, 2000, self.nation.shape[0]), _index(north, 2000, self.nation.shape[1])
        off_grid = np.hypot(
            np.clip(-east, 0, None) + np.clip(east - 700_000, 0, None),
            np.clip(-north, 0, None) + np.clip(north - 1_250_000, 0, None),
        )
        # From square to square, so that whoever stands in or beside a lived-in one is at home.
        squares, _ = self.lived_in.nearest(np.stack(coarse, axis=-1))
        away_m = np.maximum(squares[:, 0] * 2000 - 2000, 0)
        return self.setting[fine], self.nation[coarse], (away_m + off_grid).astype(np.float32)


def _index(along: npt.NDArray[np.float64], square_m: int, count: int) -> npt.NDArray[np.int64]:
    return np.clip(along // square_m, 0, count - 1).astype(np.int64)


@lru_cache(maxsize=1)
def surroundings() -> Surroundings:
    """Return the grids that come with the project, read once."""
    with (files(__package__) / "data" / "settings.npz").open("rb") as file, np.load(file) as held:
        nation = held["nation"]
        lived_in = np.unpackbits(held["lived_in"], count=nation.size).reshape(nation.shape).astype(bool)
        return Surroundings(setting=held["setting"], nation=nation, lived_in=NearPoints.of(np.argwhere(lived_in), 4))
