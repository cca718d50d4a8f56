"""
Outline: a run as far as its cost needs it, for whoever compares many and keeps few.

Whether it is legal, when duty begins and ends, when it loads at compounds and every line of its cost are those of
:func:`planner.runs.timing.lay_out` and :func:`planner.runs.costing.price`; other visits, counters and words are left out, and
so is the reason why there is none.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from planner.model.day import Day
from planner.model.places import PlaceId
from planner.rules.night_out import TwoDays
from planner.rules.timetable import Choice, Step, best_choice, best_night_out, tidied
from planner.runs.ahead import step_of
from planner.runs.costing import price
from planner.runs.crew_fit import refuse
from planner.runs.errands import Errand, errands
from planner.runs.loading import crowded_by, reshuffle_minutes
from planner.runs.priced import priced
from planner.runs.refusal import Refusal
from planner.runs.run import Activity, ActivityKind, Itinerary, Run, RunId, RunKind, Visit
from planner.runs.shift import LEAST_NIGHT_OUT_MIN
from planner.runs.timing import OBJECTIVE, Shift, back_to, most_nights, shift_of
from planner.units import MINUTES_A_DAY

NO_RUN = Refusal(rule="time", says="The law, the windows, the shift or the deck stand in the way.")  # nobody asks here which


def outlined(day: Day, itinerary: Itinerary) -> Run | Refusal:
    """Return the run priced, in outline where that is quick, or :data:`NO_RUN`."""
    if itinerary.past is not None or itinerary.kind is RunKind.HIRED:
        return _laid_out(day, itinerary)
    if refuse(day, itinerary) is not None:
        return NO_RUN
    reshuffle_min = reshuffle_minutes(day, itinerary)
    if reshuffle_min is None:
        return NO_RUN if crowded_by(day, itinerary) else _laid_out(day, itinerary)
    todo = errands(day, itinerary, reshuffle_min, in_words=False)
    if isinstance(todo, Refusal):
        return NO_RUN
    return _timed(day, itinerary, todo)


def _laid_out(day: Day, itinerary: Itinerary) -> Run | Refusal:
    run = priced(day, itinerary)
    return NO_RUN if isinstance(run, Refusal) else run


def _timed(day: Day, itinerary: Itinerary, todo: Sequence[Errand]) -> Run | Refusal:
    """Return the run of one day, with a night out where only that makes it legal."""
    crew, base = [day.driver_of[name] for name in itinerary.drivers], back_to(day, itinerary)
    steps = tuple(step_of(errand, base) for errand in todo)
    shift = shift_of(day, itinerary, crew)
    choice = best_choice(
        steps, book=shift.book, limits=shift.limits, week=shift.week, earliest_min=shift.earliest_min,
        latest_end_min=shift.latest_end_min, objective=OBJECTIVE, nights_at=shift.nights_at,
    )  # fmt: skip
    nights = 0
    if choice is None:
        night = _by_night(steps, shift) if most_nights(day, itinerary, crew) else None
        if night is None:
            return NO_RUN
        choice, nights = night.whole, 1
    elif any(errand.charges for errand in todo):  # their prices may change with the hour
        choice = tidied(steps, choice, shift.book, shift.limits, shift.week)
    activities = tuple(_activities(todo, steps, choice))
    loadings = tuple(_loadings(day, itinerary, activities))
    run = Run(
        run_id=RunId(""), itinerary=itinerary, book=shift.book.name, activities=activities, visits=loadings, costs=(),
        nights=nights,
    )  # fmt: skip
    return replace(run, costs=price(day, run))


def _by_night(steps: Sequence[Step], shift: Shift) -> TwoDays | None:
    return best_night_out(
        steps, book=shift.book, limits=shift.limits, week=shift.week, earliest_min=shift.earliest_min,
        latest_end_min=shift.latest_end_min + MINUTES_A_DAY, objective=OBJECTIVE, nights_at=shift.nights_at,
    )  # fmt: skip


def in_full(day: Day, run: Run) -> Run:
    """Return a run that may be an outline with its visits, its counters and every line of its cost, under its own number."""
    if run.counters or run.kind is RunKind.HIRED:
        return run
    made = priced(day, run.itinerary, run_id=run.run_id)
    return made if isinstance(made, Run) else run


def _activities(todo: Sequence[Errand], steps: Sequence[Step], choice: Choice) -> Iterator[Activity]:
    """Yield each errand in one piece from its start to its end, breaks inside it included, or in two around a night out."""
    before = {pause.step: pause.minutes for pause in choice.pauses if not pause.done_min}
    now = choice.start_min
    for number, (errand, step) in enumerate(zip(todo, steps, strict=True)):
        idle = before.get(number, 0)
        if step.opens_min is not None:
            idle = max(idle, step.opens_min - now)
        if idle >= LEAST_NIGHT_OUT_MIN:
            yield _idle(ActivityKind.REST, now, idle, errand.origin)
        elif idle and not number:
            yield _idle(ActivityKind.BREAK, now, idle, errand.origin)
        start = now = now + idle
        done = 0
        for pause in choice.pauses:
            if pause.step != number or not pause.done_min:
                continue
            now, done = now + pause.done_min - done, pause.done_min
            if pause.minutes >= LEAST_NIGHT_OUT_MIN:
                yield _piece(errand, start, now)
                yield _idle(ActivityKind.REST, now, pause.minutes, errand.origin)
                start = now + pause.minutes
            now += pause.minutes
        now += errand.minutes - done
        yield _piece(errand, start, now)


def _piece(errand: Errand, start_min: int, end_min: int) -> Activity:
    return Activity(
        kind=errand.kind, start_min=start_min, end_min=end_min, origin=errand.origin, destination=errand.destination,
        aboard=errand.aboard, visit=errand.visit,
    )  # fmt: skip


def _idle(kind: ActivityKind, start_min: int, minutes: int, where: PlaceId) -> Activity:
    return Activity(kind=kind, start_min=start_min, end_min=start_min + minutes, origin=where, destination=where)


def _loadings(day: Day, itinerary: Itinerary, activities: Sequence[Activity]) -> Iterator[Visit]:
    """Yield the calls at which a transporter loads at a compound, as far as its bays need them."""
    if itinerary.transporter is None or all(compound.bays is None for compound in day.compounds):
        return
    for work in activities:
        stop = itinerary.stops[work.visit] if work.visit is not None and work.visit < len(itinerary.stops) else None
        if work.kind is ActivityKind.OTHER_WORK and stop is not None and stop.takes and stop.place in day.compound_of:
            yield Visit(
                place=stop.place, arrive_min=work.start_min, start_min=work.start_min, end_min=work.end_min, window=None,
                leaves=stop.leaves, takes=stop.takes, aboard_after=(), leg_metres=0, leg_min=0, leg_by="",
            )  # fmt: skip
