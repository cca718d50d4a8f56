"""Writes invented OpenStreetMap extracts for tests: a grid of roads of any size, and a small town with every kind of sign."""

import math

import osmium


def way(number, nodes, **tags):
    return osmium.osm.mutable.Way(id=number, nodes=nodes, tags=tags, version=1)


def node(number, lng, lat):
    return osmium.osm.mutable.Node(id=number, location=(lng, lat), version=1)


def write_town(path):
    """
    A square of 1 to 4 with a low bridge on its south side, a one-way street, a ferry to 20-21, and what must be left out.

    Rings of junctions hang on each corner, so that the town counts as a large part.
    """
    corners = {1: (-1.50, 52.00), 2: (-1.44, 52.00), 3: (-1.44, 52.03), 4: (-1.50, 52.03)}
    with osmium.SimpleWriter(str(path), overwrite=True) as out:
        for number, place in corners.items():
            out.add_node(node(number, *place))
        for step in range(1, 10):
            out.add_node(node(100 + step, -1.50 + 0.006 * step, 52.00))
        for spoke in range(12):
            out.add_node(node(200 + spoke, -1.50 - 0.001 * (spoke + 1), 52.03 + 0.002 * math.sin(spoke)))
        out.add_node(node(20, -1.40, 52.00))
        out.add_node(node(21, -1.39, 52.00))
        out.add_node(node(30, -1.45, 52.01))
        out.add_node(node(31, -1.46, 52.01))
        out.add_way(way(1, [1, *range(101, 110), 2], highway="primary", ref="A999", maxheight="3.5"))
        out.add_way(way(2, [2, 3], highway="trunk", oneway="yes", maxspeed="50 mph"))
        out.add_way(way(3, [4, 3], highway="secondary", oneway="-1"))
        out.add_way(way(4, [4, 1], highway="unclassified", maxweight="7.5"))
        out.add_way(way(5, [2, 20], route="ferry", duration="00:20", name="Town ferry"))
        out.add_way(way(6, [20, 21], highway="residential"))
        out.add_way(way(7, [1, 3], highway="footway"))
        out.add_way(way(8, [1, 3], highway="primary", access="private"))
        out.add_way(way(9, [30, 31], highway="residential"))
        out.add_way(way(10, [4, *range(200, 212)], highway="residential"))
        for spoke in range(12):
            out.add_way(way(50 + spoke, [200 + spoke, 200 + (spoke + 1) % 12], highway="residential"))


def write_grid(path, nodes):
    """Write about ``nodes`` nodes: roads on a grid, each block side of twelve points."""
    side = max(3, round(math.sqrt(nodes / 23)))
    step_lng, step_lat = 5.5 / side, 5.0 / side
    with osmium.SimpleWriter(str(path), overwrite=True) as out:
        number = 1
        for row in range(side):
            for column in range(side * 12):
                out.add_node(node(number, -4.0 + column * step_lng / 12, 51.0 + row * step_lat))
                number += 1
        between = number
        for row in range(side - 1):
            for column in range(side):
                for part in range(1, 12):
                    out.add_node(node(number, -4.0 + column * step_lng, 51.0 + (row + part / 12) * step_lat))
                    number += 1
        kinds = ("residential", "secondary", "primary")
        way_number = 1
        for row in range(side):
            for column in range(side - 1):
                first = 1 + row * side * 12 + column * 12
                out.add_way(way(way_number, list(range(first, first + 13)), highway=kinds[row % 3]))
                way_number += 1
        for row in range(side - 1):
            for column in range(side):
                start = between + (row * side + column) * 11
                ends = 1 + row * side * 12 + column * 12, 1 + (row + 1) * side * 12 + column * 12
                out.add_way(way(way_number, [ends[0], *range(start, start + 11), ends[1]], highway=kinds[column % 3]))
                way_number += 1
    return number - 1, way_number - 1
