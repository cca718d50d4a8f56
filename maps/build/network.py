"""
Builds ``maps/data/roads.npz``, the road network of Great Britain that comes with the project.

Run: ``python -m maps.build.network --world FILE`` where FILE is ``world_highways.py`` of scgraph_data 2.  Curated tables
beside the result (``road_links.csv``, ``water.csv``, ``ferries.csv``) settle what the source lacks, a reason in each row.
"""

import argparse
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from maps.build import classes, contraction, ferries, gaps, lanes, settings, streets
from maps.build.source_roads import RawRoads, cut_to_britain
from maps.roads import RoadClass, RoadNetwork, to_bytes
from maps.roads_order import order
from maps.water import water

DATA = Path(__file__).parent.parent / "data"
#: Driven metres over the metres of the source, by class: what its simplification took off (minor: curated links alone).
WINDING = np.array([1.018, 1.041, 1.054, 1.09])
#: The same again for curated links that are no motorway or dual carriageway: few points stand for their bends, and fewer
#: the more so (more for each kilometre from point to point, up to as much).
CURATED_WINDING, BENDS_A_KM, MOST_CURATED_WINDING = 1.035, 0.005, 1.13
#: What single carriageways allow, km/h: main roads of the table (those of ``settings.WIDE`` more), other A roads, B roads
#: (and those of ``settings.NARROW``).
MAIN_ROAD_KMH, A_ROAD_KMH, B_ROAD_KMH = 79, 74, 64
#: The same again for the source's main roads of the table, which were straightened.
MAIN_WINDING = 0.985
#: The same again for those that are single carriageways, by nation, and where the country is bare.
MAIN_NATION_WINDING, MAIN_BARE_WINDING = np.array([1.0, 1.01, 1.0]), 1.05
#: The same again for all else but curated links by nation (England, Scotland, Wales) and class: lochs and valleys wind more.
NATION_WINDING = np.array([[1.0, 1.0, 1.0, 1.0], [1.0, 1.0, 1.01, 1.34], [1.0, 1.0, 1.02, 1.12]])
#: The same again for edges so short that the source shows their bends, motorways apart: in towns above all.
DETAILED_M, DETAILED_WINDING = 3000, 0.95
#: The same again by class where the country is bare: over hill and moor.
BARE_WINDING = np.array([1.0, 1.01, 1.05, 1.2])


def country_winding(roads: RawRoads, road_class: npt.NDArray[np.int64]) -> npt.NDArray[np.float64]:
    """Return how much more each edge winds for the country it runs through."""
    _, nation, bare = settings.along(roads)
    return np.asarray(NATION_WINDING[nation, road_class] * (1 + bare * (BARE_WINDING[road_class] - 1)))


def main_winding(roads: RawRoads, road_class: npt.NDArray[np.int64]) -> npt.NDArray[np.float64]:
    """Return how much more each edge winds if it is a main road of the table: single carriageways follow the hills."""
    _, nation, bare = settings.along(roads)
    hills = MAIN_NATION_WINDING[nation] * (1 + bare * (MAIN_BARE_WINDING - 1))
    return np.asarray(MAIN_WINDING * np.where(road_class == RoadClass.SINGLE, hills, 1.0))


def curated_winding(straight_m: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return how much more curated links wind from point to point of theirs."""
    return np.minimum(CURATED_WINDING + BENDS_A_KM * straight_m / 1000, MOST_CURATED_WINDING)


def goes_round(names: list[str], road_class: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
    """Return which edges are of main roads of the table that go round their towns, motorways apart."""
    main = {route.name for route in classes.read_routes(DATA / "main_roads.csv")} - settings.THROUGH
    return np.asarray(np.array([name in main for name in names]) & (road_class != RoadClass.MOTORWAY))


@dataclass(kw_only=True, slots=True)
class Classified:
    """The roads of the source with the curated links and those of the scan, each edge with its class and name."""

    roads: RawRoads
    road_class: npt.NDArray[np.int64]
    names: list[str]
    chosen: list[gaps.Link]
    first_link: int  # edge at which the curated links begin
    of_link: npt.NDArray[np.int64]  # of each of their edges
    num_found: int

    @property
    def links(self) -> slice:
        """The edges of the curated links."""
        return slice(self.first_link, self.first_link + len(self.of_link))


def classified(roads: RawRoads) -> Classified:
    """Return the source's roads with what they lack, and the class and name of each."""
    motorway = classes.motorways(roads, DATA / "main_roads.csv")
    roads, chosen = gaps.curated(DATA / "road_links.csv", roads, motorway)
    first_link = len(roads.tail)
    roads, of_link = gaps.add(roads, chosen)
    found = gaps.scan(roads, water=water())
    roads, _ = gaps.add(roads, found)
    road_class, names = classes.classify(roads, DATA / "main_roads.csv")
    for number, link in enumerate(of_link, start=first_link):
        road_class[number], names[number] = RoadClass[chosen[link].road_class.upper()], chosen[link].name
    return Classified(
        roads=roads, road_class=road_class, names=names, chosen=chosen, first_link=first_link, of_link=of_link,
        num_found=len(found),
    )  # fmt: skip


def driven_metres(known: Classified) -> npt.NDArray[np.float64]:
    """Return the driven metres of each edge."""
    roads, road_class, links = known.roads, known.road_class, known.links
    bends = np.where(
        goes_round(known.names, road_class), main_winding(roads, road_class), country_winding(roads, road_class)
    )
    bends[links] = np.where(road_class[links] >= RoadClass.SINGLE, curated_winding(roads.straight_m()[links]), 1.0)
    bends *= np.where((roads.straight_m() < DETAILED_M) & (road_class != RoadClass.MOTORWAY), DETAILED_WINDING, 1.0)
    metres = np.asarray(roads.source_m * WINDING[road_class] * bends)
    gaps.known_lengths(known.chosen, known.of_link, metres[links])
    return metres


def finished(known: Classified) -> tuple[RoadNetwork, int]:
    """Return the network, and how many links joined pieces of it that stood by themselves."""
    roads, road_class, metres, names = lanes.split(known.roads, known.road_class, driven_metres(known), known.names)
    roads, road_class, metres, names = streets.infer(roads, road_class, metres, names, water())
    num_known = len(metres)
    roads, road_class, metres, names = lanes.infer(roads, road_class, metres, names, water())
    parts = gaps.bridge_parts(roads, water=water())
    roads, of_part = gaps.add(roads, parts)
    road_class = np.r_[road_class, np.full(len(of_part), RoadClass.MINOR)]
    metres = np.r_[metres, roads.source_m[len(metres) :] * lanes.RULE.winding]
    metres[num_known:] *= country_winding(roads, road_class)[num_known:]
    roads, road_class, metres, crossings = ferries.join(DATA / "ferries.csv", roads, road_class, metres)
    names += [""] * (len(roads.tail) - len(names))
    percent, nation, _ = settings.along(roads)
    percent = settings.past_towns(percent, goes_round(names, road_class))
    percent = settings.over_hills(percent, np.isin(names, list(settings.WIDE)))
    network = contraction.contract(roads, road_class, metres, percent, nation, crossings, names)
    network = replace(network, limit_kmh=allowed_kmh(network))
    return replace(network, rank=order(network).astype(np.int32)), len(parts)


def allowed_kmh(network: RoadNetwork) -> npt.NDArray[np.int16]:
    """Return what each edge allows, km/h, by what kind of single carriageway it is; 0 where its class says all."""
    main = {route.name for route in classes.read_routes(DATA / "main_roads.csv")}
    by_name = [
        0 if name in settings.WIDE
        else MAIN_ROAD_KMH if name in main
        else B_ROAD_KMH if name.startswith("B") or name in settings.NARROW
        else A_ROAD_KMH
        for name in network.names
    ]  # fmt: skip
    return np.where(network.road_class == RoadClass.SINGLE, np.array(by_name)[network.name], 0).astype(np.int16)


def main() -> None:
    """Build the file and say what it holds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--world", type=Path, required=True)
    parser.add_argument("--out", type=Path, default=DATA / "roads.npz")
    given = parser.parse_args()
    known = classified(cut_to_britain(given.world))
    network, num_parts = finished(known)
    given.out.write_bytes(to_bytes(network))
    (DATA / "settings.npz").write_bytes(settings.to_bytes())
    sys.stdout.write(
        f"{len(known.chosen)} curated, {known.num_found} scanned and {num_parts} joining links; "
        f"{network.num_nodes:,} nodes, {network.num_edges:,} edges, "
        f"{network.metres.sum() / 1e6:,.1f} thousand km, {given.out.stat().st_size:,} bytes\n"
    )


if __name__ == "__main__":
    main()
