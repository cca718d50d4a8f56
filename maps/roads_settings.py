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


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Surroundings:
    """Grids indexed ``[easting // square, northing // square]``; ``away_m`` is the way to the nearest lived-in square."""

    setting: npt.NDArray[np.uint8]
    nation: npt.NDArray[np.uint8]
    away_m: npt.NDArray[np.float32]

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
        return self.setting[fine], self.nation[coarse], (self.away_m[coarse] + off_grid).astype(np.float32)


def _index(along: npt.NDArray[np.float64], square_m: int, count: int) -> npt.NDArray[np.int64]:
    return np.clip(along // square_m, 0, count - 1).astype(np.int64)


@lru_cache(maxsize=1)
def surroundings() -> Surroundings:
    """Return the grids that come with the project, read once."""
    from scipy.ndimage import distance_transform_edt

    with (files(__package__) / "data" / "settings.npz").open("rb") as file, np.load(file) as held:
        nation = held["nation"]
        lived_in = np.unpackbits(held["lived_in"], count=nation.size).reshape(nation.shape).astype(bool)
        away = distance_transform_edt(~lived_in) * 2000
        return Surroundings(setting=held["setting"], nation=nation, away_m=np.maximum(away - 2000, 0).astype(np.float32))
