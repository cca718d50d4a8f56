"""
Replanning while the day runs: what is done is frozen, what is under way goes on, and moves that lost their crew find another.

Fewest promises broken come first, then fewest moves that change crew, then minutes late, then cost.  Moves without a crew are
put where that is least, each place timed exactly; then, round after round, some moves are taken out again with others near
them and put back.  Runs that nothing touches stay as they are.
"""

import random
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.places import PlaceId
from planner.model.progress import Progress
from planner.runs.bays import bays_overrun
from planner.runs.expected import Expected, Late, expected, widened
from planner.runs.past import on_time
from planner.runs.plan import NotPlaced, Plan
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary, Run, RunId, RunKind
from planner.runs.standing import Standing, standing
from planner.search.baseline import is_free
from planner.search.frozen import without_runs
from planner.search.insertions import is_open, movable, put_in, taken_out
from planner.search.left_behind import left_behind
from planner.search.single import alone
from planner.search.truth import timed
from planner.search.waking import awake

A_RUN = 6  # places in one run that are timed: those with the least added road
IN_ALL = 60  # and in all runs
FRUITLESS = 40  # rounds without gain after which the search ends
MOST_AT_ONCE = 4  # moves taken out in one round beside those without a crew
SEEMS = (0.4, 1.6)  # how dear a crew may seem against what it costs
MOST_LATE_MIN = 240  # how late a car may still be brought today rather than another day

Score = tuple[int, int, int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Change:
    """One thing that is other than planned, in words; ``move`` None where it concerns a run."""

    move: MoveId | None
    says: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Replanned:
    """
    A plan from now on.

    ``day`` is the day as it is now, late promises open until the expected minute; the plan is legal on it.  ``broken`` are
    moves that are late or left for another day though they were planned; ``moved`` those with another crew.  ``cannot`` says
    of runs that can no longer be done legally by what; they are in the plan as they were.
    """

    day: Day
    plan: Plan
    changes: tuple[Change, ...]
    late: tuple[Late, ...]
    left: tuple[MoveId, ...]
    moved: tuple[MoveId, ...]
    cannot: tuple[tuple[RunId, Refusal], ...]
    cost_change_pence: int
    seconds: float

    @property
    def broken(self) -> tuple[MoveId, ...]:
        """Every promise that is not kept as planned."""
        return (*(item.move for item in self.late), *self.left)


def replan_today(
    day: Day, plan: Plan, progress: Progress, *, seconds: float = 10.0, rounds: int | None = None, seed: int = 0,
    clock: Callable[[], float] = time.perf_counter,
) -> Replanned:  # fmt: skip
    """
    Return the plan from ``progress.now_min`` on.

    Parameters
    ----------
    day, plan
        As they were published.
    progress
        What was reported; a run without an entry has not begun.
    seconds, rounds
        Limits of the search; it ends sooner when it finds nothing more.
    seed
        Which neighbourhoods are tried; the same seed tries the same ones in turn.
    clock
        For the limit of seconds.

    """
    awake()
    began = clock()
    search = _Search(standing(day, plan, progress), plan, progress, seed=seed)
    search.run(lambda: seconds - (clock() - began), rounds)
    return search.answer(clock() - began)


@dataclass
class _Plan:
    """The runs as they are found so far, with what is late on each, and the moves that have none."""

    runs: dict[RunId, tuple[Run, tuple[Late, ...]]]
    bank: list[MoveId] = field(default_factory=list)

    def copy(self) -> "_Plan":
        return _Plan(runs=dict(self.runs), bank=list(self.bank))


class _Search:
    def __init__(self, now: Standing, plan: Plan, progress: Progress, *, seed: int) -> None:
        self.now, self.plan, self.progress, self.day = now, plan, progress, now.day
        self.rng = random.Random(seed)  # noqa: S311 - chooses neighbourhoods, no secret
        self.crew_of = {move: _crew(run.itinerary) for run in plan.runs for move in run.itinerary.moves}
        self.known: dict[tuple[Itinerary, int], Expected] = {}
        self.cannot: list[tuple[RunId, Refusal]] = []
        self.affected: set[MoveId] = set(now.free)
        self.liking: dict[tuple[str, ...], float] | None = None  # how dear a crew seems in this round; None: as it is
        self.best = self.begin()

    def begin(self) -> _Plan:
        """Return the runs that go on with their expected times, moves that do not fit any more in the bank."""
        planned = {run.run_id: run for run in self.plan.runs}
        found = _Plan(runs={}, bank=list(self.now.free))
        for run_id, going in self.now.going:
            itinerary = going
            kept = self.as_planned(planned[run_id], itinerary)
            if kept is not None:
                found.runs[run_id] = (kept, ())
                continue
            answer, shed = self.expected(itinerary, None), list[MoveId]()
            while answer.run is None and (least := self.least_to_shed(itinerary)) is not None:
                itinerary = taken_out(self.day, itinerary, least)
                shed.append(least)
                if not itinerary.stops and itinerary.past is None:
                    break
                answer = self.expected(itinerary, None)
            if not itinerary.stops and itinerary.past is None:  # not begun, and not one of its moves can be done any more
                found.bank += shed
                continue
            found.bank += shed if answer.run is not None else []
            if answer.run is None:
                assert answer.refusal is not None
                self.cannot.append((run_id, answer.refusal))
                found.runs[run_id] = (planned[run_id], ())
            else:
                found.runs[run_id] = (replace(answer.run, run_id=run_id), answer.late)
                self.affected |= {item.move for item in answer.late}
        self.affected |= set(found.bank)
        return found

    def as_planned(self, run: Run, itinerary: Itinerary) -> Run | None:
        """Return the planned run when it goes on just so: not begun and in time, or under way and on time."""
        if run.itinerary.past is not None and run.itinerary.past.is_over:
            return run
        if replace(itinerary, past=None) != replace(run.itinerary, past=None):
            return None
        told, now_min = self.progress.of(run.run_id), self.progress.now_min
        if run.kind is RunKind.HIRED or (told is None and run.start_min >= now_min):
            return run
        if told != on_time(run, now_min) and not (told is None and run.itinerary.past is not None):
            return None
        if itinerary.past is None or itinerary.past.activities != run.activities[: len(itinerary.past.activities)]:
            return None
        return replace(run, itinerary=itinerary)

    def least_to_shed(self, itinerary: Itinerary) -> MoveId | None:
        """Return the move that is best taken off a run that can no longer be done, the one taken last."""
        return next(iter(reversed(movable(self.day, itinerary))), None)

    def expected(self, itinerary: Itinerary, late_min: int | None) -> Expected:
        """Return the run with its times and prices, remembered; ``late_min`` 0 refuses what is late, None takes any."""
        key = (itinerary, -1 if late_min is None else late_min)
        if key not in self.known:
            if late_min == 0:
                run = timed(self.day, itinerary)
                self.known[key] = Expected(run=None, refusal=run) if isinstance(run, Refusal) else Expected(run=run)
            elif late_min is None:
                self.known[key] = expected(self.day, itinerary)
            else:
                self.known[key] = expected(self.day, itinerary, at_most_late_min=late_min)
        return self.known[key]

    def score(self, plan: _Plan) -> Score:
        """Return promises broken, moves with another crew, minutes late and pence; less is better."""
        late = [item for _, lates in plan.runs.values() for item in lates]
        placed = {move: _crew(run.itinerary) for run, _ in plan.runs.values() for move in run.itinerary.moves}
        moved = sum(1 for move, crew in placed.items() if move in self.crew_of and self.crew_of[move] != crew)
        pence = sum(run.cost_pence for run, _ in plan.runs.values())
        pence += sum(move.stays_behind_pence for move in self.day.moves if move.move_id not in placed)
        minutes = sum(item.expected_min + 1 - item.closes_min for item in late)
        return (len(plan.bank) + len({item.move for item in late}), moved + len(plan.bank), minutes, pence)

    def run(self, left: Callable[[], float], rounds: int | None) -> None:
        """Place what has no crew, then improve round after round."""
        if not self.affected:
            return
        best = self.best
        best_score = self.score(best)
        fruitless = number = 0
        while fruitless < FRUITLESS and (rounds is None or number < rounds):
            trial = best.copy()
            if number:
                self.ruin(trial)
            late_min = MOST_LATE_MIN if number % 4 == 3 else 0
            self.liking = {} if number else None
            if not self.recreate(trial, late_min, left if number else lambda: 1.0):
                break
            score = self.score(trial)
            number, fruitless = number + 1, fruitless + 1
            if score < best_score and not bays_overrun(self.day, [run for run, _ in trial.runs.values()]):
                best, best_score, fruitless = trial, score, 0
            if left() <= 0:
                break
        self.liking = None
        if best.bank:
            trial = best.copy()
            if self.recreate(trial, MOST_LATE_MIN, lambda: 1.0) and self.score(trial) < best_score:
                best = trial
        self.best = best

    def ruin(self, plan: _Plan) -> None:
        """Take some moves out: of those affected, and of runs that could take one of them."""
        placed = {move: run_id for run_id, (run, _) in plan.runs.items() for move in self.loose(run_id, run)}
        own = sorted(move for move in placed if move in self.affected)
        others = sorted(move for move in placed if move not in self.affected)
        chosen = self.rng.sample(own, min(len(own), self.rng.randint(1, 3)))
        near = chosen or plan.bank
        if near and others:
            centre = self.rng.choice(near)
            others.sort(key=lambda move: self.metres(centre, move))
            chosen += self.rng.sample(others[:12], min(len(others), self.rng.randint(0, MOST_AT_ONCE - 1), 12))
        for move in chosen:
            self.take_out(plan, placed[move], move)

    def loose(self, run_id: RunId, run: Run) -> tuple[MoveId, ...]:
        """Return the moves of a run that may go elsewhere: also what was offered to a carrier that nobody has asked yet."""
        if run.kind is RunKind.HIRED and all(one.run_id != run_id for one in self.plan.runs):
            return run.itinerary.moves
        return movable(self.day, run.itinerary)

    def metres(self, one: MoveId, other: MoveId) -> int:
        """Return how far the ends of two moves are apart."""
        day = self.day
        table = next(iter(day.tables.values()))
        ends = [day.place_index[self.end(move)] for move in (one, other)]
        return int(table.metres[ends[0], ends[1]])

    def end(self, name: MoveId) -> PlaceId:
        """Return the door of a move."""
        move = self.day.move_of[name]
        return move.destination if move.destination not in self.day.compound_of else move.origin

    def take_out(self, plan: _Plan, run_id: RunId, move: MoveId) -> None:
        """Take one move out of a run; where the rest cannot be timed nothing is changed."""
        run, _ = plan.runs[run_id]
        thinner = taken_out(self.day, run.itinerary, move)
        if not thinner.stops and thinner.past is None:
            del plan.runs[run_id]
            plan.bank.append(move)
            return
        answer = self.expected(thinner, None)
        if answer.run is not None:
            plan.runs[run_id] = (replace(answer.run, run_id=run_id), answer.late)
            plan.bank.append(move)

    def recreate(self, plan: _Plan, late_min: int, left: Callable[[], float]) -> bool:
        """Put every move of the bank where it costs least, in random order; return whether there was time."""
        moves, plan.bank = plan.bank, []
        self.rng.shuffle(moves)
        for move in moves:
            if left() <= 0:
                return False
            found = self.best_place(plan, move, late_min)
            if found is None:
                plan.bank.append(move)
            else:
                run_id, answer = found
                assert answer.run is not None
                plan.runs[run_id] = (replace(answer.run, run_id=run_id), answer.late)
        return True

    def best_place(self, plan: _Plan, move: MoveId, late_min: int) -> tuple[RunId, Expected] | None:
        """Return the best run for a move, with it."""
        best: tuple[tuple[int, int, int, int], RunId, Expected] | None = None
        for run_id, itinerary in self.places(plan, move):
            answer = self.expected(itinerary, late_min)
            if answer.run is None:
                continue
            was, was_late = plan.runs.get(run_id, (None, ()))
            minutes = sum(item.expected_min + 1 - item.closes_min for item in answer.late)
            has_moved = move in self.crew_of and self.crew_of[move] != _crew(itinerary)
            more_pence = round((answer.run.cost_pence - (was.cost_pence if was else 0)) * self.dear(_crew(itinerary)))
            key = (len(answer.late) - len(was_late), int(has_moved), minutes, more_pence)
            if best is None or key < best[0]:
                best = (key, run_id, answer)
        return None if best is None else best[1:]

    def dear(self, crew: tuple[str, ...]) -> float:
        """Return by what a crew's price is multiplied in this round, so that cars may meet on a crew that is dear for one."""
        if self.liking is None:
            return 1.0
        if crew not in self.liking:
            self.liking[crew] = self.rng.uniform(*SEEMS)
        return self.liking[crew]

    def places(self, plan: _Plan, move: MoveId) -> Sequence[tuple[RunId, Itinerary]]:
        """Return the ways to place a move with least added road, over the runs and the crews that are idle."""
        found: list[tuple[int, int, RunId, Itinerary]] = []
        for run_id, (run, _) in plan.runs.items():
            if not is_open(run.itinerary):
                continue
            before = self.road_s(run.itinerary)
            ways = sorted(
                ((self.road_s(way) - before, rank, way) for rank, way in enumerate(put_in(self.day, run.itinerary, move))),
                key=lambda item: item[:2],
            )
            found += [(more_s, rank, run_id, way) for more_s, rank, way in ways[:A_RUN]]
        found.sort(key=lambda item: (item[0], item[2], item[1]))
        made: list[tuple[RunId, Itinerary]] = [(run_id, way) for _, _, run_id, way in found[:IN_ALL]]
        runs = [run for run, _ in plan.runs.values()]
        rest = without_runs(self.day, runs)
        fresh = self.fresh_id(plan)
        made += [
            (fresh, way) for way in alone(rest, rest.move_of[move], one_of_each=True) if is_free(self.day, way, runs)
        ]  # fmt: skip
        return made

    def fresh_id(self, plan: _Plan) -> RunId:
        """Return a number for a new run that no run of today has had."""
        taken = {run.run_id for run in self.plan.runs} | set(plan.runs)
        number = 1
        while f"R{number:02d}" in taken:
            number += 1
        return RunId(f"R{number:02d}")

    def road_s(self, itinerary: Itinerary) -> int:
        """Return the seconds of road between the stops, as rough guide."""
        day = self.day
        kind = day.transporter_of[itinerary.transporter].vehicle_class if itinerary.transporter else next(iter(day.tables))
        assert itinerary.driver is not None
        home = day.place_index[day.driver_of[itinerary.driver].starts_at]
        rows = [home, *(day.place_index[stop.place] for stop in itinerary.stops), home]
        return int(day.tables[kind].seconds[rows[:-1], rows[1:]].sum())

    def answer(self, seconds: float) -> Replanned:
        """Return what was found with everything that differs from the plan."""
        late = tuple(item for _, lates in self.best.runs.values() for item in lates)
        day = widened(self.day, {item.move: item.expected_min + 1 for item in late})
        runs = tuple(run for _, (run, _) in sorted(self.best.runs.items()))
        placed = {move: run.itinerary for run in runs for move in run.itinerary.moves}
        moved = tuple(
            move.move_id for move in day.moves
            if move.move_id in placed and self.crew_of.get(move.move_id, ()) not in ((), _crew(placed[move.move_id]))
        )  # fmt: skip
        left = tuple(move.move_id for move in day.moves if move.move_id not in placed and move.move_id in self.crew_of)
        reasons = {item.move: item for item in self.plan.not_placed}
        unplaced = left_behind(day, runs, out={*self.progress.drivers_out, *self.progress.transporters_out})
        plan = Plan(
            runs=runs, not_placed=tuple(self._reason(item, reasons) for item in unplaced),
            found_by=f"replanned from {day.clock.wall(self.progress.now_min)}", seconds=seconds,
        )  # fmt: skip
        return Replanned(
            day=day, plan=plan, changes=self.changes(day, plan, moved, late, left), late=late, left=left, moved=moved,
            cannot=tuple(self.cannot), cost_change_pence=plan.cost_pence - self.plan.cost_pence, seconds=seconds,
        )  # fmt: skip

    @staticmethod
    def _reason(item: NotPlaced, reasons: Mapping[MoveId, NotPlaced]) -> NotPlaced:
        return replace(item, reason=reasons[item.move].reason) if item.move in reasons else item

    def changes(
        self, day: Day, plan: Plan, moved: Sequence[MoveId], late: Sequence[Late], left: Sequence[MoveId]
    ) -> tuple[Change, ...]:  # fmt: skip
        """Return every difference in words."""
        now_by = {move: run for run in plan.runs for move in run.itinerary.moves}
        was_by = {move: run for run in self.plan.runs for move in run.itinerary.moves}
        wall = day.clock.wall
        told = {item.move: item.reason for item in plan.not_placed}
        said = [
            Change(move=move, says=f"by {' with '.join(_crew(now_by[move].itinerary))} on {now_by[move].run_id}, "
                   f"no longer by {' with '.join(_crew(was_by[move].itinerary))}")
            for move in moved
        ]  # fmt: skip
        said += [
            Change(move=item.move, says=f"expected at {wall(item.expected_min)}, promised before {wall(item.closes_min)}")
            for item in late
        ]
        said += [Change(move=move, says=f"left for another day: {told[move]}") for move in left]
        said += [Change(move=move, says="not done today") for move in self.now.gone]
        said += [Change(move=None, says=f"run {run_id} cannot go on: {refusal.says}") for run_id, refusal in self.cannot]
        return tuple(said)


def _crew(itinerary: Itinerary) -> tuple[str, ...]:
    """Return who does a run: driver, second driver and transporter, or the carrier."""
    return tuple(name for name in (*itinerary.drivers, itinerary.transporter, itinerary.carrier) if name is not None)
