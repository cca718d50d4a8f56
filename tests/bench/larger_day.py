"""
A larger day on real roads: ``python -m tests.bench.larger_day DIR --orders 95`` writes the demo day with more of everything.

Its orders come again under other references, at other postcodes of the same postcode area, and its crews under other
names.  ``homeleg plan DIR --out OUT`` makes the plan to measure on.
"""

import argparse
import csv
import shutil
import string
from collections.abc import Callable
from pathlib import Path

import numpy as np

from maps.postcodes import clean, table
from tests.bench.day_folders import DEMO, postcode_at, write_rows

LETTERS = string.ascii_uppercase
Row = dict[str, str]


def in_same_area(postcode: str, rng: np.random.Generator) -> str:
    """Return a postcode in use whose letters before the first digit are those of this one; "" for none."""
    if not postcode:
        return ""
    area = clean(postcode)[: 2 if clean(postcode)[1].isalpha() else 1]
    known = table()
    rows = [row for digit in range(10) for row in range(len(known.key))[known.rows(f"{area}{digit}")] if known.is_live[row]]
    return postcode_at(int(rng.choice(rows)))


def other_plate(plate: str, lot: int) -> str:
    """Return another registration, its last letters moved on in the alphabet; "" for none."""
    return plate[:-3] + plate[-3:].translate(str.maketrans(LETTERS, LETTERS[lot:] + LETTERS[:lot]))


def more(rows: list[Row], wanted: int, again: Callable[[Row, int], Row]) -> list[Row]:
    """Return ``wanted`` rows: all of them, then all of them once more in other names, and so on."""
    lots = [divmod(number, len(rows)) for number in range(wanted)]
    return [again(rows[rank], lot) if lot else rows[rank] for lot, rank in lots]


def main() -> None:
    """Write the folder."""
    options = argparse.ArgumentParser()
    options.add_argument("folder", type=Path)
    options.add_argument("--orders", type=int, default=95)
    options.add_argument("--seed", type=int, default=1)
    told = options.parse_args()
    rng = np.random.default_rng(told.seed)
    told.folder.mkdir(parents=True, exist_ok=True)
    for name in ("policy.toml", "rates.toml", "tariff.toml"):
        shutil.copy(DEMO / name, told.folder / name)

    def order(row: Row, lot: int) -> Row:
        fresh = {"order": f"{row['order']}-{lot}", "postcode": in_same_area(row["postcode"], rng)}
        fresh |= {key: other_plate(row[key], lot) for key in ("registration", "part_exchange_registration")}
        return row | fresh | dict.fromkeys(("vin", "address_1", "address_2", "address_3"), "")

    def driver(row: Row, lot: int) -> Row:
        pinned = row["transporter"] and f"{row['transporter']}-{lot}"
        return row | {"driver": f"{row['driver']}-{lot}", "transporter": pinned}

    def transporter(row: Row, lot: int) -> Row:
        return row | {"transporter": f"{row['transporter']}-{lot}", "registration": other_plate(row["registration"], lot)}

    orders = _rows("orders")
    lots = -(-told.orders // len(orders))
    write_rows(told.folder / "orders.csv", more(orders, told.orders, order))
    write_rows(told.folder / "drivers.csv", more(rows := _rows("drivers"), lots * len(rows), driver))
    write_rows(told.folder / "transporters.csv", more(rows := _rows("transporters"), lots * len(rows), transporter))
    for name in ("compounds", "carriers"):
        write_rows(told.folder / f"{name}.csv", [
            row | {key: str(lots * int(row[key])) for key in ("plate_sets", "bays", "cars") if row.get(key)} for row in _rows(name)
        ])  # fmt: skip


def _rows(name: str) -> list[Row]:
    with (DEMO / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


if __name__ == "__main__":
    main()
