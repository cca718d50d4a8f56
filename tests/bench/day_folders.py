"""
Day folders over real postcodes: orders, crews and compounds of an invented retailer, of any size, from a seed.

``python -m tests.bench.day_folders DIR [--moves N] [--compounds N] [--window MINUTES] [--seed N]`` writes one, to be planned like any
other.  Doors are postcodes drawn from the built-in table, so they lie as thickly as people do; nobody named lives there.  Rates and
hired carriers are those of the demo day.
"""

import argparse
import csv
import math
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np

from cli.geography import open_day
from maps.postcodes import code_of, find, shown, table
from planner.model.day import Day
from tests.bench.invented_days import Shape

DEMO = Path(__file__).parents[2] / "demo_data" / "demo_day"
DAY = "2026-11-26"
POLICY = f'day = {DAY}\nretailer = "Larch & Linnet Cars"\nblank_gates = "passed"\nlate_first_day_pence = 200_000\n'
COMPOUNDS = {"Daventry": "NN11 8QL", "Normanton": "WF6 1TN", "Swindon": "SN3 4TN", "Hatfield": "AL10 9TW", "Livingston": "EH54 8SB"}
DECKS = {1: ("one-car-3500", 3500, 1400), 2: ("two-car-7500", 7500, 3000), 4: ("four-car-rigid", 18000, 8400),
         6: ("six-car-rigid", 26000, 11500), 9: ("nine-car-drawbar", 22000, 16800)}  # fmt: skip
BODIES = ("city car", "supermini", "supermini", "hatchback", "hatchback", "saloon", "estate", "small suv", "large suv", "electric hatchback", "electric small suv")
STANDS_NEAREST = 0.75  # share of cars that stand at the compound nearest their buyer
NORTHERNMOST_M = 900_000  # no door north of it, so that no day has one in the northern isles
CREWS_A_DECK = {1: 1.2, 2: 2.4, 4: 4.0, 6: 6.0, 9: 9.0}  # moves that a transporter of that deck is there for

Row = Mapping[str, object]


def day_over_postcodes(shape: Shape, seed: int) -> Day:
    """Return the day of that shape over real postcodes and the built-in roads; the same seed gives the same day."""
    with tempfile.TemporaryDirectory() as kept:
        write_folder(Path(kept), shape, seed)
        return open_day(Path(kept))


def write_folder(folder: Path, shape: Shape, seed: int) -> None:
    """Write the files of a day of that shape."""
    rng = np.random.default_rng(seed)
    folder.mkdir(parents=True, exist_ok=True)
    hubs = dict(list(COMPOUNDS.items())[: shape.compounds])
    drivers, transporters = _crews(shape, list(hubs), rng)
    write_rows(folder / "orders.csv", _orders(shape, hubs, rng))
    write_rows(folder / "drivers.csv", drivers)
    write_rows(folder / "transporters.csv", transporters)
    write_rows(folder / "compounds.csv", (
        {"compound": name, "postcode": code, "opens": "05:00", "closes": "22:00", "plate_sets": max(4, shape.moves // 5)} for name, code in hubs.items()
    ))  # fmt: skip
    (folder / "policy.toml").write_text(POLICY, encoding="utf-8")
    for name in ("rates.toml", "carriers.csv"):
        shutil.copy(DEMO / name, folder / name)


def write_rows(path: Path, rows: Iterable[Row]) -> None:
    """Write rows as a CSV file, a column for each heading that any of them has."""
    found = list(rows)
    headings = list(dict.fromkeys(heading for row in found for heading in row))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, headings)
        writer.writeheader()
        writer.writerows(found)


def _orders(shape: Shape, hubs: Mapping[str, str], rng: np.random.Generator) -> list[Row]:
    """Return orders of as many moves as are asked for."""
    places = {name: find(code) for name, code in hubs.items()}
    rows: list[Row] = []
    moves = 0
    while moves < shape.moves:
        door = find(_postcode(rng))
        nearest = min(places, key=lambda name: math.hypot((places[name].lng - door.lng) * math.cos(math.radians(door.lat)), places[name].lat - door.lat))
        hub = nearest if rng.random() < STANDS_NEAREST else str(rng.choice(list(places)))
        row = _order(len(rows), hub, door.postcode, shape, rng, may_part_exchange=moves + 1 < shape.moves)
        moves += 2 if "part_exchange_body" in row else 1
        rows.append(row)
    return rows


def _postcode(rng: np.random.Generator) -> str:
    codes = table()
    while True:
        row = int(rng.integers(len(codes.key)))
        if codes.is_live[row] and codes.northing[row] < NORTHERNMOST_M:
            return postcode_at(row)


def postcode_at(row: int) -> str:
    """Return the postcode in a row of the built-in table, as people write it."""
    return shown(code_of(int(table().key[row])))


def _order(number: int, hub: str, postcode: str, shape: Shape, rng: np.random.Generator, *, may_part_exchange: bool) -> Row:
    """Return one row: a return, or a delivery with or without a part-exchange."""
    opens = int(rng.choice(np.arange(480, max(481, 1200 - shape.window_min + 1), 60)))
    row = {
        "order": f"B{number:04}", "kind": "delivery", "registration": f"QX{number:05}", "make_model": "Corvane Lumo 1.2", "body": str(rng.choice(BODIES)),
        "stands_at": hub, "goes_to": "", "buyer": f"Buyer {number}", "phone": "07700 900100", "postcode": postcode, "promised": DAY,
        "window_opens": _clock(opens), "window_closes": _clock(opens + shape.window_min),
        "method": "carried" if rng.random() < 0.25 else "any", "no_large_vehicle": "yes" if rng.random() < 0.1 else "no",
    }  # fmt: skip
    if rng.random() < 0.08:
        return row | {"kind": "return", "stands_at": "", "goes_to": hub, "method": "any"}
    if may_part_exchange and rng.random() < 0.25:
        return row | {"part_exchange_registration": f"QP{number:05}", "part_exchange_make_model": "Skerrin Tide", "part_exchange_body": str(rng.choice(BODIES))}
    return row


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02}:{minutes % 60:02}"


def _crews(shape: Shape, hubs: list[str], rng: np.random.Generator) -> tuple[list[Row], list[Row]]:
    """Return the drivers and transporters for a day of that shape, their bases taken in turn."""
    drivers: list[Row] = []
    transporters: list[Row] = []
    share = math.ceil(shape.moves * shape.crews_for / len(shape.decks))
    for slots in shape.decks:
        deck, gross, payload = DECKS[slots]
        for rank in range(max(1, math.ceil(share / CREWS_A_DECK[slots]))):
            number, base = len(transporters), hubs[rank % len(hubs)]
            transporters.append({
                "transporter": f"T{number}", "registration": f"QT{number:04}", "base": base, "deck": deck, "gross_kg": gross, "payload_kg": payload,
                "slots": slots, "trailer_kg": 18000 if slots == 9 else 0, "unladen_height_mm": 2950 if slots > 2 else 2600,
            })  # fmt: skip
            drivers.append({
                "driver": f"L{number}", "name": f"Transporter Driver {number}", "base": base, "licences": "B C1 C CE",
                "role": "heavy transporter driver" if slots > 2 else "light transporter driver", "starts_from": "05:30", "home_by": "20:00", "drives_plates": "no",
            })  # fmt: skip
    drivers += [
        {
            "driver": f"P{rank}", "name": f"Plate Driver {rank}", "base": hubs[rank % len(hubs)], "licences": "B", "role": "plate driver",
            "starts_from": str(rng.choice(["06:00", "07:00"])), "home_by": "20:00", "drives_plates": "yes",
        }
        for rank in range(max(2, shape.moves // 6))
    ]  # fmt: skip
    return drivers, transporters


def main() -> None:
    """Write one folder."""
    options = argparse.ArgumentParser()
    options.add_argument("folder", type=Path)
    for name, value in (("moves", 100), ("compounds", 3), ("window", 240), ("seed", 1)):
        options.add_argument(f"--{name}", type=int, default=value)
    told = options.parse_args()
    write_folder(told.folder, Shape(moves=told.moves, compounds=told.compounds, window_min=told.window), told.seed)


if __name__ == "__main__":
    main()
