"""
How many load plans of large decks are proven best, and how soon: random runs with some part-exchanges taken on the way.

``python -m tests.bench.load_plans --deck eleven-car-artic --runs 204`` fills the deck at the compound with random cars, drops
one a stop, and at some of the stops takes a part-exchange that stays aboard.  It prints, by number of part-exchanges, the share
proven within 0.2 s and 2 s, and the worst gap between the reshuffles of the plan and those proven necessary.  Times
are those of the processor, one core, so that what else runs there does not count.
"""

import argparse
import random
import time
from collections import defaultdict

from planner.model.cars import Car, Registration
from planner.model.decks import Deck, library
from planner.rules.load_plan import LoadPlan, Stage, plan_load, static_load_exists
from planner.rules.load_plan_arrays import size_of

#: Lengths, heights and masses of cars small enough for every deck of the library; from memory, of no maker.
LENGTHS_MM, HEIGHTS_MM, MASSES_KG = (3550, 4250), (1440, 1600), (950, 1450)


def random_car(rng: random.Random, key: str) -> Car:
    """Return a small car, each figure drawn evenly."""
    length, height, mass = (10 * rng.randint(low // 10, high // 10) for low, high in (LENGTHS_MM, HEIGHTS_MM, MASSES_KG))
    return Car(registration=Registration(key), make_model="Corvid", length_mm=length, height_mm=height, width_mm=1800, mass_kg=mass)


def random_run(deck: Deck, part_exchanges: int, rng: random.Random) -> tuple[Stage, ...]:
    """Return a full load, dropped one a stop; that many stops, drawn at random, take a car aboard.  Every stage can stand."""
    names = [f"d{number}" for number in range(1, len(deck.slots) + 1)]
    while True:
        aboard = {name: random_car(rng, name) for name in names}
        if _stands(deck, aboard):
            break
    stages = [Stage(on=tuple(aboard.items()), says="the compound")]
    taking = set(rng.sample(names, part_exchanges))
    for name in names:
        del aboard[name]
        taken: tuple[tuple[str, Car], ...] = ()
        while name in taking and not taken:
            key = name.replace("d", "p")
            car = random_car(rng, key)
            if _stands(deck, {**aboard, key: car}):
                aboard[key], taken = car, ((key, car),)
        stages.append(Stage(off=(name,), on=taken, says=f"stop {name[1:]}"))
    return tuple(stages)


def _stands(deck: Deck, cars: dict[str, Car]) -> bool:
    return static_load_exists(deck, tuple(sorted(size_of(car) for car in cars.values())))


def main() -> None:
    """Print the figures."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--deck", default="eleven-car-artic")
    asked.add_argument("--runs", type=int, default=200)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--each", action="store_true", help="print every run")
    given = asked.parse_args()
    deck = library()[given.deck]
    rows = defaultdict(list)
    for part_exchanges in (1, 7 * len(deck.slots) // 11):  # compiles the search, then the bounds
        plan_load(deck, random_run(deck, part_exchanges, random.Random(0)), reshuffle_min=15)
    for number in range(given.runs):
        part_exchanges = number % (len(deck.slots) + 1)
        run = random_run(deck, part_exchanges, random.Random(given.seed * 1_000_003 + number))
        began = time.process_time()
        plan = plan_load(deck, run, reshuffle_min=15)
        took = time.process_time() - began
        assert isinstance(plan, LoadPlan)
        rows[part_exchanges].append((took, plan.reshuffles, plan.at_least))
        if given.each:
            print(f"run {number}: {part_exchanges} taken, {plan.reshuffles} moved, {plan.at_least} necessary, {took:.3f} s", flush=True)
    print("taken  runs  moved (mean)  proven in 0.2 s  in 2 s  ever  worst gap  median s  worst s")
    for part_exchanges, found in sorted(rows.items()):
        print(_line(f"{part_exchanges:>5}", found))
    print(_line("  all", [row for found in rows.values() for row in found]))


def _line(name: str, found: list[tuple[float, int, int]]) -> str:
    def share(seconds: float) -> float:
        return sum(took <= seconds and moved == least for took, moved, least in found) / len(found)

    times = sorted(took for took, _, _ in found)
    gap = max(moved - least for _, moved, least in found)
    mean = sum(moved for _, moved, _ in found) / len(found)
    return (f"{name}  {len(found):>4}  {mean:>12.1f}  {share(0.2):>15.0%}  {share(2):>6.0%}  {share(1e9):>4.0%}  {gap:>9}  "
            f"{times[len(times) // 2]:>8.3f}  {times[-1]:>7.2f}")  # fmt: skip


if __name__ == "__main__":
    main()
