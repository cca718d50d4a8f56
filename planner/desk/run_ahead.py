"""
Runs ahead: where each run of a plan will be when, from how far it has got, and which promises that puts at risk.

A run is timed anew with its past pinned, promises that it cannot keep late; where the hours law or the shift stands in the
way the rule is told, and what is left is moved along by as much as the run is behind.  A run of which nothing was heard is
held to be as planned.
"""

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.orders import OrderRef
from planner.model.progress import Progress, RunProgress
from planner.runs.expected import expected
from planner.runs.past import on_time, past_of
from planner.runs.plan import Plan
from planner.runs.refusal import Refusal
from planner.runs.run import Counter, Run, RunKind, Visit

SOON_MIN = 15  # a promise with less than this to spare is told of before it is late


@dataclass(frozen=True, kw_only=True, slots=True)
class AtRisk:
    """
    A promise that will be late by ``late_min``, or with 0 has less than a quarter of an hour to spare; whom to ring.

    ``is_stranded``: the crew that has it cannot go on, so that nobody comes until the day is planned anew.
    """

    order: OrderRef
    late_min: int
    expected_min: int
    closes_min: int
    buyer: str
    phone: str
    is_stranded: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class RunAhead:
    """
    One run from now on.

    ``run`` is as it is now expected (as planned where nothing better is known); ``next_visit`` counts from 0, None when none is
    left.  ``is_heard_of``: something was told of it.  ``rule`` is that of the law or the shift that cannot be kept, blank when
    all are.
    """

    run: Run
    is_heard_of: bool
    next_visit: int | None
    at_risk: tuple[AtRisk, ...]
    rule: str = ""
    says: str = ""
    stopped: str = ""

    @property
    def tightest(self) -> Counter | None:
        """The limit of the hours rules, in minutes, of which least is left when the run ends; none that a break clears."""
        found = (item for item in self.run.counters if not item.is_count and not item.is_of_breaks)
        return min(found, key=lambda item: item.slack, default=None)


def runs_ahead(day: Day, plan: Plan, progress: Progress) -> tuple[RunAhead, ...]:
    """Return every run of a plan as it is expected from ``progress.now_min`` on."""
    ended = {outcome.move for outcome in progress.outcomes}
    return tuple(_ahead(day, run, progress, ended) for run in plan.runs)


def _ahead(day: Day, run: Run, progress: Progress, ended: AbstractSet[MoveId]) -> RunAhead:
    told = progress.of(run.run_id)
    is_done = bool(told and told.off_duty_min is not None)
    stopped = "" if is_done else _stopped(run, told, progress)
    known = told or (None if stopped else on_time(run, progress.now_min))
    again, refusal = (run, None) if known is None or run.kind is RunKind.HIRED else _retimed(day, run, known, progress.now_min)
    visited = len(known.visits) if known else 0
    open_visits = range(visited, len(again.visits)) if not is_done else range(0)
    risks = [
        _risks(day, run.visits[number], again.visits[number], ended, is_stranded=bool(stopped)) for number in open_visits
    ]  # fmt: skip
    return RunAhead(
        run=again, is_heard_of=told is not None, next_visit=next(iter(open_visits), None),
        at_risk=tuple(risk for of_visit in risks for risk in of_visit),
        rule=refusal.rule if refusal else "", says=refusal.says if refusal else "", stopped=stopped,
    )  # fmt: skip


def _stopped(run: Run, told: RunProgress | None, progress: Progress) -> str:
    """Return why a crew cannot go on, blank when it can."""
    if told is not None and told.stopped is not None:
        return told.stopped.says
    out = {*progress.drivers_out, *progress.transporters_out} & run.itinerary.crew
    return f"{', '.join(sorted(out))} out" if out else ""


def _retimed(day: Day, run: Run, told: RunProgress, now_min: int) -> tuple[Run, Refusal | None]:
    found = expected(day, replace(run.itinerary, past=past_of(run, told, now_min=now_min)))
    if found.run is None:
        return _moved_along(run, told, now_min), found.refusal
    visits = (replace(visit, window=planned.window) for visit, planned in zip(found.run.visits, run.visits, strict=True))
    return replace(found.run, run_id=run.run_id, visits=tuple(visits)), None


def _moved_along(run: Run, told: RunProgress, now_min: int) -> Run:
    """Return the run with what is left moved along by as much as it is behind, whatever the rules say to that."""
    done = len(told.visits)
    if done == len(run.visits):
        return run
    real = (told.visits[-1].left_min or told.visits[-1].arrived_min) if told.visits else told.began_min
    behind = real - (run.visits[done - 1].end_min if done else run.start_min) + told.late_min
    behind = max(0, behind, now_min - run.visits[done].arrive_min)
    ahead = [
        replace(visit, arrive_min=visit.arrive_min + behind, start_min=visit.start_min + behind, end_min=visit.end_min + behind)
        for visit in run.visits[done:]
    ]  # fmt: skip
    return replace(run, visits=(*run.visits[:done], *ahead))


def _risks(day: Day, planned: Visit, visit: Visit, ended: AbstractSet[MoveId], *, is_stranded: bool) -> Sequence[AtRisk]:
    if planned.window is None:
        return ()
    spare = planned.window.closes_min - 1 - visit.start_min  # work may start at any minute before the window closes
    if not is_stranded and (spare >= SOON_MIN or visit.start_min <= planned.start_min):  # as tight as it was planned is no news
        return ()
    moves = [] if planned.place in day.compound_of else [day.move_of[name] for name in (*planned.leaves, *planned.takes)]
    refs = dict.fromkeys(move.order for move in moves if move.order is not None and move.move_id not in ended)
    buyers = {ref: day.order_of[ref].buyer for ref in refs}
    return [
        AtRisk(order=ref, late_min=max(0, -spare), expected_min=visit.start_min, closes_min=planned.window.closes_min,
               buyer=buyer.name, phone=buyer.phone, is_stranded=is_stranded)
        for ref, buyer in buyers.items()
    ]  # fmt: skip
