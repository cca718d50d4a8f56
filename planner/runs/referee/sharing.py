"""Sharing: what the runs of a plan take together, and what becomes of every move."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

from planner.model.day import Day
from planner.runs.plan import Plan
from planner.runs.referee.breach import Notebook, Rule
from planner.runs.run import Run, RunKind

if TYPE_CHECKING:
    from planner.model.moves import MoveId
    from planner.model.places import PlaceId


def check_moves(day: Day, plan: Plan, notes: Notebook) -> None:
    """Each move is taken by one run or left behind, once; a part-exchange goes where its delivery goes."""
    placed = Counter(move for run in plan.runs for move in dict.fromkeys(run.itinerary.moves))
    behind = Counter(left.move for left in plan.not_placed)
    for move_id in dict.fromkeys([*(move.move_id for move in day.moves), *placed, *behind]):
        if move_id not in day.move_of:
            continue  # said where names are checked
        if placed[move_id] + behind[move_id] != 1:
            notes.note(Rule.MOVE_ONCE, move_id, "it is not once in a run or once left behind", expected=1,
                       found=f"{placed[move_id]} runs, left behind {behind[move_id]} times")  # fmt: skip
    run_of = {move: run.run_id for run in plan.runs for move in run.itinerary.moves}
    for move in day.moves:
        if move.tied_to is not None and run_of.get(move.move_id) != run_of.get(move.tied_to):
            notes.note(Rule.PART_EXCHANGE, move.move_id, f"it goes another way than its delivery {move.tied_to}",
                       expected=run_of.get(move.tied_to, "left behind"),
                       found=run_of.get(move.move_id, "left behind"))  # fmt: skip
    for left in plan.not_placed:
        if left.move in day.move_of:
            price = day.move_of[left.move].stays_behind_pence
            notes.compare(Rule.BEHIND, left.move, "the price of staying behind differs", price, left.pence)
        if not left.reason.strip():
            notes.note(Rule.BEHIND, left.move, "no reason is given")


def check_bound(plan: Plan, notes: Notebook) -> None:
    """A lower bound lies at or below the cost of the plan it belongs to."""
    if plan.bound is not None and plan.bound.pence > plan.cost_pence:
        notes.note(Rule.BOUND, "", "the bound is above the cost, so it is none", expected=f"at most {plan.cost_pence}",
                   found=plan.bound.pence)  # fmt: skip


def check_sharing(day: Day, runs: Sequence[Run], notes: Notebook) -> None:
    """A driver, a transporter, a set of plates serves one run; carriers and bays take what they can."""
    names = Counter(run.run_id for run in runs)
    drivers = Counter(name for run in runs for name in (run.itinerary.driver, run.itinerary.support_driver) if name)
    transporters = Counter(run.itinerary.transporter for run in runs if run.itinerary.transporter)
    for rule, counts in (
        (Rule.RUN_IDS, dict(names)), (Rule.DRIVER_ONCE, dict(drivers)), (Rule.TRANSPORTER_ONCE, dict(transporters)),
    ):  # fmt: skip
        for name, times in counts.items():
            if times > 1:
                notes.note(rule, str(name), "it is used more than once", expected=1, found=times)
    sets: Counter[PlaceId] = Counter()
    cars: Counter[str] = Counter()
    for run in runs:
        if run.kind is RunKind.PLATE and run.itinerary.driver is not None:
            sets[day.driver_of[run.itinerary.driver].base] += 1
        elif run.itinerary.carrier is not None:
            cars[run.itinerary.carrier] += len(run.itinerary.moves)
    for place, used in sets.items():
        if place in day.compound_of and used > day.compound_of[place].plate_sets:
            notes.note(Rule.PLATE_SETS, day.place_of[place].name, "more plate runs than sets of plates",
                       expected=f"at most {day.compound_of[place].plate_sets}", found=used)  # fmt: skip
    for carrier in day.carriers:
        if cars[carrier.carrier_id] > carrier.cars:
            notes.note(Rule.CARRIER_CARS, carrier.name, "more cars than it takes", expected=f"at most {carrier.cars}",
                       found=cars[carrier.carrier_id])  # fmt: skip
    _bays(day, runs, notes)


def _bays(day: Day, runs: Sequence[Run], notes: Notebook) -> None:
    """At no moment do more transporters load at a compound than it has bays."""
    loading: dict[PlaceId, list[tuple[int, int]]] = defaultdict(list)
    for run in runs:
        if run.kind is not RunKind.TRANSPORTER:
            continue
        for visit in run.visits:
            if visit.takes and visit.place in day.compound_of:
                loading[visit.place] += [(visit.start_min, 1), (visit.end_min, -1)]
    for place, changes in loading.items():
        bays, now, most, at_min = day.compound_of[place].bays, 0, 0, 0
        for minute, change in sorted(changes):  # who leaves a bay at a minute frees it for who comes then
            now += change
            if now > most:
                most, at_min = now, minute
        if bays is not None and most > bays:
            notes.note(Rule.BAYS, day.place_of[place].name, f"too many transporters load at {day.clock.wall(at_min)}",
                       expected=f"at most {bays}", found=most)  # fmt: skip


def unknown_names(day: Day, plan: Plan, notes: Notebook) -> tuple[Run, ...]:
    """Note every name that the day does not know; return the runs that can be read further."""
    readable = tuple(run for run in plan.runs if not _strangers(day, run, notes))
    strange: list[MoveId] = [left.move for left in plan.not_placed if left.move not in day.move_of]
    for move in strange:
        notes.note(Rule.NAMES, "left behind", f"{move} is no move of this day")
    return readable


def _strangers(day: Day, run: Run, notes: Notebook) -> bool:
    itinerary = run.itinerary
    named: list[tuple[str, str | None, bool]] = [
        ("driver", itinerary.driver, itinerary.driver in day.driver_of),
        ("support driver", itinerary.support_driver, itinerary.support_driver in day.driver_of),
        ("transporter", itinerary.transporter, itinerary.transporter in day.transporter_of),
        ("carrier", itinerary.carrier, itinerary.carrier in day.carrier_of),
    ]
    calls = [(stop.place, stop.leaves, stop.takes) for stop in itinerary.stops]
    calls += [(visit.place, visit.leaves, visit.takes) for visit in run.visits]
    for place, leaves, takes in calls:
        named += [("move", move, move in day.move_of) for move in (*leaves, *takes)]
        named.append(("place", place, place in day.place_of))
    for step in run.activities:
        named += [("place", place, place in day.place_of) for place in (step.origin, step.destination)]
    strange = dict.fromkeys((what, name) for what, name, known in named if name is not None and not known)
    for what, name in strange:
        notes.note(Rule.NAMES, f"run {run.run_id}", f"{name} is no {what} of this day")
    return bool(strange)
