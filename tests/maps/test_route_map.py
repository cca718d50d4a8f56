"""The drawn map: folium's page without the network, and the lines on it."""

import re
from itertools import pairwise

from maps.base_map import coast, towns
from maps.lines import thinned
from maps.main_roads import chains, main_roads
from maps.roads import built_in
from maps.route_map import route_map
from planner.sheets.legs import legs
from planner.sheets.tracks import straight
from tests.sheet_days import a_day, a_plan, plate_run


def test_the_map_asks_the_network_for_nothing():
    parts = route_map(a_day(), a_plan())
    for part in (parts.head, parts.body, parts.script):
        assert re.findall(r"""(?:src|href)=["'](?!data:)""", part) == []
        assert "http" not in re.sub(r"base64,[^\"']+", "", part)


def test_equal_plans_give_equal_maps():
    assert route_map(a_day(), a_plan()) == route_map(a_day(), a_plan())


def test_every_run_is_in_the_register_of_the_page():
    script = route_map(a_day(), a_plan()).script
    register = script[script.rindex("window.routeMap"):]
    assert re.findall(r'"(R\d+)": parts', register) == ["R1", "R2", "R3"]


def test_drives_that_a_break_divides_are_one_leg():
    there, back = legs(a_day(), plate_run())
    assert (there.metres, there.minutes) == (200_000, 180)
    assert (back.metres, back.minutes) == (200_000, 180)


def test_geometry_is_asked_for_once_a_leg_and_drawn():
    asked = []

    def roads(origin, destination, vehicle_class):
        asked.append((origin.name, destination.name, vehicle_class))
        return [(origin.lng, origin.lat), (-2.0, 51.9), (destination.lng, destination.lat)]

    script = route_map(a_day(), a_plan(), roads).script
    assert len(asked) == 6
    assert len(re.findall(r"-2\.0, 51\.9", script)) == 6


def test_thinning_keeps_both_ends_and_every_bend():
    line = [(0.0, 0.0), (0.5, 0.0005), (1.0, 0.0), (1.0, 1.0)]
    assert thinned(line) == [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0)]
    assert thinned(line, 0.0001) == line
    assert thinned(line[:2]) == line[:2]


def test_straight_lines_go_from_end_to_end():
    day = a_day()
    assert straight(day.places[0], day.places[1], "car") == ((-1.16, 52.26), (-3.10, 51.02))


def test_the_coast_holds_the_towns():
    """A town on the drawn map lies on drawn land, within the 2 km to which Natural Earth 1:10m rounds a coast (from memory)."""
    rings = [ring[0] for ring in coast()["coordinates"]]

    def inside(x, y, ring):
        odd = False
        for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1], strict=True):
            if (y1 > y) != (y2 > y) and x < (x2 - x1) * (y - y1) / (y2 - y1) + x1:
                odd = not odd
        return odd

    shifts = [(dx, dy) for dx in (-0.03, 0, 0.03) for dy in (-0.02, 0, 0.02)]
    wet = [town.name for town in towns() if not any(inside(town.lng + dx, town.lat + dy, ring) for ring in rings for dx, dy in shifts)]
    assert wet == []
    assert len(towns()) > 60


def test_chains_use_every_pair_once_and_close_rings():
    ring = [(1, 2), (2, 3), (1, 3)]
    assert chains(ring) == [[1, 2, 3, 1]]
    pairs = [(1, 2), (2, 3), (3, 4), (3, 5), (6, 7), (7, 8), (6, 8)]
    used = [frozenset(pair) for chain in chains(pairs) for pair in pairwise(chain)]
    assert sorted(map(sorted, used)) == sorted(map(sorted, pairs))


def test_main_roads_are_light_enough_to_draw_and_lie_in_the_country():
    lines = main_roads(built_in())
    points = [point for line in lines for point in line]
    assert 100 < len(points) < 12_000
    assert all(-8.7 < lng < 1.9 and 49.8 < lat < 60.9 for lng, lat in points)
