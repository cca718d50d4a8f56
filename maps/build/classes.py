"""Tags edges with a road class; a carriageway with a near-parallel twin is dual."""

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from maps.build.source_roads import RawRoads
from maps.roads import RoadClass


def twin_share(roads: RawRoads, *, step_m: float = 400.0) -> npt.NDArray[np.float64]:
    """Return the share of each edge, 0 to 1, beside which another edge runs in nearly the same direction."""
    xy = roads.xy
    start, run = xy[roads.tail], xy[roads.head] - xy[roads.tail]
    length = np.hypot(*run.T)
    count = np.maximum(2, np.ceil(length / step_m).astype(int))
    edge = np.repeat(np.arange(len(count)), count)
    first = np.repeat(np.cumsum(count) - count, count)
    share = (np.arange(len(edge)) - first + 0.5) / count[edge]
    point = start[edge] + run[edge] * share[:, None]
    unit = run / np.maximum(length, 1)[:, None]
    reach = np.clip(120 + 0.02 * length, 150, 400)
    tree = cKDTree(point)
    beside = np.zeros(len(point), dtype=bool)
    _, neighbours = tree.query(point, k=12, distance_upper_bound=400)
    for column in range(1, 12):
        other = neighbours[:, column]
        held = other < len(point)
        mate = edge[np.where(held, other, 0)]
        gap = point[np.where(held, other, 0)] - point
        along = np.abs((unit[edge] * unit[mate]).sum(axis=1))
        across = np.abs(gap[:, 0] * unit[edge][:, 1] - gap[:, 1] * unit[edge][:, 0])
        beside |= (
            held & (mate != edge) & (along > 0.985) & (across > 15) & (across < reach[edge]) & (length[mate] > 0.3 * length[edge])
        )
    return np.asarray(np.bincount(edge, beside, len(count)) / count)


def classify(roads: RawRoads) -> npt.NDArray[np.int64]:
    """Return the :class:`RoadClass` of each edge."""
    return np.where(twin_share(roads) > 0.6, RoadClass.DUAL, RoadClass.SINGLE).astype(np.int64)
