"""Expected: when the rest of a run comes to be, promises that it cannot keep any more told as late, not refused."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.places import Window
from planner.runs.costing import price
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary, Run
from planner.runs.timing import lay_out
from planner.units import MINUTES_A_DAY


@dataclass(frozen=True, kw_only=True, slots=True)
class Late:
    """A promise that is not kept: the work begins at ``expected_min``, not before ``closes_min``."""

    move: MoveId
    closes_min: int
    expected_min: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Expected:
    """A run with its expected times and what is late on it; ``run`` is None when ``refusal`` says why no times are legal."""

    run: Run | None
    late: tuple[Late, ...] = ()
    refusal: Refusal | None = None


def expected(day: Day, itinerary: Itinerary, *, at_most_late_min: int = MINUTES_A_DAY) -> Expected:
    """
    Return the run as it is to be expected, priced.

    Where the windows cannot be kept they are left open for up to ``at_most_late_min``; the hours rules and the end of the
    shift hold as ever.
    """
    run = lay_out(day, itinerary)
    if isinstance(run, Run):
        return Expected(run=replace(run, costs=price(day, run)))
    done = len(itinerary.past.visits) if itinerary.past else 0
    ends: dict[MoveId, int] = {}
    for stop in itinerary.stops[done:]:
        ends |= {move: window.closes_min for move in stop.leaves if (window := day.move_of[move].destination_window)}
        ends |= {move: window.closes_min for move in stop.takes if (window := day.move_of[move].origin_window)}
    open_day = widened(day, {move: closes_min + at_most_late_min for move, closes_min in ends.items()})
    late_run = lay_out(open_day, itinerary)
    if isinstance(late_run, Refusal):
        return Expected(run=None, refusal=late_run if ends else run)
    late = tuple(
        Late(move=move, closes_min=ends[move], expected_min=visit.start_min)
        for visit in late_run.visits[done:] for move in (*visit.leaves, *visit.takes)
        if move in ends and visit.start_min >= ends[move]
    )  # fmt: skip
    true_day = widened(day, {item.move: item.expected_min + 1 for item in late})
    true_run = lay_out(true_day, itinerary)
    if isinstance(true_run, Refusal):
        return Expected(run=None, refusal=true_run)
    return Expected(run=replace(true_run, costs=price(true_day, true_run)), late=late)


def widened(day: Day, closes: Mapping[MoveId, int]) -> Day:
    """Return the day with windows of some moves open until later."""
    if not closes:
        return day

    def wider(window: Window | None, closes_min: int) -> Window | None:
        return window and Window(opens_min=window.opens_min, closes_min=max(window.closes_min, closes_min))

    moves = []
    for move in day.moves:
        closes_min = closes.get(move.move_id)
        if closes_min is not None:
            destination, origin = wider(move.destination_window, closes_min), wider(move.origin_window, closes_min)
            moves.append(replace(move, destination_window=destination, origin_window=origin))
        else:
            moves.append(move)
    return replace(day, moves=tuple(moves))
