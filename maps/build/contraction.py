"""Contracts junctions where only two pieces of one road meet into one edge whose line keeps them."""

import numpy as np
import numpy.typing as npt

from maps.build.ferries import Crossings
from maps.build.source_roads import RawRoads
from maps.roads import RoadClass, RoadNetwork, blank


def contract(
    roads: RawRoads,
    road_class: npt.NDArray[np.int64],
    metres: npt.NDArray[np.float64],
    percent: npt.NDArray[np.uint8],
    nation: npt.NDArray[np.uint8],
    crossings: Crossings,
    names: list[str],
) -> RoadNetwork:
    """Return the network: chains of edges alike in class, nation and charge become one, longest chains first come."""
    count, num_edges = len(roads.lng), len(roads.tail)
    touching: list[list[int]] = [[] for _ in range(count)]
    for edge in range(num_edges):
        touching[roads.tail[edge]].append(edge)
        touching[roads.head[edge]].append(edge)
    known, name = np.unique(np.array(["", *names]), return_inverse=True)
    name = name[1:]
    alike = np.stack([road_class, nation, crossings.charge, name], axis=1)

    def passes(node: int) -> bool:
        if len(touching[node]) != 2:
            return False
        one, two = touching[node]
        ends = {int(roads.tail[one]), int(roads.head[one]), int(roads.tail[two]), int(roads.head[two])}
        return (
            one != two
            and road_class[one] != RoadClass.FERRY
            and road_class[two] != RoadClass.FERRY
            and bool((alike[one] == alike[two]).all())
            and len(ends) == 3
        )

    through = [passes(node) for node in range(count)]
    used = np.zeros(num_edges, dtype=bool)
    chains: list[tuple[list[int], list[int]]] = []  # nodes along, edges along

    def follow(node: int, edge: int) -> tuple[list[int], list[int]]:
        nodes, edges = [node], []
        while True:
            used[edge] = True
            edges.append(edge)
            node = int(roads.head[edge] if roads.tail[edge] == node else roads.tail[edge])
            nodes.append(node)
            onward = [each for each in touching[node] if not used[each]] if through[node] else []
            if not onward or node == nodes[0]:
                return nodes, edges
            edge = onward[0]

    for node in range(count):
        if not through[node]:
            chains += [follow(node, edge) for edge in touching[node] if not used[edge]]
    chains += [follow(int(roads.tail[edge]), edge) for edge in range(num_edges) if not used[edge]]  # rings
    return _network(roads, road_class, metres, percent, nation, crossings, chains, known, name)


def _network(  # noqa: PLR0917 - what the chains are cut from
    roads: RawRoads,
    road_class: npt.NDArray[np.int64],
    metres: npt.NDArray[np.float64],
    percent: npt.NDArray[np.uint8],
    nation: npt.NDArray[np.uint8],
    crossings: Crossings,
    chains: list[tuple[list[int], list[int]]],
    known: npt.NDArray[np.str_],
    name: npt.NDArray[np.int64],
) -> RoadNetwork:
    kept = np.unique([node for nodes, _ in chains for node in (nodes[0], nodes[-1])])
    new = np.full(len(roads.lng), -1)
    new[kept] = np.arange(len(kept))
    first = np.array([edges[0] for _, edges in chains])
    inner = [np.array(nodes[1:-1], dtype=np.int64) for nodes, _ in chains]
    shape_at = np.zeros(len(chains) + 1, np.int32)
    shape_at[1:] = np.cumsum([len(each) for each in inner])
    along = np.concatenate(inner) if inner else np.zeros(0, np.int64)
    rest = blank(len(chains))
    weight = [metres[edges] for _, edges in chains]
    shares = np.array(
        [(percent[edges] * w[:, None]).sum(axis=0) / max(w.sum(), 1e-9) for (_, edges), w in zip(chains, weight, strict=True)]
    )
    whole = np.floor(shares).astype(np.int64)
    whole[np.arange(len(whole)), shares.argmax(axis=1)] += 100 - whole.sum(axis=1)
    rest.update(
        name=name[first].astype(np.int32),
        shape_at=shape_at,
        shape=np.stack([roads.lng[along], roads.lat[along]], axis=1),
        nation=nation[first].astype(np.uint8),
        setting_percent=whole.astype(np.uint8),
        charge=crossings.charge[first].astype(np.int16),
        ferry_s=crossings.ferry_s[first].astype(np.int32),
    )
    return RoadNetwork(
        node_lng=roads.lng[kept],
        node_lat=roads.lat[kept],
        tail=new[[nodes[0] for nodes, _ in chains]].astype(np.int32),
        head=new[[nodes[-1] for nodes, _ in chains]].astype(np.int32),
        metres=np.maximum(1, np.round([w.sum() for w in weight])).astype(np.int32),
        road_class=road_class[first].astype(np.uint8),
        charge_keys=crossings.keys,
        names=tuple(str(each) for each in known),
        bounds=(float(roads.lng.min()), float(roads.lat.min()), float(roads.lng.max()), float(roads.lat.max())),
        **rest,
    )
