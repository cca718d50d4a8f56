"""
An open set of thirty delivery days: ``python -m tests.bench.instances write DIR`` writes them, ``... plan [seconds] [names]``
plans them and prints cost, certified bound, gap and seconds as the table in README.md beside this file.

The days are invented (:mod:`tests.bench.invented_days`) and made anew from their seeds, so that no large file is kept.  The
form is described in README.md; it holds everything that cost and legality depend on, travel times included.
"""

import json
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np

from planner.model.day import Day
from planner.model.day_document import from_document, to_document
from planner.runs.referee import check_plan
from planner.search.solve import solve
from planner.search.waking import awake
from tests.bench.invented_days import Shape, invented_day

FORMAT = "delivery-day 1"
SIZES = (20, 24, 28, 32, 36, 40, 45, 50, 60, 70, 80, 100)
WINDOWS = (120, 240, 360, 480, 720)
DECKS = ((1, 2, 6), (2, 6), (1, 2), (2, 9), (1, 6))
COUNT = 30


def shapes() -> dict[str, tuple[Shape, int]]:
    """Return every instance by its name: what it looks like, and its seed."""
    made = {}
    for number in range(COUNT):
        size, compounds = SIZES[number * len(SIZES) // COUNT], 1 + number % 3
        window, decks = WINDOWS[number % len(WINDOWS)], DECKS[(number // 2) % len(DECKS)]
        name = f"D{number + 1:02d}-m{size}-c{compounds}-w{window}"
        made[name] = (Shape(moves=size, compounds=compounds, window_min=window, decks=decks), 1001 + number)
    return made


def day_of(name: str) -> Day:
    """Return the day of an instance."""
    return invented_day(*shapes()[name])


def to_instance(name: str, day: Day) -> dict[str, Any]:
    """Return a day in the open form."""
    document = to_document(day)
    for kind, table in day.tables.items():
        document["tables"][kind] = {key: getattr(table, key).tolist() for key in ("metres", "seconds", "charge_mask", "ferry_seconds")}
    document["rides"] = {"minutes": day.rides.minutes.tolist(), "fare_pence": day.rides.fare_pence.tolist()}
    return {"format": FORMAT, "name": name, "seed": shapes()[name][1], "day": document}


def from_instance(instance: dict[str, Any]) -> Day:
    """Return the day that an instance in the open form describes."""
    assert instance["format"] == FORMAT
    document = dict(instance["day"])
    document["tables"] = {
        kind: {"vehicle_class": kind, **{key: _packed(rows, key) for key, rows in table.items()}}
        for kind, table in document["tables"].items()
    }
    document["rides"] = {key: _packed(rows, key) for key, rows in document["rides"].items()}
    return from_document(document)


def _packed(rows: list[list[int]], key: str) -> Any:
    from planner.model import documents

    return documents.to_document(np.array(rows, np.int64 if key == "charge_mask" else np.int32))


def write(folder: Path) -> None:
    """Write every instance as a file of its own."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in shapes():
        path = folder / f"{name}.json"
        path.write_text(json.dumps(to_instance(name, day_of(name)), separators=(",", ":")))
        print(path)


def plan(seconds: float, names: list[str]) -> None:
    """Plan instances and print the table."""
    awake()
    print("| instance | seed | decks | cost | bound | gap | money gap | left behind | s | breaches |")
    print("|---|---|---|---|---|---|---|---|---|---|")
    for name in names or shapes():
        shape, seed = shapes()[name]
        day = day_of(name)
        began = time.perf_counter()
        made = solve(day, seconds=seconds)
        took = time.perf_counter() - began
        bound = made.bound.pence if made.bound else 0
        print(
            f"| {name} | {seed} | {'+'.join(str(deck) for deck in shape.decks)} | {made.cost_pence} | {bound} | {made.gap or 0:.3%} "
            f"| {made.money_gap or 0:.3%} | {len(made.not_placed)} | {took:.1f} | {len(check_plan(day, made))} |", flush=True,
        )  # fmt: skip


def main(words: list[str]) -> None:
    """Do what the command line says."""
    if words[:1] == ["write"]:
        write(Path(words[1]))
    else:
        plan(float(words[1]) if len(words) > 1 else 60.0, words[2:])


if __name__ == "__main__":
    main(sys.argv[1:])
