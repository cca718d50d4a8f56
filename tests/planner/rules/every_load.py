"""
Every way to load a deck, tried one drive at a time: the oracle for load plans.

It shares no code with the planner's search.  Cars are driven off and on singly, in any order, also on before off; each car
driven off that stays on the run counts one.  Dijkstra's algorithm over every arrangement finds the least count.
"""

import heapq
import itertools
import random

from planner.model.cars import Car
from planner.model.decks import Deck, Level, MassSum, Shut, Slot, Stack
from planner.rules.load_plan import Stage


def may_stand(deck, stands):
    """Whether cars (by slot name) are within every limit, read straight from the deck."""
    slots = {slot.name: slot for slot in deck.slots}
    if sum(car.mass_kg for car in stands.values()) > deck.payload_kg:
        return False
    for name, car in stands.items():
        slot = slots[name]
        if car.length_mm > slot.length_mm or car.width_mm > slot.width_mm or car.height_mm > slot.height_mm or car.mass_kg > slot.mass_kg:
            return False
        if car.ground_clearance_mm is not None and car.ground_clearance_mm < deck.least_clearance_mm:
            return False
        wheels = slot.base_mm
        for stack in deck.stacks:
            if stack.above == name and stack.below in stands:
                wheels = max(wheels, slots[stack.below].base_mm + stands[stack.below].height_mm + stack.platform_mm)
        if wheels > max(slot.raised_mm, slot.base_mm) or wheels + car.height_mm > deck.height_mm:
            return False
        for shut in deck.shuts:
            too_long = shut.over_length_mm is not None and car.length_mm > shut.over_length_mm
            too_tall = shut.over_height_mm is not None and car.height_mm > shut.over_height_mm
            if shut.slot == name and (too_long or too_tall) and shut.other in stands:
                return False
    for level in deck.levels:
        row = [car.length_mm for name, car in stands.items() if slots[name].level == level.name]
        if row and sum(row) + deck.gap_mm * (len(row) - 1) > level.length_mm + level.front_mm + level.rear_mm:
            return False
    return all(sum(share * stands[name].mass_kg for name, share in total.shares if name in stands) <= 1000 * total.max_kg
               for total in deck.mass_sums)


def least_reshuffles(deck, stages):
    """The fewest cars driven off and back on, None when there is no way; every arrangement is tried."""
    cars = {key: car for stage in stages for key, car in stage.on}
    blocked = {slot.name: set(slot.blocked_by) for slot in deck.slots}
    goals, aboard = [], set()
    for stage in stages:
        aboard = (aboard - set(stage.off)) | {key for key, _ in stage.on}
        goals.append(frozenset(aboard))
    start = (0, frozenset())  # stage, pairs of (slot, key); whoever is due and not on stands on the ground
    best, heap, ties = {start: 0}, [(0, 0, start)], itertools.count(1)
    fits = {}
    while heap:
        cost, _, node = heapq.heappop(heap)
        if node[0] == len(stages):
            return cost
        if cost == best[node]:
            for more, new in drives(deck, node, goals, cars, blocked, fits):
                if cost + more < best.get(new, 1 << 30):
                    best[new] = cost + more
                    heapq.heappush(heap, (cost + more, next(ties), new))
    return None


def drives(deck, node, goals, cars, blocked, fits):
    """Every single drive from an arrangement, with what it costs; going on to the next stop when all is as it must be."""
    at, load = node
    on_deck, taken = {key for _, key in load}, {slot for slot, _ in load}
    before = goals[at - 1] if at else frozenset()
    if on_deck == goals[at]:
        yield 0, (at + 1, load)
    for slot, key in load:
        if not blocked[slot] & taken:  # off; a car that came on at this very stop costs nothing, and helps nothing
            yield int(key in goals[at] and key in before), (at, load - {(slot, key)})
    for key, slot in itertools.product(goals[at] - on_deck, blocked.keys() - taken):
        after = load | {(slot, key)}
        if not blocked[slot] & taken and after not in fits:
            fits[after] = may_stand(deck, {name: cars[one] for name, one in after})
        if not blocked[slot] & taken and fits[after]:
            yield 0, (at, after)


def random_deck(rng: random.Random, num_slots: int) -> Deck:
    names = [f"s{number}" for number in range(num_slots)]
    rank = names[:]
    rng.shuffle(rank)
    density = rng.choice([0.2, 0.5, 0.9])
    levels = ("a", "b")[: rng.randint(1, 2)]
    slots = tuple(
        Slot(name=name, level=rng.choice(levels), x_mm=0, base_mm=rng.choice([800, 900]), raised_mm=rng.choice([0, 2900, 2900]),
             length_mm=rng.choice([4200, 4600, 5200, 5200]), width_mm=2100, height_mm=rng.choice([1700, 1800, 2200]),
             mass_kg=rng.choice([1600, 2000, 2600, 2600]),
             blocked_by=tuple(other for other in rank[: rank.index(name)] if rng.random() < density))
        for name in names
    )
    pairs = list(itertools.permutations(names, 2))
    lower = set(rng.sample(names, num_slots // 2))
    some = [pair for pair in pairs if pair[0] not in lower and pair[1] in lower]
    return Deck(
        name="random", says="", gross_kg=30000, payload_kg=rng.randint(1500, 2300) * num_slots, height_mm=rng.choice([4300, 4600, 4900]),
        empty_height_mm=2500, length_mm=12000, slots=slots, gap_mm=100, least_clearance_mm=rng.choice([0, 0, 0, 100, 130]),
        levels=tuple(Level(name=name, length_mm=rng.choice([4300, 4500, 4700]) * sum(slot.level == name for slot in slots) + 100, rear_mm=rng.choice([0, 400]))
                     for name in levels),
        stacks=tuple(Stack(above=above, below=below, platform_mm=200) for above, below in rng.sample(some, min(len(some), rng.randint(0, 2)))),
        shuts=tuple(Shut(slot=slot, other=other, over_length_mm=rng.choice([None, 4400]), over_height_mm=rng.choice([None, 1700]))
                    for slot, other in rng.sample(pairs, min(len(pairs), rng.randint(0, 2)))),
        mass_sums=(MassSum(name="axle", max_kg=rng.randint(900, 1600) * num_slots, shares=tuple((name, rng.choice([200, 600, 1000])) for name in names)),)
        if rng.random() < 0.5 else (),
    )  # fmt: skip


def random_car(rng: random.Random, key: str) -> Car:
    return Car(registration=key, make_model="Test", mass_kg=rng.choice([1100, 1400, 1400, 1900]), width_mm=1850,
               length_mm=rng.choice([3900, 3900, 4100, 4300, 4500]), height_mm=rng.choice([1450, 1450, 1500, 1650, 1750]),
               ground_clearance_mm=rng.choice([None, 120]))  # fmt: skip


def random_stages(rng: random.Random, num_slots: int) -> tuple[Stage, ...]:
    """A run: load, then drop in some order, some stops with a car taken aboard, perhaps a reload."""
    count = rng.randint(1, num_slots)
    new = itertools.count()
    aboard = [f"c{next(new)}" for _ in range(count)]
    stages = [Stage(on=tuple((key, random_car(rng, key)) for key in aboard))]
    for _ in range(rng.randint(1, num_slots + 1)):
        off = tuple(rng.sample(aboard, min(len(aboard), rng.choice([0, 1, 1, 1, 2]))))
        aboard = [key for key in aboard if key not in off]
        on = [f"c{next(new)}" for _ in range(min(num_slots - len(aboard), rng.choice([0, 0, 1, 1, 2])))]
        stages.append(Stage(off=off, on=tuple((key, random_car(rng, key)) for key in on)))
        aboard += on
    return tuple(stages)
