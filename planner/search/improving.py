"""
Improving: a plan of any size made cheaper by planning neighbourhoods of it anew, each exactly, with the rest kept.

A neighbourhood is some runs near each other with their crews, the moves left behind about there, and crews that are idle:
a day small enough for the exact search, which may split and join runs, exchange cars and change who drives.  What it
finds replaces the old runs when it is cheaper.  Neighbourhoods of one round share nothing, so they can be planned at
the same time and on any machine.
"""

import random
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.bays import bays_overrun
from planner.runs.run import Run, RunId, RunKind
from planner.search.course import run_without_proof
from planner.search.excerpt import excerpt
from planner.search.executors import Executor, InProcess
from planner.search.frozen import without_runs
from planner.search.names import named_runs
from planner.search.solving import Solving
from planner.search.waking import awake

SIZES = (35, 50, 70)  # moves of a neighbourhood or so: larger ones when the smaller find little
TOGETHER = 4  # neighbourhoods of one round
SCATTER = (0.3, 1.7)  # how far apart runs seem, against how far they are, so that no two neighbourhoods are alike
SHARE_AROUND_LOST = 0.5  # of rounds that begin about a move left behind
FRUITLESS = 8  # rounds without gain before neighbourhoods grow
NEAREST_LEFT = 12  # moves left behind that a neighbourhood may take up
LEAST_SECONDS = 1.0  # with less left no round begins
SECONDS = 8.0  # for one neighbourhood at most


@dataclass(frozen=True, kw_only=True, slots=True)
class Neighbourhood:
    """A job: a small day, the runs that hold it now, and how long it may take."""

    day: Day
    runs: tuple[Run, ...]
    seconds: float
    rounds: int | None


def plan_neighbourhood(job: Neighbourhood) -> tuple[Run, ...]:
    """Return the runs found, those of the job when nothing cheaper was."""
    awake()
    solving = Solving(job.day, seconds=job.seconds, rounds=job.rounds, progress=None)
    run_without_proof(solving)
    found = named_runs(job.day, solving.best.columns, solving.best.runs, solving.classes, solving.types)
    return found if total_pence(job.day, found) < total_pence(job.day, job.runs) else job.runs


def total_pence(day: Day, runs: Sequence[Run]) -> int:
    """Return what the runs cost and what the moves that they leave behind cost."""
    placed = {move for run in runs for move in run.itinerary.moves}
    return sum(run.cost_pence for run in runs) + sum(
        move.stays_behind_pence for move in day.moves if move.move_id not in placed
    )


def improve(
    day: Day,
    runs: Sequence[Run],
    *,
    left: Callable[[], float],
    seed: int = 0,
    rounds: int | None = None,
    executor: Executor | None = None,
    tell: Callable[[int], None] | None = None,
    sizes: Sequence[int] = SIZES,
) -> tuple[Run, ...]:
    """
    Return the runs, or others that together with what they leave behind cost less, numbered anew.

    Parameters
    ----------
    day, runs
        The runs are legal beside each other on the day.
    left
        Returns the seconds that remain; asked between rounds.
    seed
        Which neighbourhoods come first.
    rounds
        Most rounds of neighbourhoods; None until those of the largest size find nothing.
    executor
        Where neighbourhoods are planned; the answer does not depend on it while the seconds last.
    tell
        Called with the cost in pence whenever it falls.
    sizes
        How many moves a neighbourhood has, or so, one size after the other.

    """
    state = _State(day, list(runs), random.Random(seed))  # noqa: S311 - which comes first is no secret
    with suppress(KeyboardInterrupt):
        _rounds(state, left, rounds, executor or InProcess(), tell or (lambda _pence: None), sizes)
    return numbered(state.runs)


def _rounds(
    state: "_State", left: Callable[[], float], rounds: int | None, executor: Executor, tell: Callable[[int], None],
    sizes: Sequence[int],
) -> None:  # fmt: skip
    done, rank, idle = 0, 0, 0
    while left() > LEAST_SECONDS and (rounds is None or done < rounds):
        jobs = list(state.jobs(sizes[rank], seconds=min(SECONDS, left())))
        if not jobs or idle >= FRUITLESS:
            rank, idle = rank + 1, 0
            if rank == len(sizes):
                break
            continue
        done, idle = done + 1, idle + 1
        before = state.pence
        for job, found in zip(jobs, executor.answers(plan_neighbourhood, jobs), strict=True):
            state.put(job, found)
        if state.pence < before:
            idle = 0
            tell(state.pence)


def numbered(runs: Sequence[Run]) -> tuple[Run, ...]:
    """Return the runs with numbers anew, transporters first, then plates, then hired carriers, by their start."""
    order = {RunKind.TRANSPORTER: 0, RunKind.PLATE: 1, RunKind.HIRED: 2}
    ranked = sorted(runs, key=lambda run: (order[run.kind], run.start_min, str(run.itinerary.driver), run.itinerary.moves))
    return tuple(replace(run, run_id=RunId(f"R{number:02d}")) for number, run in enumerate(ranked, start=1))


class _State:
    """The runs as they stand, and which neighbourhoods were planned since they last changed."""

    def __init__(self, day: Day, runs: list[Run], rng: random.Random) -> None:
        self.day, self.runs, self.rng = day, runs, rng
        self.tried: set[frozenset[tuple[MoveId, ...]]] = set()
        self.at = {move.move_id: _door(day, move.move_id) for move in day.moves}

    @property
    def pence(self) -> int:
        """What the plan costs, moves left behind counted."""
        return total_pence(self.day, self.runs)

    def jobs(self, size: int, *, seconds: float) -> Iterator[Neighbourhood]:
        """Yield some neighbourhoods of that size that share nothing; none when all have been tried."""
        free = dict.fromkeys(run.itinerary.moves for run in self.runs)
        of = {run.itinerary.moves: run for run in self.runs}
        rest = without_runs(self.day, self.runs)
        chosen: list[tuple[list[Run], list[MoveId]]] = []
        lost = [move.move_id for move in rest.moves if move.tied_to is None]
        centres: list[tuple[MoveId, ...]] = list(of)
        self.rng.shuffle(centres)
        if lost and self.rng.random() < SHARE_AROUND_LOST:
            centres.insert(0, (self.rng.choice(lost),))
        for centre in centres:
            if len(chosen) >= TOGETHER or not free:
                break
            if centre in of and centre not in free:
                continue
            near = self._nearest(centre, [of[key] for key in free], size)
            behind = self._behind(near, lost)
            key = frozenset([*(run.itinerary.moves for run in near), tuple(behind)])
            if key in self.tried:
                continue
            self.tried.add(key)
            for run in near:
                del free[run.itinerary.moves]
            lost = [move for move in lost if move not in behind]
            chosen.append((near, behind))
        for rank, (near, behind) in enumerate(chosen):
            yield self._job(near, behind, _dealt(rest, len(chosen), rank), seconds)

    def _nearest(self, centre: tuple[MoveId, ...], runs: Sequence[Run], size: int) -> list[Run]:
        """Return the runs with doors nearest to those of some moves, one of them at least, up to the size of a neighbourhood."""
        here = np.array([self.at[move] for move in centre])
        far = []
        for run in runs:
            there = np.array([self.at[move] for move in run.itinerary.moves])
            gaps = ((here[:, None, :] - there[None, :, :]) ** 2).sum(axis=2)
            far.append(float(gaps.min(axis=1).mean() + gaps.min(axis=0).mean()) * self.rng.uniform(*SCATTER))
        taken, total = list[Run](), 0
        for rank in np.argsort(far, kind="stable"):
            total += len(runs[rank].itinerary.moves)
            if taken and total > size:
                break
            taken.append(runs[rank])
        return taken

    def _behind(self, near: Sequence[Run], lost: Sequence[MoveId]) -> list[MoveId]:
        doors = np.array([self.at[move] for run in near for move in run.itinerary.moves])
        gaps = {move: float(((doors - self.at[move]) ** 2).sum(axis=1).min()) for move in lost}
        return sorted(lost, key=lambda move: (gaps[move], move))[:NEAREST_LEFT]

    def _job(self, near: Sequence[Run], behind: Sequence[MoveId], idle: Day, seconds: float) -> Neighbourhood:
        """Return the neighbourhood as a day: what its runs use, and its part of what is idle."""
        day, beside = self.day, without_runs(self.day, near)
        names = {name for run in near for name in run.itinerary.crew}
        names |= {item.driver_id for item in idle.drivers} | {item.transporter_id for item in idle.transporters}
        mine = {move for run in near for move in run.itinerary.moves} | set(behind)
        mine |= {move.move_id for move in day.moves if move.tied_to in mine}
        compounds = zip(day.compounds, beside.compounds, idle.compounds, strict=True)
        carriers = zip(day.carriers, beside.carriers, idle.carriers, strict=True)
        small = replace(
            day,
            drivers=tuple(item for item in day.drivers if item.driver_id in names),
            transporters=tuple(item for item in day.transporters if item.transporter_id in names),
            compounds=tuple(
                replace(whole, plate_sets=whole.plate_sets - others.plate_sets + spare.plate_sets)
                for whole, others, spare in compounds
            ),
            carriers=tuple(
                replace(whole, cars=whole.cars - others.cars + spare.cars) for whole, others, spare in carriers
            ),
        )  # fmt: skip
        return Neighbourhood(day=excerpt(small, mine), runs=tuple(near), seconds=seconds, rounds=None)

    def put(self, job: Neighbourhood, found: Sequence[Run]) -> None:
        """Put what was found in the place of the job's runs, if the others leave the bays for it."""
        old = {run.itinerary.moves for run in job.runs}
        made = [run for run in self.runs if run.itinerary.moves not in old] + list(found)
        if not bays_overrun(self.day, made):
            self.runs = made


def _door(day: Day, move_id: MoveId) -> npt.NDArray[np.float64]:
    """Return about where the move takes a crew: kilometres east and north of nowhere in particular."""
    move = day.move_of[move_id]
    end = move.origin if move.destination in day.compound_of and move.origin not in day.compound_of else move.destination
    place = day.place_of[end]
    return np.array([place.lng * 111.3 * np.cos(np.radians(place.lat)), place.lat * 111.3])


def _dealt(rest: Day, parts: int, part: int) -> Day:
    """Return one part of what is idle, dealt in turn."""
    def share(count: int) -> int:
        return count // parts + (part < count % parts)

    return replace(
        rest,
        drivers=rest.drivers[part::parts], transporters=rest.transporters[part::parts],
        compounds=tuple(replace(item, plate_sets=share(item.plate_sets)) for item in rest.compounds),
        carriers=tuple(replace(item, cars=share(item.cars)) for item in rest.carriers),
    )  # fmt: skip
