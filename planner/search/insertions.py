"""Insertions: every way to put one move (with its part-exchange) into a run that is not over, and to take it out again."""

from collections.abc import Iterator
from dataclasses import replace

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.places import PlaceId
from planner.runs.run import Itinerary, RunKind, Stop


def fixed_stops(itinerary: Itinerary) -> int:
    """Return how many of the first stops must stay where they are."""
    return itinerary.past.fixed_stops if itinerary.past else 0


def done_stops(itinerary: Itinerary) -> int:
    """Return how many of the first stops cannot change at all."""
    return len(itinerary.past.visits) if itinerary.past else 0


def is_open(itinerary: Itinerary) -> bool:
    """Return whether the run can still take a move."""
    return itinerary.kind is not RunKind.HIRED and not (itinerary.past and itinerary.past.is_over)


def movable(day: Day, itinerary: Itinerary) -> tuple[MoveId, ...]:
    """Return the moves that another crew could do: not yet taken, on no hired carrier; part-exchanges follow theirs."""
    if not is_open(itinerary):
        return ()
    return tuple(
        move for stop in itinerary.stops[done_stops(itinerary) :] for move in stop.takes if day.move_of[move].tied_to is None
    )


def taken_out(day: Day, itinerary: Itinerary, move: MoveId) -> Itinerary:
    """Return the run without a move and its part-exchange; a stop that the crew is driving to stays."""
    follower = day.part_exchange_of.get(move)
    gone = {move, follower.move_id if follower else move}
    fixed = fixed_stops(itinerary)
    stops = (
        replace(stop, leaves=tuple(item for item in stop.leaves if item not in gone),
                takes=tuple(item for item in stop.takes if item not in gone))
        for stop in itinerary.stops
    )  # fmt: skip
    return replace(itinerary, stops=tuple(
        stop for rank, stop in enumerate(stops) if rank < fixed or stop.leaves or stop.takes
    ))  # fmt: skip


def put_in(day: Day, itinerary: Itinerary, move: MoveId) -> Iterator[Itinerary]:
    """Yield the run with the move in it, in every place of its car's taking and leaving."""
    if not is_open(itinerary):
        return
    if itinerary.transporter is None:
        yield from _driven(day, itinerary, move)
    else:
        yield from _carried(day, itinerary, move)


def _driven(day: Day, itinerary: Itinerary, name: MoveId) -> Iterator[Itinerary]:
    """Between two stops where no car is in hand; a car is left and the next taken in one visit where the places are one."""
    move, follower = day.move_of[name], day.part_exchange_of.get(name)
    door = Stop(place=move.destination, leaves=(name,), takes=(follower.move_id,) if follower else ())
    more = (door, Stop(place=follower.destination, leaves=(follower.move_id,))) if follower else (door,)
    stops = itinerary.stops
    for at in range(fixed_stops(itinerary), len(stops) + 1):
        if at and stops[at - 1].takes:
            continue
        before, after = list(stops[:at]), list(stops[at:])
        tail = list(more)
        if after and not after[0].leaves and after[0].place == tail[-1].place:
            tail[-1] = replace(tail[-1], takes=after.pop(0).takes)
        if at - 1 >= done_stops(itinerary) and before and before[-1].place == move.origin:
            joined = replace(before[-1], takes=(name,))
            yield replace(itinerary, stops=(*before[:-1], joined, *tail, *after))
        else:
            yield replace(itinerary, stops=(*before, Stop(place=move.origin, takes=(name,)), *tail, *after))


def _carried(day: Day, itinerary: Itinerary, name: MoveId) -> Iterator[Itinerary]:
    move, follower = day.move_of[name], day.part_exchange_of.get(name)
    for taken, at in _with_stop(itinerary, move.origin, done_stops(itinerary), fixed_stops(itinerary), takes=(name,)):
        px = (follower.move_id,) if follower else ()
        for left, door in _with_stop(taken, move.destination, at + 1, at + 1, leaves=(name,), takes=px):
            if follower is None:
                yield left
                continue
            ways = list(_with_stop(left, follower.destination, door + 1, door + 1, leaves=px))
            yield ways[-1][0]  # after everything else
            if len(ways) > 1:
                yield ways[0][0]  # at once, or at the next call there


def _with_stop(
    itinerary: Itinerary, place: PlaceId, join_from: int, insert_from: int, *,
    leaves: tuple[MoveId, ...] = (), takes: tuple[MoveId, ...] = (),
) -> Iterator[tuple[Itinerary, int]]:  # fmt: skip
    """Yield the run with this done at each of its stops at the place, or else at a stop of its own, and which stop it is."""
    stops = itinerary.stops
    for at in range(join_from, len(stops) + 1):
        if at < len(stops) and stops[at].place == place:
            joined = replace(stops[at], leaves=(*stops[at].leaves, *leaves), takes=(*stops[at].takes, *takes))
            yield replace(itinerary, stops=(*stops[:at], joined, *stops[at + 1 :])), at
        elif at >= insert_from and not (at and stops[at - 1].place == place and at - 1 >= join_from):
            own = Stop(place=place, leaves=leaves, takes=takes)
            yield replace(itinerary, stops=(*stops[:at], own, *stops[at:])), at
