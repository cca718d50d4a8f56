"""
Under way: how far each run of a published plan has got, by what was told of the road.

A visit that nobody told of, before one that was told of, is held to have been when it was planned, or as near to that as
the words before and after it allow.  A car that was handed over, refused or not met ends its visit.
A crew whose first word is that it runs late or cannot go on is held to have gone as planned until then, if by plan it had left
where it loaded; one that stops sooner has not begun, and one that is late sooner begins as much later.
A plan made while the day ran carries its past; only what happened after it counts then.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from planner.desk.day_book.happenings import ENDS, Happening
from planner.desk.day_book.paper import crew_of
from planner.desk.day_book.road import EARLIEST_MIN
from planner.desk.day_book.road_events import RoadEvent
from planner.model.crews import DriverId, TransporterId
from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.progress import MoveEnd, MoveOutcome, Progress, RunProgress, Stopped, VisitDone
from planner.runs.past import on_time
from planner.runs.plan import Plan
from planner.runs.run import Past, Run

_MOVES_ON = (*ENDS, Happening.ON_DUTY, Happening.LEFT, Happening.ARRIVED, Happening.COLLECTED, Happening.OFF_DUTY)
_FIRST_WORDS = (Happening.LATE, Happening.BREAKDOWN, Happening.ILL)
_NOT_MOVING = (Happening.CANCELLED, Happening.FAILED_CHECK, Happening.NOT_REACHED)


def progress_of(day: Day, plan: Plan, events: Sequence[RoadEvent], *, now_min: int) -> Progress:
    """
    Return where a day stands.

    Parameters
    ----------
    day, plan
        As published.
    events
        What was told, in the order in which it happened; what comes after ``now_min`` is not looked at.
    now_min
        The minute of the day from which one looks.

    """
    told = [event for event in events if event.at_min <= now_min]
    planned_min = max((run.itinerary.past.now_min for run in plan.runs if run.itinerary.past), default=EARLIEST_MIN - 1)
    new = [event for event in told if event.at_min > planned_min]  # what was told before is in the plan already
    runs = [
        _run_progress(day, run, [event for event in (new if run.itinerary.past else told) if event.crew == crew_of(run)])
        for run in plan.runs
    ]  # fmt: skip
    out = _out(told)
    return Progress(
        now_min=now_min, runs=tuple(item for item in runs if item is not None), outcomes=tuple(_outcomes(day, new)),
        drivers_out=frozenset(DriverId(name) for name in out[Happening.ILL]),
        transporters_out=frozenset(TransporterId(name) for name in out[Happening.BREAKDOWN]),
    )  # fmt: skip


def _out(told: Sequence[RoadEvent]) -> dict[Happening, set[str]]:
    out: dict[Happening, set[str]] = {Happening.ILL: set(), Happening.BREAKDOWN: set()}
    for event in told:
        if event.what is Happening.ILL and event.crew:
            out[Happening.ILL].add(event.crew)
        if event.what is Happening.BREAKDOWN and event.transporter:
            out[Happening.BREAKDOWN].add(event.transporter)
        if event.what is Happening.GOING_AGAIN:
            out[Happening.BREAKDOWN].discard(event.transporter or "")
    return out


def _outcomes(day: Day, told: Sequence[RoadEvent]) -> list[MoveOutcome]:
    ends = {end.value: end for end in MoveEnd}
    found = []
    for event in told:
        if event.order is None or event.what.value not in ends:
            continue
        of_old_car = event.what is Happening.NOT_AS_DESCRIBED
        own = [move for move in day.moves if move.order == event.order and (move.tied_to is not None) == of_old_car]
        found += [MoveOutcome(move=move.move_id, end=ends[event.what.value]) for move in own]
    return found


@dataclass(slots=True)
class _Walk:
    """A run as far as it was followed: visits as pairs of arrival and leaving."""

    run: Run
    began_min: int
    visits: list[list[int | None]] = field(default_factory=list)
    is_under_way: bool = False
    late_min: int = 0
    stopped: Stopped | None = None
    off_duty_min: int | None = None

    @property
    def last_min(self) -> int:
        """The last minute that is known of."""
        known = [minute for pair in self.visits for minute in pair if minute is not None]
        return max([self.began_min, *known])

    @property
    def starts_here(self) -> bool:
        """Whether no visit is going on and the next one is where the crew is already, as where it loads in its own compound."""
        is_at_one = bool(self.visits) and self.visits[-1][1] is None
        return not is_at_one and len(self.visits) < len(self.run.visits) and not self.run.visits[len(self.visits)].leg_min

    def arrive(self, number: int, at_min: int) -> None:
        """Come to a visit; those before it that nobody told of are passed on the way."""
        self.leave(at_min)
        while len(self.visits) < number:
            planned = self.run.visits[len(self.visits)]
            arrive_min = min(max(planned.arrive_min, self.last_min), at_min)
            self.visits.append([arrive_min, min(max(planned.end_min, arrive_min), at_min)])
        if len(self.visits) == number:
            self.visits.append([max(at_min, self.last_min), None])
        self.is_under_way, self.late_min = False, 0

    def leave(self, at_min: int) -> None:
        """Leave the visit where the crew is, if it is at one."""
        if self.visits and self.visits[-1][1] is None:
            self.visits[-1][1] = max(at_min, self.last_min)

    def done(self) -> RunProgress:
        """Return how far it is."""
        return RunProgress(
            run=str(self.run.run_id), began_min=self.began_min,
            visits=tuple(VisitDone(arrived_min=arrived or 0, left_min=left) for arrived, left in self.visits),
            is_under_way=self.is_under_way, late_min=self.late_min, stopped=self.stopped, off_duty_min=self.off_duty_min,
        )  # fmt: skip


def _run_progress(day: Day, run: Run, told: Sequence[RoadEvent]) -> RunProgress | None:
    past = run.itinerary.past
    begun = [event for event in told if event.what in _MOVES_ON and event.what not in _NOT_MOVING]
    if not run.activities:
        return None
    if past is not None:
        return _goes_on(day, run, past, told)
    if not begun:
        return _by_first_word(day, run, told)
    began_min = begun[0].at_min if begun[0].what in (Happening.ON_DUTY, Happening.LEFT) else min(run.start_min, begun[0].at_min)
    walk = _Walk(run=run, began_min=began_min)
    for event in told:
        _follow(day, walk, event)
    return walk.done()


def _by_first_word(day: Day, run: Run, told: Sequence[RoadEvent]) -> RunProgress | None:
    """Return how far a run is whose crew was silent until it was late or stopped, None when it has not begun."""
    first = next((event for event in told if event.what in _FIRST_WORDS), None)
    known = on_time(run, first.at_min) if first is not None else None
    if first is None or known is None:
        late_min = (first.late_min or 0) if first is not None else 0
        return RunProgress(run=str(run.run_id), began_min=run.start_min + late_min) if late_min else None
    has_loaded = bool(known.visits) and known.visits[0].left_min is not None
    if first.what is not Happening.LATE and not has_loaded:
        return None
    walk = _Walk(run=run, began_min=known.began_min, is_under_way=known.is_under_way)
    walk.visits = [[visit.arrived_min, visit.left_min] for visit in known.visits]
    for event in told:
        _follow(day, walk, event)
    return walk.done()


def _goes_on(day: Day, run: Run, past: Past, told: Sequence[RoadEvent]) -> RunProgress:
    """Return how far a run is that had a past already when it was planned."""
    walk = _Walk(run=run, began_min=past.began_min, is_under_way=past.is_heading, late_min=past.late_min)
    walk.visits = [[visit.arrive_min, visit.end_min] for visit in past.visits]
    walk.off_duty_min = past.end_min if past.is_over else None
    for event in told:
        _follow(day, walk, event)
    return walk.done()


def _follow(day: Day, walk: _Walk, event: RoadEvent) -> None:
    at_min, what = event.at_min, event.what
    number = _visit_of(day, walk, event)
    if what is Happening.LATE:
        walk.late_min = event.late_min or 0
    elif what in (Happening.BREAKDOWN, Happening.ILL):
        walk.stopped = Stopped(at_min=at_min, says=event.says or what.value)
    elif what is Happening.GOING_AGAIN:
        walk.stopped = None
    elif what is Happening.OFF_DUTY:
        if len(walk.visits) < len(walk.run.visits):
            walk.arrive(len(walk.run.visits) - 1, at_min)
        walk.leave(at_min)
        walk.is_under_way, walk.off_duty_min = False, max(at_min, walk.last_min)
    elif number is not None or what is Happening.LEFT:
        _move_on(walk, event, number)


def _move_on(walk: _Walk, event: RoadEvent, number: int | None) -> None:
    """Follow a crew to a visit or away from it."""
    at_min, what = event.at_min, event.what
    is_new = number is not None and number >= len(walk.visits)
    if what in _NOT_MOVING:
        return
    if number is None and walk.starts_here:
        walk.arrive(len(walk.visits), walk.last_min)
    elif number is not None and is_new:
        planned = walk.run.visits[number]
        length = planned.end_min - planned.start_min if what in ENDS else 0
        walk.arrive(number, max(walk.last_min, at_min - length) if length else at_min)
    if what is Happening.LEFT or what in ENDS:
        walk.leave(at_min)
        walk.is_under_way = len(walk.visits) < len(walk.run.visits)


def _visit_of(day: Day, walk: _Walk, event: RoadEvent) -> int | None:
    """Return which visit of the run an event speaks of, the next one where it names no order; None when there is none."""
    visits = walk.run.visits
    if event.order is None:
        return len(walk.visits) if event.what is Happening.ARRIVED and len(walk.visits) < len(visits) else None
    own = {move.move_id for move in day.moves if move.order == event.order}
    takes = event.what is Happening.COLLECTED
    found = [number for number, visit in enumerate(visits) if _has(own, visit.takes if takes else (*visit.leaves, *visit.takes))]
    at_door = [number for number in found if visits[number].place not in day.compound_of]
    return next(iter(found if takes else at_door or found[-1:]), None)


def _has(own: set[MoveId], moves: Sequence[MoveId]) -> bool:
    return any(move in own for move in moves)
