"""
Roads: the network as arrays, the same whether built in, imported or made for a test.

An edge runs from ``tail`` to ``head`` and is open both ways unless ``one_way``.  Metres are whole; coordinates WGS84
degrees, ``lng`` before ``lat``.  An edge's drawn line is its own points between the two nodes.
"""

import io
import os
from dataclasses import dataclass, field, fields
from enum import IntEnum
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np
import numpy.typing as npt

from maps.travel_store import as_installed
from planner.faults import PlannerError

Ints = npt.NDArray[np.int32]
Bytes = npt.NDArray[np.uint8]
Floats = npt.NDArray[np.float64]


class BadNetwork(PlannerError):
    """A file of roads that cannot be read."""

    def __init__(self, named: str) -> None:
        self.named = named
        super().__init__(f"{named}: is missing or no network file. Make one with: homeleg roads import EXTRACT --out {named}.")


class RoadClass(IntEnum):
    """What kind of road an edge is; the number is what the network file holds."""

    MOTORWAY = 0
    DUAL = 1
    SINGLE = 2
    MINOR = 3
    FERRY = 4


class Setting(IntEnum):
    """What stands along a stretch of road, from the postcodes near it.

    ``HILL`` is open country amid bare hill and moor, ``INNER`` the thick of the largest cities: inner London above all.
    """

    OPEN = 0
    VILLAGE = 1
    TOWN = 2
    CITY = 3
    HILL = 4
    INNER = 5


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RoadNetwork:
    """
    Nodes and edges.

    ``setting_percent``, shape ``(edges, settings)``, is how much of an edge lies in each :class:`Setting`, adding to 100; files
    of the first edition know neither hills nor inner cities.
    ``ferry_s`` are seconds of a crossing with its check-in, 0 on land.  ``charge`` indexes ``charge_keys``, -1 for none.
    ``name`` indexes ``names``.  ``max_height_mm``, ``max_width_mm`` and ``max_mass_kg`` are 0 where nothing is signed (widths
    may be left out), ``limit_kmh`` too; on the built-in roads it is what a kind of single carriageway allows.
    ``rank`` is the order of :mod:`maps.roads_order`, empty where it has not been found yet.
    ``shape_at`` has one entry more than there are edges: the line of edge ``e`` between its nodes is
    ``shape[shape_at[e]:shape_at[e + 1]]``.
    """

    node_lng: Floats
    node_lat: Floats
    tail: Ints
    head: Ints
    metres: Ints
    road_class: Bytes
    setting_percent: Bytes
    nation: Bytes
    one_way: npt.NDArray[np.bool_]
    ferry_s: Ints
    charge: npt.NDArray[np.int16]
    name: Ints
    limit_kmh: npt.NDArray[np.int16]
    max_height_mm: Ints
    max_mass_kg: Ints
    shape_at: Ints
    shape: Floats
    max_width_mm: Ints = field(default_factory=lambda: np.zeros(0, np.int32))
    rank: Ints = field(default_factory=lambda: np.zeros(0, np.int32))
    charge_keys: tuple[str, ...] = ()
    names: tuple[str, ...] = ("",)
    source: str = "built-in"
    bounds: tuple[float, float, float, float] = field(default=(0.0, 0.0, 0.0, 0.0))

    @property
    def num_nodes(self) -> int:
        """How many nodes there are."""
        return len(self.node_lng)

    @property
    def num_edges(self) -> int:
        """How many edges there are."""
        return len(self.tail)

    def line(self, edge: int) -> Floats:
        """Return an edge's line from tail to head, shape ``(k, 2)``, lng and lat."""
        tail, head = int(self.tail[edge]), int(self.head[edge])
        inner = self.shape[self.shape_at[edge] : self.shape_at[edge + 1]]
        ends = [[self.node_lng[tail], self.node_lat[tail]]], [[self.node_lng[head], self.node_lat[head]]]
        return np.vstack([ends[0], inner, ends[1]])


#: Fields that files of the first edition lack.
MAY_BE_MISSING = ("max_width_mm", "rank")


def blank(num_edges: int) -> dict[str, Any]:
    """Return the edge arrays that most edges leave at nothing, for builders to fill in."""
    return {
        "one_way": np.zeros(num_edges, np.bool_),
        "ferry_s": np.zeros(num_edges, np.int32),
        "charge": np.full(num_edges, -1, np.int16),
        "name": np.zeros(num_edges, np.int32),
        "limit_kmh": np.zeros(num_edges, np.int16),
        "max_height_mm": np.zeros(num_edges, np.int32),
        "max_mass_kg": np.zeros(num_edges, np.int32),
        "shape_at": np.zeros(num_edges + 1, np.int32),
        "shape": np.zeros((0, 2)),
        "nation": np.zeros(num_edges, np.uint8),
        "setting_percent": np.tile(np.array([100, 0, 0, 0, 0, 0], np.uint8), (num_edges, 1)),
    }


def to_bytes(network: RoadNetwork) -> bytes:
    """Return the network as the bytes of a file; coordinates are kept to a hundred-thousandth of a degree."""
    held: dict[str, Any] = {}
    for each in fields(network):
        value = getattr(network, each.name)
        if each.name in ("node_lng", "node_lat", "shape"):
            value = np.round(value * 1e5).astype(np.int32)
        elif isinstance(value, tuple | str):
            value = np.array(value)
        held[each.name] = value
    buffer = io.BytesIO()
    np.savez_compressed(buffer, **held)
    return buffer.getvalue()


def read(path: Path) -> RoadNetwork:
    """
    Return the network that a file holds.

    Raises
    ------
    ValueError
        If the file is damaged or of another kind.

    """
    return _unpack(path.read_bytes())


def _unpack(raw: bytes) -> RoadNetwork:
    held: dict[str, Any] = {}
    try:
        with np.load(io.BytesIO(raw)) as file:
            for each in fields(RoadNetwork):
                if each.name not in file and each.name in MAY_BE_MISSING:
                    continue
                value = file[each.name]
                if each.name in ("node_lng", "node_lat", "shape"):
                    held[each.name] = value.astype(np.float64) / 1e5
                elif each.name in ("charge_keys", "names"):
                    held[each.name] = tuple(str(text) for text in value)
                elif each.name == "bounds":
                    held[each.name] = tuple(float(part) for part in value)
                else:
                    held[each.name] = str(value) if each.name == "source" else value
    except (KeyError, OSError, ValueError, EOFError, BadZipFile) as fault:
        raise ValueError(f"Expected a network file, got something that lacks a part of one ({fault}).") from fault
    return RoadNetwork(**held)


def in_use() -> RoadNetwork:
    """
    Return the network that commands work on: the file that ``HOMELEG_ROADS`` names, the built-in one otherwise.

    Raises
    ------
    BadNetwork
        If the file named is missing, damaged or of another kind.

    """
    named = os.environ.get("HOMELEG_ROADS", "")
    if not named or named.startswith(("http://", "https://")):  # a server makes tables; lines are still drawn on our roads
        return built_in()
    return network_file(Path(named))


def network_file(path: Path) -> RoadNetwork:
    """Return the network of a file made by ``homeleg roads import``; raises :class:`BadNetwork`."""
    return _kept(str(path), path.stat().st_mtime_ns if path.is_file() else 0)


@lru_cache(maxsize=2)
def _kept(named: str, changed_ns: int) -> RoadNetwork:
    del changed_ns  # a file written anew is read anew
    try:
        return read(Path(named))
    except (OSError, ValueError) as fault:
        raise BadNetwork(named) from fault


def name_of(network: RoadNetwork) -> str:
    """Return a name under which what follows from the built-in network alone may be kept, "" for any other network."""
    return as_installed() if network is built_in() else ""


@lru_cache(maxsize=1)
def built_in() -> RoadNetwork:
    """Return the network of Great Britain that comes with the project, read once."""
    return _unpack((files(__package__) / "data" / "roads.npz").read_bytes())
