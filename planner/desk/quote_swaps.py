"""
Swaps: what planning anew would make of one more delivery, by letting one other car change its crew.

Putting the delivery into the plan as it stands says too much where a car nearby would give way: that car is taken out, the
delivery takes its place, and the car goes wherever it then costs least.  Both runs are timed and priced exactly.  A swap
sets the price; what is promised and held is the place found without one.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from planner.desk.quote_candidates import Candidate, Candidates, may_go
from planner.desk.quote_known import Known
from planner.desk.quote_offers import Asking, Refused, Trial, free_plates, has_plates
from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import Move
from planner.runs.run import Run, RunKind

#: How many cars near the door may give way, how many places are looked at for each, and how many swaps are timed.
NEAREST, PLACES, TIMED = 16, 3, 12


@dataclass(frozen=True, kw_only=True, slots=True)
class Swap:
    """A swap that stands: the run with the delivery, the run that takes ``gives_way``, and what both cost more."""

    run: Run
    other: Run
    gives_way: Move
    extra_pence: int


@dataclass(frozen=True, kw_only=True, slots=True)
class _Idea:
    likely_pence: float
    car: Move
    old: Run
    rest: Run | None
    put: Candidate
    goes: Candidate


def best_swap(day: Day, move: Move, runs: Sequence[Run], known: Known, *, below_pence: float) -> Swap | None:
    """
    Return the cheapest swap that costs less than ``below_pence``, None when none is found.

    Parameters
    ----------
    day
        Holds the asked ``move`` with its window.
    move, runs, known
        The delivery, the runs of the date, and what earlier questions found out about it.
    below_pence
        What the delivery costs without a swap.

    """
    best: Swap | None = None
    ideas = sorted(_ideas(day, move, runs, known), key=lambda idea: idea.likely_pence)
    for idea in ideas[:TIMED]:
        if idea.likely_pence >= (best.extra_pence if best else below_pence) * 1.25:
            break
        swap = _timed(day, move, runs, idea)
        if swap is not None and swap.extra_pence < (best.extra_pence if best else below_pence):
            best = swap
    return best


def _ideas(day: Day, move: Move, runs: Sequence[Run], known: Known) -> Iterator[_Idea]:
    mine, alternatives = Candidates(day, move), known.alternatives_beside(runs)
    for car, run in near_cars(day, move, runs):
        left = known.without(day, run, frozenset((car.move_id,)))
        if left is None:
            continue
        if car.move_id not in alternatives:
            alternatives[car.move_id] = _places(day, car, [other for other in runs if other is not run], known)
        for put in puts(mine, run, left.rest):
            for goes in alternatives[car.move_id]:
                likely = put.likely_pence + goes.likely_pence - left.saved_pence
                yield _Idea(likely_pence=likely, car=car, old=run, rest=left.rest, put=put, goes=goes)


def near_cars(day: Day, move: Move, runs: Sequence[Run]) -> list[tuple[Move, Run]]:
    """Return the cars nearest to the door that may change their crew, with their runs; part-exchanges stay together."""
    tied = {other.tied_to for other in day.moves if other.tied_to} | {other.move_id for other in day.moves if other.tied_to}
    table, index = day.tables[VehicleClass.CAR].metres, day.place_index
    found = [
        (int(table[index[move.destination], index[day.move_of[name].destination]]), number, day.move_of[name], run)
        for number, run in enumerate(runs)
        if run.itinerary.support_driver is None
        for name in run.itinerary.moves
        if name not in tied and day.move_of[name].pinned_driver is None and day.move_of[name].pinned_transporter is None
    ]
    nearest = sorted((item for item in found if item[0] >= 0), key=lambda item: item[:2])[:NEAREST]
    return [(car, run) for _, _, car, run in nearest]


def _places(day: Day, car: Move, others: Sequence[Run], known: Known) -> tuple[Candidate, ...]:
    """Return the likeliest places for a car that gives way, one or two of each kind of run."""
    asking = Asking(day, car, others, known=known)
    return tuple(candidate for kind in RunKind for candidate in asking.likely(kind, car.destination_window, PLACES))


def puts(mine: Candidates, run: Run, rest: Run | None) -> Iterator[Candidate]:
    """Yield the places of the delivery in a run that a car has left, or with its crew alone."""
    if not may_go(mine.move, run.kind):
        return
    if rest is not None:
        yield from sorted(mine.in_runs([rest]), key=lambda candidate: candidate.likely_pence)[:PLACES]
    elif run.itinerary.driver is not None:
        yield from mine.by_crews([replace(run.itinerary, stops=())])


def _timed(day: Day, move: Move, runs: Sequence[Run], idea: _Idea) -> Swap | None:
    """Return the swap timed and priced, both runs beside all others; None when one of them cannot be."""
    if idea.goes.replaces is None and idea.goes.crew.crew & idea.put.crew.crew:
        return None
    others = [run for run in runs if run is not idea.old]
    mine = Trial(day, move, [*others, idea.rest] if idea.rest is not None else others, 1).made(idea.put)
    if isinstance(mine, Refused):
        return None
    beside = [*others, mine.outline]
    is_on_plates = idea.goes.replaces is None and idea.goes.kind is RunKind.PLATE
    if is_on_plates and not has_plates(day, idea.goes, free_plates(day, beside)):
        return None
    goes = Trial(day, idea.car, beside, 1).made(idea.goes)
    if isinstance(goes, Refused):
        return None
    extra = mine.outline.cost_pence - idea.old.cost_pence + goes.extra_pence
    run = replace(mine.run, run_id=idea.old.run_id)  # also where the car left nothing and only its crew goes on
    return Swap(run=run, other=goes.run, gives_way=idea.car, extra_pence=extra)
