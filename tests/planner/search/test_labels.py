# ruff: noqa: C901, PLR0911, PLR0912, PLR0915 - the recursion is written out once, as plainly as it goes
"""The label kernel against trying every sequence of a small rig with the same rules written plainly."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from planner.model.moves import MoveId, MoveKind
from planner.model.places import Window
from planner.runs.run import RunKind
from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.labels import FAR, Mode
from planner.search.pricing import Duals, price_rig
from planner.search.proving import every_run
from planner.search.rig import near_sets
from planner.search.rig_making import rigs_of
from tests.bench.invented_days import Shape, invented_day
from tests.planner.search.far_days import stretched


def reduced_cost(rig, places, reward):
    """The least of one whole sequence over the places where its night may fall, if it has one; None when it cannot be run."""
    nights = range(len(places) + 1) if rig.stays_out else [None]
    return min((value for night in nights if (value := _reduced_cost(rig, places, reward, night)) is not None), default=None)


def _reduced_cost(rig, places, reward, night):
    """The recursion of a label written plainly; ``night`` is the place on the way from which, or in which, the rest falls."""
    rest = rig.options[0].rest_min
    drive_most, work_most, span_most = (max(getattr(option, name) for option in rig.options) for name in ("drive_limit", "work_limit", "span_limit"))
    is_first, second = False, 0  # whether the label is in the first of two days, and what is paid of the second
    tasks, start = len(rig.tasks), len(rig.tasks) + len(rig.hub_places)
    late, length, end, drive, cost, kg, load, top, top_kg = rig.last_min - rig.end_min, rig.end_min, 0, 0, 0.0, 0, 0, 0, 0
    share, top_share = 0, 0  # of the deck
    to_load, called, here = {}, set(), start
    def paid():
        return max(length + int(rig.owed.minutes[rig.owed.step_of[drive], length]), end - late)

    for number, place in reversed(tuple(enumerate(places))):
        minutes = int(rig.took[here, place])
        if minutes >= FAR:
            return None
        if rest and not is_first and paid() > span_most:
            return None
        falls, inside = number == night, False
        cost += rig.cost[here, place] + rig.kg_cost[here, place] * kg
        base, leaves_by = length + minutes, late - minutes
        if falls:
            base, leaves_by, second, is_first = 0, leaves_by - rest, paid() + minutes, True
            inside = place < tasks and rig.drive_in[place] > 0
            drive = max(0, drive + int(rig.drove[here, place]) + (int(rig.drive_in[place]) if inside else 0) - drive_most)
        else:
            drive += int(rig.drove[here, place])
        if place < tasks:
            if leaves_by < rig.ends_from[place] or (rig.to_hub[place] >= 0 and rig.to_hub[place] not in called):
                return None
            late, length = min(rig.closes[place], leaves_by - rig.work[place]), base + rig.work[place] + (0 if is_first else rig.unload[place])
            second += rig.unload[place] if is_first else 0
            if inside:
                length, second = 0, second + rig.work[place]
            load, kg, share = load + rig.takes_load[place], kg + rig.mass_in[place], share + rig.shares[place, 0]
            if rig.from_hub[place] >= 0:
                to_load.setdefault(int(rig.from_hub[place]), []).append(place)
            if not rig.keeps_load:
                top, top_kg = max(top + rig.takes_back[place], load), max(top_kg + rig.mass_back[place], kg)
                top_share = max(top_share + rig.shares[place, 1], share)
            drive += 0 if inside else rig.drive_in[place]
            cost += rig.node_cost[place] - reward[place]
        else:
            hub = place - tasks
            cars = to_load.pop(hub, [])
            if not cars and (not rig.is_dropped_at[hub] or (hub in called and top <= load and top_kg <= kg and top_share <= share)):
                return None
            late, length = min(rig.closes[place], leaves_by - rig.load_min * len(cars)), base + rig.load_min * len(cars)
            load, kg, share = load - len(cars), kg - sum(rig.mass_in[car] for car in cars), share - sum(rig.shares[car, 0] for car in cars)
            top, top_kg, top_share = load, kg, share
            called.add(hub)
        if top_share > rig.shares[-1, 0]:
            return None
        if load > rig.slots or top > rig.slots or top_kg > rig.payload_kg * (not rig.keeps_load) + 10**9 * rig.keeps_load:
            return None
        if drive >= len(rig.owed.step_of):
            return None
        late = min(late, rig.last_min - length - rig.owed.tail[rig.owed.step_of[drive], length])
        if late < rig.may_start[place]:
            return None
        if rest and not is_first and (drive > drive_most or length > work_most or late < rig.reach[place] + rest):
            return None
        if inside:
            end, here = int(rig.may_start[place]), place
            continue
        end = -FAR if falls else end
        inner, work = (int(rig.drive_in[place]), int(rig.work[place])) if place < tasks else (0, 0)
        end, here = max(end, rig.opens[place] + length + rig.owed.tail[rig.owed.step_of[drive - inner], length - work]), place
    if to_load or rig.took[here, start] >= FAR:
        return None
    head = int(rig.took[here, start]) + rig.walk_min
    if rest and not is_first:  # on the way to the first place
        if paid() > span_most:
            return None
        second, length, end, late = paid() + head, -head, -FAR, late - rest
        drive = max(0, drive + int(rig.drove[here, start]) - drive_most)
    else:
        drive += int(rig.drove[here, start])
    best = None
    for option in rig.options:
        after, more = (0, second + option.after_min) if rest else (option.after_min, 0)
        whole = length + head + option.before_min + after
        if drive > option.drive_limit or whole > option.work_limit or end + after > option.home_min:
            continue
        whole += rig.owed.minutes[rig.owed.step_of[drive], whole]
        begin = min(late - head - option.before_min, option.home_min - whole - rest - more)
        duty = max(whole, end + after - begin)
        if begin >= option.from_min and duty <= option.span_limit:
            value = cost + rig.cost[here, start] + option.fixed_pence + option.wage[min(duty + more, len(option.wage) - 1)]
            best = value if best is None else min(best, value)
    return best


def sequences(rig, longest):
    """Every order of some tasks of the rig, with calls at its hubs put in everywhere."""
    tasks, hubs = len(rig.tasks), len(rig.hub_places)
    for size in range(1, longest + 1):
        for chosen in itertools.permutations(range(tasks), size):
            if len({int(rig.customer[task]) for task in chosen}) < size:
                continue
            calls_here = [(), *((tasks + hub,) for hub in range(hubs)), *itertools.permutations(range(tasks, tasks + hubs), 2)]
            gaps = [calls_here for _ in range(size + 1)]
            for calls in itertools.product(*gaps):
                yield tuple(itertools.chain.from_iterable((*call, *task) for call, task in zip(calls, [*((one,) for one in chosen), ()], strict=True)))


@pytest.mark.parametrize(
    ("seed", "compounds", "nights", "has_shares"),
    [(1, 1, 0, False), (4, 1, 0, False), (3, 2, 0, False), (1, 1, 1, False), (6, 1, 1, False), (1, 1, 0, True), (4, 1, 0, True), (3, 2, 0, True)],
)
def test_cheapest_run_is_the_cheapest_of_all_sequences(seed, compounds, nights, has_shares, monkeypatch):
    day = invented_day(Shape(moves=6 - compounds, compounds=compounds, window_min=360, decks=(1, 3)), seed)
    if nights:
        day = stretched(replace(day, drivers=tuple(replace(driver, may_stay_out=True) for driver in day.drivers)), 2)
    classes, types = driver_classes(day), transporter_types(day)
    rng = np.random.default_rng(seed)
    duals = Duals(move={move.move_id: float(rng.uniform(12_000, 40_000)) for move in day.moves}, driver=[0.0] * len(classes),
                  transporter=[0.0] * len(types), plates={})
    compared = 0
    for number, rig in enumerate(rigs_of(day, classes, types)):
        if rig.is_followed or rig.stays_out != bool(nights):
            continue
        if has_shares:
            rig.shares[:-1] = rng.integers(1, 7, rig.shares[:-1].shape) * np.stack([rig.takes_load, rig.takes_back], axis=1)
            rig.shares[-1] = 10
        reward = np.array([sum(duals.move[move] for move in task.moves) for task in rig.tasks])
        first_values = np.zeros(len(rig.tasks))
        for places in sequences(rig, min(len(rig.tasks), 4 if rig.kind is RunKind.PLATE else 9)):
            first = next((place for place in places if place < len(rig.tasks)), None)
            if first is not None and (value := reduced_cost(rig, places, reward)) is not None:
                first_values[first] = min(first_values[first], value)
        least = first_values.min(initial=0.0)
        priced = price_rig(rig, number, duals, threshold=min(least + 1.0, -1.0), mode=Mode.EXACT, most_labels=200_000, most_looks=10**12, most_found=5)
        assert priced.least == pytest.approx(min(least, -1.0), abs=1e-6)
        for found in priced.found:
            assert reduced_cost(rig, found.places, reward) == pytest.approx(found.reduced, abs=1e-6)
            compared += 1
        for many in (10_000, 0):
            monkeypatch.setattr("planner.search.rig.MANY_TASKS", many)
            rig.__dict__.pop("hub_sets", None)
            by_first = price_rig(rig, number, duals, threshold=-1.0, mode=Mode.EXACT, most_labels=200_000, most_looks=10**12, most_found=5).by_first
            assert (by_first <= np.minimum(first_values, -1.0) + 1e-6).all()
            assert by_first.min(initial=-1.0) == pytest.approx(min(least, -1.0), abs=1e-6)
        rig.__dict__.pop("hub_sets", None)
    assert compared


def priced_exactly():
    """A rig of six-car transporters with forty tasks, equal duals for all, and what exact pricing of them gives."""
    day = invented_day(Shape(moves=40, window_min=600, decks=(6,)), 2)
    classes, types = driver_classes(day), transporter_types(day)
    duals = Duals(move=dict.fromkeys((move.move_id for move in day.moves), 15_000.0), driver=[0.0] * len(classes), transporter=[0.0] * len(types), plates={})
    rig = next(rig for rig in rigs_of(day, classes, types) if rig.kind is RunKind.TRANSPORTER)
    exact = price_rig(rig, 0, duals, threshold=-1.0, mode=Mode.EXACT, most_labels=500_000, most_looks=10**12, most_found=5)
    return rig, duals, exact


def test_what_is_left_open_still_bounds_when_the_room_for_labels_ends():
    rig, duals, exact = priced_exactly()
    cut = price_rig(rig, 0, duals, threshold=-1.0, mode=Mode.EXACT, most_labels=200, most_looks=10**12, most_found=5)
    assert not exact.is_cut_off
    assert cut.is_cut_off
    assert cut.least <= exact.least < -1.0
    short = price_rig(rig, 0, duals, threshold=-1.0, mode=Mode.EXACT, most_labels=500_000, most_looks=5_000, most_found=5)
    assert short.is_cut_off
    assert short.least <= exact.least


def test_depths_tried_before_bound_what_there_is_no_room_to_price():
    rig, duals, exact = priced_exactly()

    def with_depths(*depths, most_labels, guess=None):
        return price_rig(rig, 0, duals, threshold=-1.0, mode=Mode.EXACT, most_labels=most_labels, most_looks=10**12, most_found=5, depths=depths, guess=guess)

    below, above = exact.least - 100.0, exact.least + 100.0
    through = with_depths(below, above, -500.0, most_labels=500_000)
    assert through.by_first == pytest.approx(exact.by_first)
    assert {run.places for run in through.found} == {run.places for run in exact.found}
    cut = with_depths(-1e6, most_labels=200)
    assert cut.is_cut_off
    assert (cut.by_first <= exact.by_first + 1e-6).all()
    assert cut.least >= -1e6
    alone, guessed = (with_depths(-1e6, below, above, most_labels=200, guess=guess) for guess in (None, Mode.BROAD))
    assert min(run.reduced for run in guessed.found) <= min((run.reduced for run in alone.found), default=0.0)
    assert (guessed.by_first == alone.by_first).all()
    assert all(run.reduced >= exact.least - 1e-6 for run in guessed.found)


#: Minutes along one road from the base, what the master pays, the share of the deck and the kilograms of a car by its move.
ROAD = {
    "collected": (20, 20_000, 6000, 1800), "y near": (60, 20_000, 500, 100), "x large": (120, 29_000, 5000, 1500),
    "y small": (120, 10_000, 1000, 300), "x small": (120, 14_000, 2000, 600), "y large": (120, 22_000, 4500, 1350),
}  # fmt: skip
START_BY = {"collected": (380, 440), "y near": (450, 530)}


def two_compounds_on_one_road():
    """Cars named x are loaded at the base until 6:40, those named y 40 minutes on until 8:20, where the collected one is left."""
    day = invented_day(Shape(moves=12, compounds=2, decks=(3,), crews_for=0.1), 1)
    doors = [place.place_id for place in day.places if place.place_id not in day.compound_of]
    base, second = (compound.place_id for compound in day.compounds)
    some = next(move for move in day.moves if move.kind is MoveKind.DELIVERY)
    at_min, moves = np.zeros(len(day.places)), []
    at_min[day.place_index[second]] = 40
    for door, (name, (minutes, _, _, _)) in zip(doors, ROAD.items(), strict=False):
        at_min[day.place_index[door]] = minutes
        opens, closes = START_BY.get(name, (540, 1000))
        window = Window(opens_min=opens, closes_min=closes)
        one = replace(some, move_id=MoveId(name), no_large_vehicle=False)
        if name == "collected":
            one = replace(one, kind=MoveKind.RETURN, origin=door, destination=second, origin_window=window, destination_window=None, destination_min=0)
        else:
            one = replace(one, origin=second if name[0] == "y" else base, destination=door, destination_window=window)
        moves.append(one)
    seconds = (np.abs(at_min[:, None] - at_min) * 60).astype(np.int32)
    return replace(
        day, moves=tuple(moves), tables={kind: replace(table, seconds=seconds, metres=seconds * 15) for kind, table in day.tables.items()},
        compounds=tuple(replace(compound, window=Window(opens_min=360, closes_min=closes)) for compound, closes in zip(day.compounds, (400, 500), strict=True)),
    )  # fmt: skip


@pytest.mark.parametrize("by_mass", [False, True])
def test_a_label_with_less_aboard_in_all_but_more_of_one_compound_beats_no_other(by_mass):
    """
    The large car of the base leaves no room for the collected one, though with the small one of the second compound it has less aboard.

    Labels forget far doors, so that the two loads meet at the near one.
    """
    day = two_compounds_on_one_road()
    classes, types = driver_classes(day), transporter_types(day)
    rig = next(rig for rig in rigs_of(day, classes, types) if rig.kind is RunKind.TRANSPORTER and not rig.stays_out)
    names = [task.moves[0] for task in rig.tasks]
    aboard = np.array([[ROAD[name][3 if by_mass else 2]] * 2 for name in names]) * np.stack([rig.takes_load, rig.takes_back], axis=1)
    if by_mass:
        rig.mass_in, rig.mass_back = aboard.T.astype(np.int32)
        rig.kg_cost, rig.payload_kg, rig.is_loose = rig.kg_cost * 0, 3000, False
    else:
        rig.shares[:-1], rig.shares[-1] = aboard, 10_000
    forgetful = near_sets(rig.took, len(rig.tasks), rig.customer, 0)
    for rank, name in enumerate(names):
        rig.near[rank] = forgetful[rank] if name in START_BY else rig.near[rank]
    duals = Duals(move={MoveId(name): float(pence) for name, (_, pence, _, _) in ROAD.items()}, driver=[0.0] * len(classes),
                  transporter=[0.0] * len(types), plates={})  # fmt: skip
    every = every_run(rig, 0, duals, reach=1e5, most=10_000)
    least = min(run.reduced for run in every)
    priced = price_rig(rig, 0, duals, threshold=least + 100, mode=Mode.EXACT, most_labels=200_000, most_looks=10**12, most_found=5)
    assert priced.least == pytest.approx(least)
