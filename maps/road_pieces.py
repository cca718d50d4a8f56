"""Separate pieces of a road network: roads that nothing but a boat reaches, or that the source left unjoined."""

from dataclasses import dataclass

from maps.roads import RoadNetwork


@dataclass(frozen=True, kw_only=True, slots=True)
class Piece:
    """One connected piece, ferries counted as roads; ``lng`` and ``lat`` are those of its middle junction."""

    junctions: int
    lng: float
    lat: float


def road_pieces(network: RoadNetwork) -> tuple[Piece, ...]:
    """Return the connected pieces of a network, largest first; one-way streets join both ways here."""
    import networkx as nx

    graph = nx.Graph()
    graph.add_edges_from(zip(network.tail.tolist(), network.head.tolist(), strict=True))
    found = []
    for nodes in nx.connected_components(graph):
        inside = sorted(nodes, key=lambda node: (network.node_lng[node], node))
        middle = inside[len(inside) // 2]
        lng, lat = float(network.node_lng[middle]), float(network.node_lat[middle])
        found.append(Piece(junctions=len(inside), lng=lng, lat=lat))
    return tuple(sorted(found, key=lambda piece: (-piece.junctions, piece.lng)))
