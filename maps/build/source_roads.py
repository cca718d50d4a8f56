"""
Reads the main roads of Great Britain out of a world-wide graph of highways.

The source (the module ``world_highways`` of scgraph_data 2, OpenStreetMap data under ODbL) has nodes rounded to a
thousandth of a degree, straight edges between junctions, kilometres a little above the straight line, and no class.
"""

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from maps.national_grid import from_lng_lat

# Boxes (lng from, lat from, lng to, lat to) of what the outer box holds besides Great Britain.
OUTER = (-8.7, 49.85, 1.9, 61.0)
NOT_BRITAIN = {
    "Ireland": (-11.0, 51.0, -5.35, 55.25),
    "Donegal and Antrim": (-11.0, 55.0, -5.95, 55.5),
    "Isle of Man": (-4.9, 54.0, -4.2, 54.45),
    "France": (1.0, 49.0, 3.0, 51.0),
    "Scilly": (-6.6, 49.8, -6.1, 50.1),
}


@dataclass(kw_only=True, slots=True)
class RawRoads:
    """Junctions in degrees and in grid metres, and undirected edges with what is known of them; builders change it."""

    lng: npt.NDArray[np.float64]
    lat: npt.NDArray[np.float64]
    tail: npt.NDArray[np.int64]
    head: npt.NDArray[np.int64]
    source_m: npt.NDArray[np.float64]

    @property
    def xy(self) -> npt.NDArray[np.float64]:
        """Grid metres of the nodes, shape ``(n, 2)``."""
        return np.stack(from_lng_lat(self.lng, self.lat), axis=1)

    def straight_m(self) -> npt.NDArray[np.float64]:
        """Return the straight length of each edge in metres."""
        xy = self.xy
        return np.asarray(np.hypot(*(xy[self.tail] - xy[self.head]).T))


def read_world(path: Path) -> tuple[list[dict[int, float]], npt.NDArray[np.float64]]:
    """Return the neighbours (with kilometres) and the lat, lng of every node of the source module, without running it."""
    text = path.read_text(encoding="utf-8")
    start = text.index("graph=[") + len("graph=[")
    stop = text.index("]\nnodes=")
    neighbours = [
        {int(pair[0]): float(pair[1]) for pair in re.findall(r"(\d+): ([0-9.e-]+)", each)}
        for each in text[start:stop].split("}, {")
    ]
    pairs = re.findall(r"\[(-?[0-9.e-]+), (-?[0-9.e-]+)\]", text[text.index("nodes=[[") + 6 :])
    return neighbours, np.array(pairs, dtype=np.float64)


def inside(
    lng: npt.NDArray[np.float64], lat: npt.NDArray[np.float64], box: tuple[float, float, float, float]
) -> npt.NDArray[np.bool_]:
    """Return which points lie in a box."""
    return np.asarray((lng >= box[0]) & (lat >= box[1]) & (lng <= box[2]) & (lat <= box[3]))


def cut_to_britain(path: Path) -> RawRoads:
    """Return the roads of the island of Great Britain and its islands."""
    neighbours, nodes = read_world(path)
    lat, lng = nodes[:, 0], nodes[:, 1]
    wanted = inside(lng, lat, OUTER)
    for box in NOT_BRITAIN.values():
        wanted &= ~inside(lng, lat, box)
    ids = np.flatnonzero(wanted)
    new = np.full(len(nodes), -1, dtype=np.int64)
    new[ids] = np.arange(len(ids))
    edges = [
        (new[node], new[other], km) for node in ids for other, km in neighbours[node].items() if node < other and new[other] >= 0
    ]
    table = np.array(edges, dtype=np.float64)
    return RawRoads(
        lng=lng[ids],
        lat=lat[ids],
        tail=table[:, 0].astype(np.int64),
        head=table[:, 1].astype(np.int64),
        source_m=table[:, 2] * 1000,
    )
