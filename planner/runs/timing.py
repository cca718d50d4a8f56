"""
Timing: from an itinerary to a run with times, hours and visits, or the reason why there is none.

The errands come from :mod:`planner.runs.errands`, the legal timetable from :mod:`planner.rules.timetable`; here they are
joined.  Costs are added by :mod:`planner.runs.costing`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import time, timedelta
from functools import lru_cache

from planner.clock import DayClock
from planner.model.crews import Driver, VehicleClass, WeekSoFar
from planner.model.day import Day
from planner.model.places import PlaceId, Window
from planner.rules.books import Book, CompanyLimits, book_for
from planner.rules.load_plan import LoadPlan
from planner.rules.timetable import NoTimetable, Slice, Step, Timetable, timetable
from planner.runs.ahead import errands_ahead, pinned_steps, slices_ahead, step_of, steps_ahead
from planner.runs.crew_fit import aboard_after, refuse
from planner.runs.errands import Errand, errands
from planner.runs.loading import load, moved_at, slots_after
from planner.runs.refusal import Refusal
from planner.runs.run import Activity, ActivityKind, Counter, Itinerary, Past, Run, RunId, RunKind, Visit
from planner.runs.shift import LEAST_NIGHT_OUT_MIN
from planner.units import MINUTES_A_DAY

OBJECTIVE = "duty"  # of timetables: the least of it, and among those the one that ends first


def lay_out(day: Day, itinerary: Itinerary, *, run_id: str = "") -> Run | Refusal:
    """
    Return the run with the least duty that the law, the windows and the shift allow, without its costs.

    Returns
    -------
    Run or Refusal
        A refusal names the rule that stands in the way and, where minutes would mend it, how many.

    """
    if itinerary.past is not None and itinerary.past.is_over:
        return _over(day, itinerary, itinerary.past, run_id)
    refusal = refuse(day, itinerary)
    if refusal is not None:
        return refusal
    if itinerary.kind is RunKind.HIRED:
        return _hired(day, itinerary, run_id)
    deck = load(day, itinerary)
    if isinstance(deck, Refusal):
        return deck
    todo = errands(day, itinerary, [stage.minutes for stage in deck.stages] if deck else None)
    if isinstance(todo, Refusal):
        return todo
    past, done = itinerary.past, itinerary.past.activities if itinerary.past else ()
    if past is not None:
        todo = errands_ahead(todo, past)
    base = back_to(day, itinerary)
    ahead = steps_ahead(todo, past, base) if past else tuple(step_of(errand, base) for errand in todo)
    steps = (*pinned_steps(past), *ahead) if past else ahead
    book, times = book_of(day, itinerary), _timetable(day, itinerary, steps)
    first = len(steps) - len(todo)  # of the steps that are not done
    if isinstance(times, NoTimetable):
        where = "" if times.step is None or times.step < first else f"{day.place_of[todo[times.step - first].destination].name}: "
        return Refusal(rule=times.rule, says=where + times.says, short_by_min=times.short_by_min)
    activities = (*done, *_activities(todo, slices_ahead(times.slices, past, first), done))
    return Run(
        run_id=RunId(run_id),
        itinerary=itinerary,
        book=book.name,
        activities=activities,
        visits=_visits(day, itinerary, todo, activities, deck),
        costs=(),
        counters=tuple(
            Counter(rule=item.rule, used=item.used, limit=item.limit, source=item.source, is_count=item.is_count)
            for item in times.counters
        ),
        reshuffles=(deck.reshuffles if deck else 0) + sum(len(visit.moved) for visit in (past.visits if past else ())),
        nights=times.nights,
    )


def _over(day: Day, itinerary: Itinerary, past: Past, run_id: str) -> Run:
    """Return a run of which nothing is left: as it was, whatever the law says of it, which no plan can change any more."""
    rests = [step for step in past.activities if step.kind is ActivityKind.REST]
    nights = sum(step.end_min - step.start_min >= LEAST_NIGHT_OUT_MIN for step in rests)
    return Run(
        run_id=RunId(run_id), itinerary=itinerary, book=book_of(day, itinerary).name, activities=past.activities,
        visits=past.visits, costs=(), reshuffles=sum(len(visit.moved) for visit in past.visits), nights=nights,
    )  # fmt: skip


def book_of(day: Day, itinerary: Itinerary) -> Book:
    """Return the rule book that governs the run: by the transporter's mass, or by the cars driven."""
    if itinerary.transporter is not None:
        transporter = day.transporter_of[itinerary.transporter]
        return book_for(transporter.gross_kg, transporter.trailer_kg, is_sold_car=False)
    drives_van = any(day.move_of[move].car.is_van for move in itinerary.moves)
    return book_for(3500, 0, is_sold_car=not drives_van)


def _timetable(day: Day, itinerary: Itinerary, steps: tuple[Step, ...]) -> Timetable | NoTimetable:
    crew = [day.driver_of[name] for name in itinerary.drivers]
    first: NoTimetable | None = None
    for count in range(most_nights(day, itinerary, crew) + 1):
        answer = _times_for(day, itinerary, steps, crew, nights=count)
        if isinstance(answer, Timetable) and answer.nights == count:  # a day longer only with the night that earns it
            return answer
        first = first or (answer if isinstance(answer, NoTimetable) else None)
    assert first is not None  # without a night there is a timetable or a reason
    return first


def most_nights(day: Day, itinerary: Itinerary, crew: Sequence[Driver]) -> int:
    """Return how many nights out the crew may have on this run."""
    return int(itinerary.may_stay_out and day.policy.nights_out and all(driver.may_stay_out for driver in crew))


def _times_for(
    day: Day, itinerary: Itinerary, steps: Sequence[Step], crew: Sequence[Driver], *, nights: int
) -> Timetable | NoTimetable:
    """Return the timetable that suits every member of the crew; the support driver is held to the same times."""
    shift = shift_of(day, itinerary, crew)
    return timetable(
        steps,
        book=shift.book,
        limits=shift.limits,
        nights_at=shift.nights_at,
        week=shift.week,
        earliest_min=shift.earliest_min,
        latest_end_min=shift.latest_end_min + nights * MINUTES_A_DAY,
        nights=nights,
        day_ends_by_min=shift.latest_end_min,
        objective=OBJECTIVE,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Shift:
    """What the hours rules ask to know of a crew's day, beside what it does."""

    book: Book
    limits: CompanyLimits | None
    week: WeekSoFar
    earliest_min: int
    latest_end_min: int  # of a day without a night out
    nights_at: tuple[tuple[int, int], ...]


def shift_of(day: Day, itinerary: Itinerary, crew: Sequence[Driver]) -> Shift:
    """Return the shift that every member of a crew can work."""
    book = book_of(day, itinerary)
    return Shift(
        book=book,
        limits=CompanyLimits.of(day.policy, book),
        week=crew[0].week if len(crew) == 1 else fullest_week([driver.week for driver in crew]),
        earliest_min=itinerary.past.began_min if itinerary.past else max(driver.starts_from_min for driver in crew),
        latest_end_min=min(driver.home_by_min for driver in crew),
        nights_at=_nights_at(day.clock),
    )


@lru_cache(maxsize=64)
def _nights_at(clock: DayClock) -> tuple[tuple[int, int], ...]:
    """Return 00:00 to 04:00 on the wall of the day and the two after it, as minutes; clocks change in the night."""
    days = [clock.day + timedelta(days=number) for number in range(3)]
    return tuple((clock.minute(time(), day=day), clock.minute(time(4), day=day)) for day in days)


def fullest_week(weeks: Sequence[WeekSoFar]) -> WeekSoFar:
    """Return a week that leaves no more than each of these does; exact figure by figure, so at times a little strict."""
    driven = max(week.driven_week_min for week in weeks)
    ends = [week.last_duty_end_min for week in weeks if week.last_duty_end_min is not None]
    rests = [week.weekly_rest_ended_min for week in weeks if week.weekly_rest_ended_min is not None]
    return WeekSoFar(
        driven_week_min=driven,
        driven_last_week_min=max(week.driven_last_week_min + week.driven_week_min for week in weeks) - driven,
        worked_week_min=max(week.worked_week_min for week in weeks),
        duty_days=max(week.duty_days for week in weeks),
        extended_days=max(week.extended_days for week in weeks),
        reduced_rests=max(week.reduced_rests for week in weeks),
        last_duty_end_min=max(ends, default=None),
        weekly_rest_ended_min=min(rests, default=None),
        rest_owed_min=max(week.rest_owed_min for week in weeks),
    )


def _activities(todo: Sequence[Errand], slices: Sequence[Slice], done: tuple[Activity, ...]) -> tuple[Activity, ...]:
    """Give each slice its place: breaks and waits where the crew is, or on the road of the drive they interrupt."""
    made: list[Activity] = []
    seen: set[int] = set()
    here = todo[0].origin if todo else None
    left = {step: sum(part.end_min - part.start_min for part in slices if part.step == step) for step in range(len(todo))}
    for part in slices:
        minutes = part.end_min - part.start_min
        if part.step is None:
            assert here is not None  # no idle time without something to do after it
            before = made or done
            made.append(Activity(kind=ActivityKind(part.kind), start_min=part.start_min, end_min=part.end_min,
                                 origin=here, destination=here, aboard=before[-1].aboard if before else ()))  # fmt: skip
            continue
        errand = todo[part.step]
        made.append(Activity(
            kind=errand.kind, start_min=part.start_min, end_min=part.end_min, origin=errand.origin,
            destination=errand.destination, metres=0 if part.step in seen else errand.metres, aboard=errand.aboard,
            visit=errand.visit, says=errand.says,
        ))  # fmt: skip
        seen.add(part.step)
        left[part.step] -= minutes
        here = errand.destination if left[part.step] == 0 else errand.origin
    return tuple(made)


def _visits(
    day: Day, itinerary: Itinerary, todo: Sequence[Errand], activities: Sequence[Activity], deck: LoadPlan | None
) -> tuple[Visit, ...]:
    """Return one visit a stop, and one more for the way back when there is one."""
    stops = [(stop.place, stop.leaves, stop.takes, aboard) for stop, aboard in aboard_after(itinerary)]
    back = [errand for errand in todo if errand.visit == len(stops)]
    if back:
        stops.append((back_to(day, itinerary), (), (), ()))
    past = itinerary.past
    visits: list[Visit] = list(past.visits) if past else []
    clock_min = past.end_min if past else activities[0].start_min
    for number, (place, leaves, takes, aboard) in list(enumerate(stops))[len(visits) :]:
        legs = [errand for errand in todo if errand.visit == number and errand.leg_by]
        work = [errand for errand in todo if errand.visit == number and not errand.leg_by]
        own = [step for step in activities if step.visit == number]
        on_the_way = [step for step in own if step.kind is not ActivityKind.OTHER_WORK]
        at_work = [step for step in own if step.kind is ActivityKind.OTHER_WORK]
        arrive_min = on_the_way[-1].end_min if on_the_way else clock_min
        start_min = at_work[0].start_min if at_work else arrive_min
        clock_min = at_work[-1].end_min if at_work else arrive_min
        visits.append(Visit(
            place=place, arrive_min=arrive_min, start_min=start_min, end_min=clock_min, window=_meet(work), leaves=leaves,
            takes=takes, aboard_after=aboard, leg_metres=sum(errand.metres for errand in legs),
            leg_min=sum(errand.minutes for errand in legs), leg_by=legs[0].leg_by if legs else "",
            charges=tuple(key for errand in legs for key in errand.charges),
        ))  # fmt: skip
    if deck is None:
        return tuple(visits)
    on_deck = (
        replace(visit, slots=slots_after(deck, number), moved=moved_at(deck, number))
        if past is None or number >= len(past.visits) else visit
        for number, visit in enumerate(visits[: len(itinerary.stops)])
    )
    return (*on_deck, *visits[len(itinerary.stops) :])


def back_to(day: Day, itinerary: Itinerary) -> PlaceId:
    """Return where a run of our own ends: the transporter's base, or where its driver starts from."""
    if itinerary.transporter is not None:
        return day.transporter_of[itinerary.transporter].base
    assert itinerary.driver is not None
    return day.driver_of[itinerary.driver].starts_at


def _meet(work: Sequence[Errand]) -> Window | None:
    windows = [window for errand in work for window in errand.windows]
    if not windows:
        return None
    return Window(
        opens_min=max(window.opens_min for window in windows), closes_min=min(window.closes_min for window in windows)
    )


def _hired(day: Day, itinerary: Itinerary, run_id: str) -> Run:
    """Return a hired carrier's run: it keeps the window of the promise at its own risk."""
    move = day.move_of[itinerary.moves[0]]
    window = move.destination_window
    at_min = window.opens_min if window else 0
    row, column = day.place_index[move.origin], day.place_index[move.destination]
    metres = int(day.tables[VehicleClass.CAR].metres[row, column])
    visits = tuple(
        Visit(
            place=stop.place, arrive_min=at_min, start_min=at_min, end_min=at_min,
            window=window if stop.place == move.destination else move.origin_window,
            leaves=stop.leaves, takes=stop.takes, aboard_after=aboard,
            leg_metres=metres if stop.leaves else 0, leg_min=0, leg_by="hired carrier",
        )
        for stop, aboard in aboard_after(itinerary)
    )  # fmt: skip
    return Run(run_id=RunId(run_id), itinerary=itinerary, book="", activities=(), visits=visits, costs=())
