"""Water: lines along the middle of tidal water and long lakes that no small road crosses, and which ways cross them."""

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from maps.national_grid import from_lng_lat
from maps.packaged import packaged_rows

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@lru_cache(maxsize=1)
def water() -> Floats:
    """Return the curated lines of ``data/water.csv`` as segments, ``(k, 2, 2)``, grid metres."""
    segments = []
    for row in packaged_rows("water.csv"):
        points = np.array([point.split() for point in row["line"].split(";")], dtype=np.float64)
        xy = np.stack(from_lng_lat(points[:, 0], points[:, 1]), axis=1)
        segments.append(np.stack([xy[:-1], xy[1:]], axis=1))
    return np.concatenate(segments)


def over_water(door: Floats, feet: Floats) -> Bools:
    """Return which of the straight ways from a door ``(2,)`` to ``feet`` ``(k, 2)`` cross such water."""
    low, high = np.minimum(door, feet.min(axis=0)), np.maximum(door, feet.max(axis=0))
    near = water()[((water().max(axis=1) >= low) & (water().min(axis=1) <= high)).all(axis=1)]
    return np.asarray(crossing(np.stack([np.broadcast_to(door, feet.shape), feet], axis=1), near).any(axis=1))


def crossing(segments: Floats, others: Floats) -> Bools:
    """Return which of ``segments`` ``(n, 2, 2)`` cross which of ``others`` ``(k, 2, 2)``, shape ``(n, k)``."""
    a, b = segments[:, None, 0], segments[:, None, 1]
    c, d = others[None, :, 0], others[None, :, 1]

    def side(p: Floats, q: Floats, r: Floats) -> Floats:
        return np.asarray((q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1]) - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0]))

    return np.asarray((side(a, b, c) * side(a, b, d) < 0) & (side(c, d, a) * side(c, d, b) < 0))
