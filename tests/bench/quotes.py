"""
Quotes under the clock: one after another on a planned day of the built-in roads, then a price list.

``python -m tests.bench.quotes DIR --asked 100 --listed 1000``; DIR holds a plan.json.  The desk is open and warm; each question
looks up its postcode, joins it to the roads, asks, and makes the reply.  Postcodes are drawn from the built-in table.
"""

import argparse
import time
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from cli.quoting import open_desk, roads_apart, roads_to
from maps.gazetteer import locate
from maps.postcodes import table
from planner.desk.quote import NoWayThere
from planner.desk.quote_car import car_of
from planner.desk.quote_day import Asked
from planner.desk.quote_later import ask, with_all_later_orders
from planner.desk.quote_list import nearest_compound, quotes_for
from planner.desk.quote_reply import to_document
from planner.desk.tariff import Tariff
from planner.faults import PlannerError
from planner.model.places import PlaceId
from tests.bench.day_folders import postcode_at


def some_postcodes(count: int, seed: int) -> list[str]:
    rng = np.random.default_rng(seed)
    found: list[str] = []
    while len(found) < count:
        name = postcode_at(int(rng.integers(len(table().key))))
        try:
            locate(name)
        except PlannerError:
            continue
        found.append(name)
    return found


def one(desk, postcode: str, number: int) -> bool:
    """Answer one question; return whether there was a road."""
    door = replace(locate(postcode), place_id=PlaceId(f"door {number}"))
    roads = roads_to(desk.day, [door])
    asked = Asked(reference=f"Q{number}", door=door, car=car_of(""), origin=nearest_compound(desk.day, roads))
    try:
        now, quote = ask(desk.with_door(asked, roads), asked, roads_to)
    except NoWayThere:
        return False
    day, runs = now.on(quote.promised.day if quote.promised else now.day.clock.day)
    to_document(quote, day, runs)
    return True


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("folder", type=Path)
    for name, value in (("asked", 100), ("listed", 1000), ("seed", 1)):
        options.add_argument(f"--{name}", type=int, default=value)
    told = options.parse_args()
    tariff = Tariff(cut_off_min=1440, weekdays=tuple(range(7)), bank_holidays=True)
    now = datetime.now().astimezone()
    with open_desk(told.folder, now=now, tariff=tariff) as opened:
        planned = opened.desk.day.clock.day
    yesterday = datetime.combine(planned - timedelta(days=1), now.timetz()).replace(hour=10)
    with open_desk(told.folder, now=yesterday, tariff=tariff) as opened:
        desk = opened.desk
    postcodes = some_postcodes(max(told.asked + 3, told.listed), told.seed)
    for number, postcode in enumerate(postcodes[:3]):
        one(desk, postcode, -1 - number)  # so that all is loaded
    wall, cpu = [], []
    for number, postcode in enumerate(postcodes[3 : told.asked + 3]):
        start = time.perf_counter(), time.process_time()
        if one(desk, postcode, number):
            wall.append(time.perf_counter() - start[0])
            cpu.append(time.process_time() - start[1])
    for name, took in (("wall", wall), ("processor", cpu)):
        middle, most, last = np.percentile(took, (50, 95, 100)) * 1000
        print(f"{len(desk.day.moves)} moves, {len(took)} quotes, {name}: median {middle:.0f} ms, 95th percentile {most:.0f}, at most {last:.0f}")
    start = time.perf_counter(), time.process_time()
    full = with_all_later_orders(desk, roads_to)
    rows = list(quotes_for(full, [(code, locate(code)) for code in postcodes[: told.listed]], roads_apart, car=car_of("")))
    print(f"a list of {len(rows)}: {time.perf_counter() - start[0]:.1f} s, {time.process_time() - start[1]:.1f} of the processor")


if __name__ == "__main__":
    main()
