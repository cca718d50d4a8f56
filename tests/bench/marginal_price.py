"""
The marginal-price study: what a quote says one more delivery adds, against planning the day anew with and without it.

``python -m tests.bench.marginal_price --moves 30 --asked 20 --seconds 15``.  Each asked delivery is planned anew from
nothing with the same seconds; where neither plan is proven best, the two gaps limit what the comparison can say, and are
printed beside it.
"""

import argparse
import time

import numpy as np

from planner.desk.quote_choice import Beside, planned_anew
from planner.desk.quote_day import Asked, with_asked, with_doors
from planner.desk.quote_known import Known
from planner.desk.quote_offers import Asking
from planner.model.places import Window
from planner.search.prices import Near
from planner.search.solve import solve, solve_priced
from planner.units import pounds_text
from tests.planner.desk.quoting_world import a_car, place, road_m, roads_to, world


def asked_on(day, number: int, rng) -> Asked:
    door = place(f"Q{number}", float(rng.uniform(-3.2, 0.5)), float(rng.uniform(51.0, 54.8)))
    nearest = day.places[int(np.argmin(road_m([door], list(day.places[:3]))[0]))]
    opens = int(rng.choice([480, 720, 960]))
    return Asked(
        reference=f"Q{number}", door=door, car=a_car(900 + number, rng), origin=nearest.place_id,
        window=Window(opens_min=opens, closes_min=opens + 240),
    )  # fmt: skip


def main() -> None:
    options = argparse.ArgumentParser()
    for name, value in (("moves", 30), ("asked", 20), ("seconds", 15), ("seed", 1)):
        options.add_argument(f"--{name}", type=int, default=value)
    told = options.parse_args()
    crews = {"plate_drivers": told.moves * 2 // 5, "transporters": max(3, told.moves // 5)}
    day = world(moves=told.moves, seed=told.seed, **crews)
    solve(world(moves=6, seed=told.seed), seconds=60)  # what is compiled on first use is compiled now
    solved = solve_priced(day, seconds=told.seconds, near_seconds=3)
    base = solved.plan
    print(f"{told.moves} moves, {len(base.runs)} runs, {len(base.not_placed)} left, gap {base.gap or 0:.3%}, {pounds_text(base.cost_pence)}")
    beside = Beside.of(day, base.runs, Near(prices=solved.prices, runs=solved.near)) if solved.prices is not None else None
    rng = np.random.default_rng(told.seed)
    good, took, known, unsure = 0, [], Known.of(day), 0
    for number in range(told.asked):
        asked = asked_on(day, number, rng)
        wider = with_asked(with_doors(day, [asked.door], roads_to(day, [asked.door])), asked)
        move = wider.move_of[asked.move_id]
        start = time.perf_counter()
        offers = Asking(wider, move, base.runs, known=known).offers(asked.window)
        put_in = min([offer.extra_pence for offer in offers.best] + [move.stays_behind_pence])
        ways = [offer.run for offer in offers.best]
        anew = None if beside is None else planned_anew(wider, move, beside, ways, below_pence=put_in)
        quoted = put_in if anew is None else anew.pence
        took.append(time.perf_counter() - start)
        again = solve(wider, seconds=told.seconds)
        true = again.cost_pence - base.cost_pence
        reach = max(500, abs(true) // 10)
        is_good = abs(quoted - true) <= reach
        good += is_good
        open_pence = sum(plan.cost_pence * (1.0 if plan.gap is None else plan.gap) for plan in (again, base))
        unsure += open_pence > reach
        print(f"{asked.reference:>4}  put in {pounds_text(put_in):>9}  quoted {pounds_text(quoted):>9}  planned anew {pounds_text(true):>9}  "
              f"gap {'none' if again.gap is None else f'{again.gap:.3%}'}  {'within' if is_good else 'OUTSIDE'}", flush=True)  # fmt: skip
    print(f"{good} of {told.asked} within 10% or 5 pounds, {unsure} of them planned anew too roughly to tell; "
          f"a quote took {np.median(took) * 1000:.0f} ms, at most {max(took) * 1000:.0f}")  # fmt: skip


if __name__ == "__main__":
    main()
