"""The built-in network is one piece but for islands, and the pieces are those that networkx finds."""

from maps.road_pieces import road_pieces
from maps.roads import built_in


def test_the_mainland_is_one_piece():
    network = built_in()
    mainland, *others = road_pieces(network)
    assert mainland.junctions + sum(piece.junctions for piece in others) <= network.num_nodes
    assert mainland.junctions > 0.98 * network.num_nodes
    assert all(piece.junctions < 200 for piece in others)
