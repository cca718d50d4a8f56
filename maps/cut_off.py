"""
Cut off: lived-in islands, and one peninsula, that no road and no ferry leads to which any car may drive on.

Boxes and reasons come from ``data/no_roads.csv`` (from memory of public maps and timetables); whoever lives there has no way
in any table, as if nothing joined them.
"""

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from maps.packaged import packaged_rows

Floats = npt.NDArray[np.float64]


@lru_cache(maxsize=1)
def _boxes() -> Floats:
    """Return west, south, east and north of each box, degrees, shape ``(k, 4)``."""
    rows = packaged_rows("no_roads.csv")
    return np.array([[float(row[side]) for side in ("west", "south", "east", "north")] for row in rows])


def cut_off(lng: Floats, lat: Floats) -> npt.NDArray[np.bool_]:
    """Return which points lie where no car can drive to."""
    west, south, east, north = _boxes().T[:, :, None]
    return np.asarray(((lng >= west) & (lng <= east) & (lat >= south) & (lat <= north)).any(axis=0))
