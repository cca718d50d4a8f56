"""
Reads an OpenStreetMap extract into the same kind of network as the built-in one.

Three steps, the first two kept beside the result while they last, so that a stopped import goes on where it was: the
ways with their points; the junctions and edges; the order of the junctions.  Memory grows with the points of the roads,
not with the extract: the positions of all its nodes lie in a file on disk when it is large.

Not handled: turn restrictions, opening hours of roads, lanes and surface.
"""

import tempfile
from array import array
from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib.util import find_spec
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np
import numpy.typing as npt

from maps import extract_tags as tags_of
from maps.packaged import packaged_rows
from maps.roads import RoadClass, RoadNetwork, Setting, blank, to_bytes
from maps.roads_settings import surroundings
from maps.straight_line import great_circle_m
from planner.faults import PlannerError

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Progress = Callable[[str], None]

LARGE_BYTES = 200_000_000  # from here on node positions go to disk
SPACING_M = 60.0  # the drawn line keeps a point about so often
QUAY_M = 3000.0  # a ferry of the extract is the curated one whose quays are both so near its ends
LEAST_PART = 12  # separate pieces of fewer junctions are car parks and islands of private road


class BadExtract(PlannerError):
    """A file that is no OpenStreetMap extract, is damaged, or holds no roads."""

    def __init__(self, path: Path, reason: str, advice: str) -> None:
        self.path, self.reason = path, reason
        super().__init__(f"{path}: {reason}. {advice}")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Ways:
    """Roads as they stand in the extract: way ``w`` has the nodes ``at[w]`` to ``at[w + 1]``; the rest is one a way."""

    at: Ints
    node: Ints
    lng: Floats
    lat: Floats
    road_class: Ints
    direction: Ints
    limit_kmh: Ints
    max_height_mm: Ints
    max_width_mm: Ints
    max_mass_kg: Ints
    ferry_s: Ints
    name: Ints
    names: npt.NDArray[np.str_]


def import_extract(path: Path, out: Path, *, progress: Progress = lambda _: None) -> RoadNetwork:
    """
    Write the network of an extract to ``out``, whole or not at all, and return it.

    Raises
    ------
    BadExtract
        If the file is missing, damaged, of another kind, or holds no roads, or if the reader is not installed.

    """
    from maps.roads_order import order

    if find_spec("osmium") is None:
        raise BadExtract(path, "reading an extract needs the extra 'roads'", "Install it: pip install 'homeleg[roads]'.")
    if not path.is_file():
        raise BadExtract(path, "there is no such file", "Check the path.")
    _check_out(path, out)
    stat = path.stat()
    kept = out.with_name(f".{out.name}.{stat.st_size}-{int(stat.st_mtime)}.part.npz")
    ways = _kept_ways(kept)
    if ways is None:
        progress("Reading the roads of the extract ...")
        ways = read_ways(path, progress=progress)
        _write(kept, ways)
    else:
        progress("Going on with the roads that were read before ...")
    progress(f"{len(ways.road_class):,} ways with {len(ways.node):,} points; finding the junctions ...")
    network = to_network(ways)
    progress(f"{network.num_nodes:,} junctions, {network.num_edges:,} edges; putting them in order ...")
    network = replace(network, rank=order(network).astype(np.int32), source=path.name)
    part = out.with_name(f".{out.name}.part")
    part.write_bytes(to_bytes(network))
    part.replace(out)
    kept.unlink(missing_ok=True)
    return network


def _check_out(path: Path, out: Path) -> None:
    """Refuse a place for the network that cannot be written, before an hour is spent on reading."""
    if out.is_dir() or (out.exists() and out.samefile(path)):
        raise BadExtract(out, f"is {'a folder' if out.is_dir() else 'the extract itself'}", "Give another file with --out.")
    try:
        with tempfile.TemporaryFile(dir=out.parent):
            pass
    except OSError as fault:
        raise BadExtract(out, f"cannot be written ({fault.strerror})", "Give a folder that is there with --out.") from fault


def _kept_ways(kept: Path) -> Ways | None:
    try:
        with kept.open("rb") as file, np.load(file, allow_pickle=False) as held:
            return Ways(**{name: held[name] for name in Ways.__dataclass_fields__})
    except (OSError, KeyError, ValueError, EOFError, BadZipFile):
        return None


def _write(kept: Path, ways: Ways) -> None:
    part = kept.with_name(kept.name + ".writing")
    with part.open("wb") as file:
        np.savez(file, **{name: getattr(ways, name) for name in Ways.__dataclass_fields__})
    part.replace(kept)


def read_ways(path: Path, *, progress: Progress = lambda _: None) -> Ways:
    """Return the drivable ways and ferries of an extract, each with the positions of its points."""
    with tempfile.TemporaryDirectory(
        prefix="homeleg-nodes-", dir=path.parent if path.stat().st_size > LARGE_BYTES else None
    ) as folder:
        store = f"sparse_file_array,{folder}/nodes" if path.stat().st_size > LARGE_BYTES else "flex_mem"
        try:
            ways = _gather(path, store, progress)
        except (RuntimeError, OSError) as fault:
            raise BadExtract(path, f"cannot be read as an OpenStreetMap extract ({fault})", "Fetch the file again.") from fault
    if not len(ways.road_class):
        raise BadExtract(path, "holds no roads for motor vehicles", "Take an extract with all roads of your area.")
    return ways


def _gather(path: Path, store: str, progress: Progress) -> Ways:
    import osmium

    node, lng, lat = array("q"), array("d"), array("d")
    at = array("q", [0])
    columns = {
        name: array("q")
        for name in ("road_class", "direction", "limit_kmh", "max_height_mm", "max_width_mm", "max_mass_kg", "ferry_s", "name")
    }
    names: dict[str, int] = {"": 0}
    reader: Any = osmium.FileProcessor(str(path)).with_locations(store).with_filter(osmium.filter.EntityFilter(osmium.osm.WAY))
    for way in reader.with_filter(osmium.filter.KeyFilter("highway", "route")):
        tags = dict(way.tags)
        kind = tags_of.road_class(tags)
        if kind is None:
            continue
        points = [(ref.ref, ref.location.lon, ref.location.lat) for ref in way.nodes if ref.location.valid()]
        if len(points) < 2:
            continue
        for ref, east, north in points:
            node.append(ref)
            lng.append(east)
            lat.append(north)
        at.append(len(node))
        _put(columns, tags, kind, names, _length_m(points))
        if len(at) % 200_000 == 0:
            progress(f"{len(at) - 1:,} ways read ...")
    held = {name: np.array(column, dtype=np.int64) for name, column in columns.items()}
    return Ways(
        at=np.array(at),
        node=np.array(node, dtype=np.int64),
        lng=np.array(lng),
        lat=np.array(lat),
        names=np.array(list(names)),
        **held,
    )


def _put(columns: dict[str, "array[int]"], tags: dict[str, str], kind: RoadClass, names: dict[str, int], metres: float) -> None:
    name = tags.get("ref", "") or (tags.get("name", "") if kind is RoadClass.FERRY else "")
    columns["road_class"].append(int(kind))
    columns["direction"].append(tags_of.direction(tags))
    columns["limit_kmh"].append(tags_of.speed_kmh(tags.get("maxspeed", "")))
    columns["max_height_mm"].append(tags_of.length_mm(tags.get("maxheight", "")))
    columns["max_width_mm"].append(tags_of.length_mm(tags.get("maxwidth", "")))
    columns["max_mass_kg"].append(tags_of.largest_kg(tags))
    columns["ferry_s"].append(tags_of.ferry_s(tags, metres) if kind is RoadClass.FERRY else 0)
    columns["name"].append(names.setdefault(name, len(names)))


def _length_m(points: list[tuple[int, float, float]]) -> float:
    lng, lat = np.array([point[1] for point in points]), np.array([point[2] for point in points])
    return float(great_circle_m(lng[:-1], lat[:-1], lng[1:], lat[1:]).sum())


def to_network(ways: Ways) -> RoadNetwork:
    """Return the network of ways cut where they meet; pieces joined to nothing else are left out."""
    _, node = np.unique(ways.node, return_inverse=True)
    is_end = np.zeros(len(node), dtype=bool)
    is_end[ways.at[:-1]] = is_end[ways.at[1:] - 1] = True
    cut_here = (np.bincount(node)[node] > 1) | is_end
    way = np.repeat(np.arange(len(ways.at) - 1), np.diff(ways.at))
    is_last = np.zeros(len(node), dtype=bool)
    is_last[ways.at[1:] - 1] = True
    step = np.zeros(len(node))
    step[:-1] = great_circle_m(ways.lng[:-1], ways.lat[:-1], ways.lng[1:], ways.lat[1:])
    step[is_last] = 0
    start = np.flatnonzero(cut_here & ~is_last)
    cuts = np.flatnonzero(cut_here)
    stop = cuts[np.searchsorted(cuts, start, side="right")]
    run = np.r_[0, np.cumsum(step)]
    metres = run[stop] - run[start]
    return _assembled(ways, way[start], start, stop, node, metres, run)


def _assembled(ways: Ways, way: Ints, start: Ints, stop: Ints, node: Ints, metres: Floats, run: Floats) -> RoadNetwork:
    keep = _in_large_parts(node[start], node[stop], ways.road_class[way])
    ferry_s = _ferry_shares(ways, way, metres)
    way, start, stop, metres, ferry_s = way[keep], start[keep], stop[keep], metres[keep], ferry_s[keep]
    used, ends = np.unique(np.r_[node[start], node[stop]], return_inverse=True)
    tail, head = ends[: len(start)], ends[len(start) :]
    first = np.zeros(int(node.max()) + 1, dtype=np.int64)
    first[node[::-1]] = np.arange(len(node))[::-1]
    inner, shape_at = _thinned(start, stop, run)
    back = ways.direction[way] < 0
    rest: dict[str, Any] = blank(len(way))
    rest.update(
        one_way=ways.direction[way] != 0,
        ferry_s=ferry_s.astype(np.int32),
        charge=_ferry_charges(ways)[way],
        name=ways.name[way].astype(np.int32),
        limit_kmh=ways.limit_kmh[way].astype(np.int16),
        max_height_mm=ways.max_height_mm[way].astype(np.int32),
        max_width_mm=ways.max_width_mm[way].astype(np.int32),
        max_mass_kg=ways.max_mass_kg[way].astype(np.int32),
        shape_at=shape_at.astype(np.int32),
        shape=np.stack([ways.lng[inner], ways.lat[inner]], axis=1),
    )
    lng, lat = ways.lng[first[used]], ways.lat[first[used]]
    middle = start + (stop - start) // 2
    setting, nation, _ = surroundings().at(ways.lng[middle], ways.lat[middle])
    rest["setting_percent"] = (np.arange(len(Setting))[None, :] == setting[:, None]).astype(np.uint8) * np.uint8(100)
    rest["nation"] = nation
    network = RoadNetwork(
        node_lng=lng,
        node_lat=lat,
        tail=np.where(back, head, tail).astype(np.int32),
        head=np.where(back, tail, head).astype(np.int32),
        metres=np.maximum(np.round(metres), 1).astype(np.int32),
        road_class=ways.road_class[way].astype(np.uint8),
        names=tuple(str(name) for name in ways.names),
        charge_keys=tuple(row["key"] for row in packaged_rows("ferries.csv")),
        bounds=(float(lng.min()), float(lat.min()), float(lng.max()), float(lat.max())),
        **rest,
    )
    return _with_lines_turned(network, back)


def _with_lines_turned(network: RoadNetwork, back: npt.NDArray[np.bool_]) -> RoadNetwork:
    """Return the network with the drawn points of edges that run against their way put the other way round."""
    shape = network.shape.copy()
    for edge in np.flatnonzero(back):
        span = slice(int(network.shape_at[edge]), int(network.shape_at[edge + 1]))
        shape[span] = shape[span][::-1]
    return replace(network, shape=shape)


def _ferry_shares(ways: Ways, way: Ints, metres: Floats) -> Ints:
    """Return the seconds of each piece of a ferry: a crossing with stops takes no longer than the whole of it."""
    whole = np.bincount(way, metres, minlength=len(ways.at) - 1)
    return np.round(ways.ferry_s[way] * metres / np.maximum(whole[way], 1e-9)).astype(np.int64)


def _ferry_charges(ways: Ways) -> npt.NDArray[np.int16]:
    """Return for each way which curated ferry it is, by its ends, so that a path can tell to book it; -1 for any other."""
    found = np.full(len(ways.road_class), -1, np.int16)
    ferry = np.flatnonzero(ways.road_class == RoadClass.FERRY)
    ends = ways.at[ferry], ways.at[ferry + 1] - 1
    nearest = np.full(len(ferry), QUAY_M)
    for index, row in enumerate(packaged_rows("ferries.csv")):
        quays = [(float(row[f"{end}_lng"]), float(row[f"{end}_lat"])) for end in ("from", "to")]
        for first, last in (quays, quays[::-1]):
            away = np.maximum(*(
                great_circle_m(ways.lng[end], ways.lat[end], np.full(len(ferry), lng), np.full(len(ferry), lat))
                for end, (lng, lat) in zip(ends, (first, last), strict=True)
            ))  # fmt: skip
            found[ferry[away < nearest]] = index
            nearest = np.minimum(nearest, away)
    return found


def _in_large_parts(tail: Ints, head: Ints, road_class: Ints) -> npt.NDArray[np.bool_]:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    count = int(max(tail.max(), head.max())) + 1
    _, part = connected_components(coo_matrix((np.ones(len(tail)), (tail, head)), (count, count)), directed=False)
    size = np.bincount(part[np.unique(np.r_[tail, head])], minlength=int(part.max()) + 1)
    with_ferry = np.zeros(len(size), dtype=bool)
    with_ferry[part[tail[road_class == RoadClass.FERRY]]] = True
    good = (size >= LEAST_PART) | with_ferry | (size == size.max())
    return np.asarray(good[part[tail]])


def _thinned(start: Ints, stop: Ints, run: Floats) -> tuple[Ints, Ints]:
    """Return the inner points of each edge that its drawn line keeps, and where each edge's begin."""
    count = np.maximum(stop - start - 1, 0)
    edge = np.repeat(np.arange(len(start)), count)
    point = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + start[edge] + 1
    along = run[point] - run[start[edge]]
    before = run[point - 1] - run[start[edge]]
    keep = np.floor(along / SPACING_M) > np.floor(before / SPACING_M)
    kept = np.bincount(edge[keep], minlength=len(start))
    return point[keep], np.r_[0, np.cumsum(kept)]
