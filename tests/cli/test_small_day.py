"""The small day: the arithmetic on its page is what timing and costing make of it, and no plan of it is cheaper."""

import re
from datetime import date
from itertools import permutations
from pathlib import Path

import numpy as np
import pytest

from cli.day_folder import load_day
from cli.geography import open_day
from planner.model.crews import VehicleClass
from planner.model.travel import TravelTable
from planner.runs.costing import price
from planner.runs.referee import check_plan
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary, Stop
from planner.runs.timing import lay_out
from planner.search.solve import solve
from tests.stand_in_geography import locate

FOLDER = Path(__file__).parents[2] / "demo_data" / "small_day"
PAGE = (FOLDER / "README.md").read_text(encoding="utf-8")
TOWNS = {"Rugby": "CV21 4HZ", "Leicester": "LE1 5TT", "Oxford": "OX4 6QF"}
MOVES = {"S-1": "CV21 4HZ", "S-2": "LE1 5TT", "S-3": "OX4 6QF"}
YARD = "Daventry"


def road_rows():
    """Return metres, seconds and minutes for each town, car first, as the page has them."""
    found = re.findall(r"^\| (Rugby|Leicester|Oxford) \| (\d+) \| (\d+) \| (\d+) \| (\d+) \| (\d+) \| (\d+) \|$", PAGE, re.MULTILINE)
    return {TOWNS[town]: tuple(map(int, figures)) for town, *figures in found}


def page_tables(places, classes, /, *, day: date):
    """Return tables with the page's figures; roads it does not speak of are far, so that none is better by chance."""
    assert isinstance(day, date)
    rows, made = road_rows(), {}
    for kind in classes:
        first = 0 if kind is VehicleClass.CAR else 3
        metres, seconds = (np.full((len(places), len(places)), far, dtype=np.int32) for far in (400_000, 30_000))
        for number, place in enumerate(places):
            if place.place_id in rows:
                metres[0, number] = metres[number, 0] = rows[place.place_id][first]
                seconds[0, number] = seconds[number, 0] = rows[place.place_id][first + 1]
            metres[number, number] = seconds[number, number] = 0
        made[kind] = TravelTable(vehicle_class=kind, metres=metres, seconds=seconds, charge_mask=np.zeros(metres.shape, np.int64),
                                 ferry_seconds=np.zeros(metres.shape, np.int32))
    return made, ()


@pytest.fixture(scope="module")
def day():
    return load_day(FOLDER, locate=locate, tables=page_tables)


def stops(order, *, carried):
    """Return the stops that do these orders one after the other from the yard."""
    found = []
    for move in order:
        takes_back = ("S-2.PX",) if move == "S-2" else ()
        found += [Stop(place=YARD, takes=(move,)), Stop(place=MOVES[move], leaves=(move,), takes=takes_back)]
        if takes_back:
            found.append(Stop(place=YARD, leaves=takes_back))
    joined = []
    for stop in found:
        if joined and joined[-1].place == stop.place and carried:
            joined[-1] = Stop(place=stop.place, leaves=joined[-1].leaves, takes=stop.takes)
        else:
            joined.append(stop)
    return tuple(joined)


def cost(day, driver, order):
    """Return minutes of duty and pence of the cheapest order of these visits, None where none is legal."""
    carried = driver == "D2"
    found = []
    for each in permutations(order):
        run = lay_out(day, Itinerary(driver=driver, transporter="T1" if carried else None, stops=stops(each, carried=carried)))
        if not isinstance(run, Refusal):
            found.append((sum(line.pence for line in price(day, run)), run.end_min - run.start_min))
    return min(found, default=None)


@pytest.mark.parametrize(("driver", "order", "minutes", "pence"), [
    ("D1", ["S-2"], 159, 9768), ("D1", ["S-1", "S-2"], 277, 14160), ("D1", ["S-1"], 118, 9817), ("D2", ["S-3"], 225, 18735),
    ("D2", ["S-1", "S-3"], 321, 22673), ("D2", ["S-2", "S-3"], 447, 29448), ("D2", ["S-1", "S-2", "S-3"], 558, 34421),
])
def test_each_run_takes_and_costs_what_the_page_says(day, driver, order, minutes, pence):
    assert cost(day, driver, order) == (pence, minutes)
    assert str(pence) in PAGE
    assert f"{minutes} min" in PAGE


def test_the_best_of_all_plans_is_the_one_the_page_names(day):
    """Every way to share the three orders between the two crews, in every order."""
    totals = {}
    for shared in range(8):
        parts = {"D1": [], "D2": []}
        for bit, move in enumerate(MOVES):
            parts["D1" if shared >> bit & 1 else "D2"].append(move)
        costs = [cost(day, driver, part) if part else (0, 0) for driver, part in parts.items()]
        if None not in costs:
            totals[tuple(parts["D1"])] = sum(pence for pence, _ in costs)
    assert totals == {("S-2",): 32441, ("S-1", "S-2"): 32895, (): 34421, ("S-1",): 39265}
    assert min(totals.values()) == 32441
    assert "**324.41**" in PAGE


def test_sums_on_the_page_add_up():
    for block in re.findall(r"\| line \| sum \| pence \|\n\|---\|---\|---\|\n((?:\|.*\|\n)+)", PAGE):
        lines = [int(row.split("|")[3]) for row in block.splitlines()]
        assert sum(lines[:-1]) == lines[-1]
    for first, second, total in re.findall(r"^\| D\d takes [^|]+\| (\d+) \| (\d+) \| (\d+) \|$", PAGE, re.MULTILINE):
        assert int(first) + int(second) == int(total)


def test_the_pages_roads_are_those_of_the_network():
    day = open_day(FOLDER)
    for place, figures in road_rows().items():
        column = day.place_index[place]
        for kind, first in ((VehicleClass.CAR, 0), (VehicleClass.GOODS_7500, 3)):
            table = day.tables[kind]
            for cell in ((0, column), (column, 0)):
                assert (table.metres[cell], table.seconds[cell]) == figures[first : first + 2]
                assert -(-table.seconds[cell] // 60) == figures[first + 2]


def test_the_search_finds_the_plan_that_the_page_names():
    day = open_day(FOLDER)
    plan = solve(day, seconds=10)
    assert check_plan(day, plan) == ()
    assert plan.cost_pence == 32441
