"""Joins ferries from the curated table to the roads, with a short approach from the nearest road to each quay."""

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from maps.build.source_roads import RawRoads
from maps.national_grid import from_lng_lat
from maps.roads import RoadClass
from maps.water import over_water


@dataclass(kw_only=True, slots=True)
class Crossings:
    """What the ferries add: for each edge the seconds aboard and the charge, and the keys of the charges."""

    ferry_s: npt.NDArray[np.int64]
    charge: npt.NDArray[np.int64]
    keys: tuple[str, ...]


APPROACH_WITHIN_M = 12_000  # a quay joins a junction so near


def _on_its_shore(quay: npt.NDArray[np.float64], tree: cKDTree, xy: npt.NDArray[np.float64]) -> tuple[int, float]:
    """Return the nearest junction with no water before it and its metres, -1 where none is near."""
    apart, near = tree.query(quay, k=40, distance_upper_bound=APPROACH_WITHIN_M)
    near, apart = near[np.isfinite(apart)], apart[np.isfinite(apart)]
    dry = np.flatnonzero(~over_water(quay, xy[near]))
    return (int(near[dry[0]]), float(apart[dry[0]])) if len(dry) else (-1, 0.0)


def join(
    path: Path,
    roads: RawRoads,
    road_class: npt.NDArray[np.int64],
    metres: npt.NDArray[np.float64],
) -> tuple[RawRoads, npt.NDArray[np.int64], npt.NDArray[np.float64], Crossings]:
    """Return roads, classes and metres with quays, approaches and crossings added at the end."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    quays: dict[tuple[float, float], int] = {}
    lng, lat = list(roads.lng), list(roads.lat)
    on_road = roads.xy
    tree = cKDTree(on_road)
    tail, head, kind, length, ferry_s, charge = [], [], [], [], [], []
    for number, row in enumerate(rows):
        ends = []
        for end in ("from", "to"):
            at = (float(row[f"{end}_lng"]), float(row[f"{end}_lat"]))
            if at not in quays:
                quays[at] = len(lng)
                lng.append(at[0])
                lat.append(at[1])
                xy = np.stack(from_lng_lat(np.array([at[0]]), np.array([at[1]])), 1)[0]
                nearest, apart = _on_its_shore(xy, tree, on_road)
                if nearest >= 0:
                    tail.append(int(nearest))
                    head.append(quays[at])
                    kind.append(RoadClass.SINGLE)
                    length.append(max(float(apart) * 1.2, 20.0))
                    ferry_s.append(0)
                    charge.append(-1)
            ends.append(quays[at])
        tail.append(ends[0])
        head.append(ends[1])
        kind.append(RoadClass.FERRY)
        xy = np.stack(from_lng_lat(np.array([lng[each] for each in ends]), np.array([lat[each] for each in ends])), 1)
        length.append(float(np.hypot(*(xy[0] - xy[1]))))
        ferry_s.append(60 * (int(row["crossing_min"]) + int(row["check_in_min"])))
        charge.append(number)
    old = len(roads.tail)
    joined = RawRoads(
        lng=np.array(lng),
        lat=np.array(lat),
        tail=np.r_[roads.tail, np.array(tail)],
        head=np.r_[roads.head, np.array(head)],
        source_m=np.r_[roads.source_m, np.array(length)],
    )
    crossings = Crossings(
        ferry_s=np.r_[np.zeros(old, np.int64), np.array(ferry_s)],
        charge=np.r_[np.full(old, -1), np.array(charge)],
        keys=tuple(row["key"] for row in rows),
    )
    return joined, np.r_[road_class, np.array(kind, dtype=np.int64)], np.r_[metres, np.array(length)], crossings
