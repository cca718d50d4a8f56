"""
Standing: the day as it is now, from its plan and what was reported: what is done, who goes on, which moves need a crew anew.

A car that was not taken at its door goes back to where it came from, in the hands of the crew that has it.  Cars of a crew
that cannot go on wait where it stopped: their move is cut in two there, the first part done, the second to be placed anew.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.model.day import Day
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.places import PlaceId, Window
from planner.model.progress import MoveEnd, Progress, RunProgress, Stopped
from planner.runs.crew_fit import aboard_after
from planner.runs.past import on_time, past_of
from planner.runs.plan import Plan
from planner.runs.run import Activity, ActivityKind, Itinerary, Past, Run, RunId, RunKind, Stop, Visit
from planner.units import MINUTES_A_DAY

WAITS_AT_MOST_MIN = 2 * MINUTES_A_DAY  # how long a car waits where its crew stopped
FIRST_PART = ", first part"


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """
    The day as it is now.

    ``going`` are the runs that stand, each with its number, its stops and the past in them.  ``free`` are the moves (without
    part-exchanges that follow) that have lost their crew; ``gone`` those that are not done today at all.
    """

    day: Day
    going: tuple[tuple[RunId, Itinerary], ...]
    free: tuple[MoveId, ...]
    gone: tuple[MoveId, ...]


def standing(day: Day, plan: Plan, progress: Progress) -> Standing:
    """Return the day as it is at ``progress.now_min``."""
    return _Reader(day, progress).read(plan)


class _Reader:
    """Goes through the runs once, keeping what becomes of moves."""

    def __init__(self, day: Day, progress: Progress) -> None:
        self.day, self.progress = day, progress
        self.ends = {item.move: item.end for item in progress.outcomes}
        self.moves: dict[MoveId, Move | None] = {}  # what became of a move; None: gone
        self.added: list[Move] = []
        self.free: list[MoveId] = []

    def read(self, plan: Plan) -> Standing:
        for move in self.ends:  # of no run, or not begun: gone, and its part-exchange with it
            self.drop(move)
        going = [(run.run_id, itinerary) for run in plan.runs if (itinerary := self.run(run)) is not None]
        gone = tuple(name for name, move in self.moves.items() if move is None and name in self.day.move_of)
        free = dict.fromkeys(name for name in self.free if name not in gone)
        return Standing(day=self.now(going), going=tuple(going), free=tuple(free), gone=gone)

    def drop(self, move: MoveId) -> None:
        """Take a move out of the day, and its part-exchange."""
        self.moves[move] = None
        follower = self.day.part_exchange_of.get(move)
        if follower is not None:
            self.moves[follower.move_id] = None

    def run(self, run: Run) -> Itinerary | None:
        """Return what stands of a run, None when nothing does."""
        plan, told = run.itinerary, self.progress.of(run.run_id)
        if plan.past is not None and plan.past.is_over:
            self.moves |= {name: self.day.move_of[name] for name in plan.moves if name in self.ends}
            return plan
        if told is None and plan.past is not None:  # nothing was heard since: as expected
            told = on_time(run, self.progress.now_min)
        is_out = bool(plan.crew & {*self.progress.drivers_out, *self.progress.transporters_out})
        if told is None or plan.kind is RunKind.HIRED:
            left = replace(plan, stops=_without_empty([self.without_gone(stop) for stop in plan.stops], 0))
            if is_out:
                self.free += [move for move in left.moves if self.day.move_of[move].tied_to is None]
            return None if is_out or not left.stops else left
        stopped = told.stopped
        if is_out and stopped is None:
            stopped = Stopped(at_min=self.progress.now_min, says="out")
        stops = self.turned_out(run, told)
        if stopped is not None and told.off_duty_min is None:
            return self.stopped(run, told, stops, stopped)
        itinerary = replace(plan, stops=_without_empty(stops, len(told.visits) + told.is_under_way))
        return replace(itinerary, past=past_of(run, told, now_min=self.progress.now_min, itinerary=itinerary))

    def without_gone(self, stop: Stop) -> Stop:
        def kept(moves: Sequence[MoveId]) -> tuple[MoveId, ...]:
            return tuple(move for move in moves if self.moves.get(move, self.day.move_of.get(move)) is not None)

        return replace(stop, leaves=kept(stop.leaves), takes=kept(stop.takes))

    def turned_out(self, run: Run, told: RunProgress) -> list[Stop]:
        """Return the stops as they turned out: cars that were refused stay in hand and go back."""
        stops, done = list(run.itinerary.stops), len(told.visits)
        back: list[tuple[MoveId, int]] = []
        for name in run.itinerary.moves:
            move = self.day.move_of[name]
            if name not in self.ends or move.tied_to is not None:
                continue
            taken = next(rank for rank, stop in enumerate(stops) if name in stop.takes)
            if move.destination in self.day.compound_of and any(name in stop.leaves for stop in stops[:done]):
                self.moves[name] = move  # it is back already
                continue
            if taken < done and self.ends[name] is not MoveEnd.FAILED_CHECK:  # that one was never taken
                back.append((name, next(rank for rank, stop in enumerate(stops) if name in stop.leaves)))
                self.moves[name] = replace(move, destination=self.way_back(run, move), destination_window=None, destination_min=0)
        stops = [
            replace(cut, leaves=tuple(move for move in cut.leaves if move not in dict(back)))
            for cut in map(self.without_gone, stops)
        ]
        for name, door in back:
            moved = self.moves[name]
            assert moved is not None
            at = max(door + 1, done)  # a driver with the car in hand brings it back before anything else
            if run.kind is RunKind.TRANSPORTER:
                at = next((rank for rank in range(at, len(stops)) if stops[rank].place == moved.destination), len(stops))
            if at < len(stops) and stops[at].place == moved.destination:
                stops[at] = replace(stops[at], leaves=(*stops[at].leaves, name))
            else:
                stops.insert(at, Stop(place=moved.destination, leaves=(name,)))
        return stops

    def way_back(self, run: Run, move: Move) -> PlaceId:
        """Return the compound to which a car goes back: its own, or where the crew is at home."""
        if move.origin in self.day.compound_of:
            return move.origin
        plan = run.itinerary
        if plan.transporter is not None:
            return self.day.transporter_of[plan.transporter].base
        assert plan.driver is not None
        return self.day.driver_of[plan.driver].base

    def stopped(self, run: Run, told: RunProgress, stops: list[Stop], stopped: Stopped) -> Itinerary | None:
        """Return what a crew did that cannot go on, its cars left where it stands."""
        done = len(told.visits)
        plan = replace(run.itinerary, stops=tuple(stops[:done]))
        aboard = list(aboard_after(plan))[-1][1] if done else ()
        place = stopped.place or run.visits[max(0, done - 1)].place
        for name in dict.fromkeys(move for stop in stops for move in stop.takes):
            if name not in aboard and any(name in stop.takes for stop in stops[done:]) and self.day.move_of[name].tied_to is None:
                self.free.append(name)
        if not done:  # nothing was done yet
            return None
        first: dict[MoveId, MoveId] = {}
        for name in aboard:
            move = self.moves.get(name) or self.day.move_of[name]
            first[name] = MoveId(f"{name}{FIRST_PART}")
            self.added.append(replace(
                move, move_id=first[name], kind=MoveKind.TRANSFER, destination=place, destination_window=None, destination_min=0,
                stays_behind_pence=0, order=None,
            ))  # fmt: skip
            waits = Window(opens_min=stopped.at_min, closes_min=stopped.at_min + WAITS_AT_MOST_MIN)
            self.moves[name] = replace(
                move, origin=place, origin_window=None if place in self.day.compound_of else waits, origin_min=0, tied_to=None,
                pinned_driver=None, pinned_transporter=None,
            )  # fmt: skip
            self.free.append(name)

        def renamed(moves: Sequence[MoveId]) -> tuple[MoveId, ...]:
            return tuple(first.get(move, move) for move in moves)

        past = past_of(run, replace(told, is_under_way=False), now_min=stopped.at_min, itinerary=plan)
        past = replace(
            past,
            activities=tuple(replace(step, aboard=renamed(step.aboard)) for step in past.activities),
            visits=tuple(
                replace(visit, leaves=renamed(visit.leaves), takes=renamed(visit.takes), aboard_after=renamed(visit.aboard_after),
                        slots=tuple((first.get(move, move), slot) for move, slot in visit.slots), moved=renamed(visit.moved))
                for visit in past.visits
            ),
        )  # fmt: skip
        kept = [replace(stop, leaves=renamed(stop.leaves), takes=renamed(stop.takes)) for stop in stops[:done]]
        if aboard:
            kept.append(Stop(place=place, leaves=renamed(aboard)))
        plan = replace(plan, stops=tuple(kept))
        return replace(plan, past=_ended(self.day, plan, past, place, max(stopped.at_min, past.end_min)))

    def now(self, going: Sequence[tuple[RunId, Itinerary]]) -> Day:
        """Return the day with moves as they are now, and crews that have not begun free from now on."""
        day, progress = self.day, self.progress
        plans = [plan for _, plan in going]
        begun = {name for plan in plans if plan.past for name in plan.crew}
        asked = Counter(plan.carrier for plan in plans if plan.carrier)
        tied = [move for move in day.moves if move.tied_to is not None]
        followers = {move.move_id for move in tied if move.tied_to and self.moves.get(move.tied_to, move) is None}
        return replace(
            day,
            moves=(*(now for move in day.moves if move.move_id not in followers
                     and (now := self.moves.get(move.move_id, move)) is not None), *self.added),
            drivers=tuple(
                item if item.driver_id in begun
                else replace(item, starts_from_min=max(item.starts_from_min, progress.now_min))
                for item in day.drivers if item.driver_id in begun or item.driver_id not in progress.drivers_out
            ),
            transporters=tuple(
                item for item in day.transporters
                if item.transporter_id in begun or item.transporter_id not in progress.transporters_out
            ),
            carriers=tuple(
                item if item.notice_by_min is None or progress.now_min <= item.notice_by_min
                else replace(item, cars=asked[item.carrier_id])
                for item in day.carriers
            ),
        )  # fmt: skip


def _without_empty(stops: Sequence[Stop], fixed: int) -> tuple[Stop, ...]:
    """Return the stops, those left out where nothing is to be done and nobody is on the way."""
    return tuple(stop for rank, stop in enumerate(stops) if rank < fixed or stop.leaves or stop.takes)


def _ended(day: Day, plan: Itinerary, past: Past, place: PlaceId, at_min: int) -> Past:
    """Return the past of a run that ends at a place: the way there, and the visit in which its cars are left."""
    steps = list(past.activities)
    here = steps[-1].destination if steps else place
    number = len(past.visits)
    aboard = past.visits[-1].aboard_after if past.visits else ()
    metres, by = 0, ""
    if steps and place != here and plan.transporter is not None:
        table = day.tables[day.transporter_of[plan.transporter].vehicle_class]
        metres, by = int(table.metres[day.place_index[here], day.place_index[place]]), "transporter"
        steps.append(Activity(
            kind=ActivityKind.DRIVE, start_min=past.end_min, end_min=at_min, origin=here, destination=place, metres=metres,
            aboard=aboard, visit=number, says=f"Drive to {day.place_of[place].name}",
        ))  # fmt: skip
    elif at_min > past.end_min or not steps:
        steps.append(Activity(
            kind=ActivityKind.AVAILABLE, start_min=past.end_min, end_min=at_min, origin=place, destination=place, aboard=aboard,
        ))  # fmt: skip
    visits = past.visits
    if number < len(plan.stops):
        visits += (Visit(
            place=place, arrive_min=at_min, start_min=at_min, end_min=at_min, window=None, leaves=plan.stops[-1].leaves, takes=(),
            aboard_after=(), leg_metres=metres, leg_min=at_min - past.end_min if metres else 0, leg_by=by,
        ),)  # fmt: skip
    return replace(past, visits=visits, activities=tuple(steps), is_over=True, is_heading=False)
