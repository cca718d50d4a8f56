"""The legs of a run as they are drawn and followed: a road or ride between two places, breaks on the way left out."""

import itertools
from dataclasses import dataclass, replace

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.places import PlaceId
from planner.runs.run import Activity, ActivityKind, Run


@dataclass(frozen=True, kw_only=True, slots=True)
class RunLeg:
    """One leg; ``is_ride`` when no car of ours moves.  Metres and minutes are 0 for a hired carrier."""

    origin: PlaceId
    destination: PlaceId
    vehicle_class: VehicleClass
    is_ride: bool
    metres: int = 0
    minutes: int = 0


def leg_class(day: Day, run: Run, aboard: tuple[MoveId, ...]) -> VehicleClass:
    """Return the vehicle class that drives a leg: the transporter's, or that of the car in hand."""
    if run.itinerary.transporter is not None:
        return day.transporter_of[run.itinerary.transporter].vehicle_class
    if aboard and day.move_of[aboard[0]].car.is_van:
        return VehicleClass.GOODS_3500
    return VehicleClass.CAR


def leg_numbers(run: Run) -> tuple[int | None, ...]:
    """Return for each activity which leg it is part of, from 0; None for what is no part of a leg."""
    numbers: list[int | None] = []
    last: tuple[PlaceId, PlaceId] | None = None
    count = -1
    for step in run.activities:
        moves = step.kind in (ActivityKind.DRIVE, ActivityKind.RIDE) and step.origin != step.destination
        if moves and (step.origin, step.destination) != last:
            last, count = (step.origin, step.destination), count + 1
        numbers.append(count if moves else None)
    return tuple(numbers)


@dataclass(frozen=True, kw_only=True, slots=True)
class LegPart:
    """How far one activity goes on its leg and how far the leg had come before; metres, by share of the leg's minutes."""

    leg: int
    metres: int
    metres_before: int


def leg_parts(run: Run) -> tuple[LegPart | None, ...]:
    """
    Return for each activity its part of a leg, a break on the way included; None for what is on no leg.

    A leg's metres may all stand on its first activity, so they are shared out by minutes.
    """
    numbers = leg_numbers(run)
    metres, minutes = [0] * (len(numbers) + 1), [0] * (len(numbers) + 1)
    for step, number in zip(run.activities, numbers, strict=True):
        if number is not None:
            metres[number] += step.metres
            minutes[number] += step.end_min - step.start_min
    last = {number: at for at, number in enumerate(numbers) if number is not None}
    parts: list[LegPart | None] = []
    current, gone_min = -1, 0
    for at, (step, number) in enumerate(zip(run.activities, numbers, strict=True)):
        if number is not None and number != current:
            current, gone_min = number, 0
        on_the_way = current >= 0 and gone_min > 0 and at < last[current]
        if number is None and not on_the_way:
            parts.append(None)
            continue
        here_min = 0 if number is None else step.end_min - step.start_min
        whole = max(1, minutes[current])
        before, after = metres[current] * gone_min // whole, metres[current] * (gone_min + here_min) // whole
        parts.append(LegPart(leg=current, metres=after - before, metres_before=before))
        gone_min += here_min
    return tuple(parts)


def legs(day: Day, run: Run) -> tuple[RunLeg, ...]:
    """Return the legs of a run in order; drives that only a break divides are one leg."""
    if not run.activities:
        ends = [visit.place for visit in run.visits]
        pairs = [(a, b) for a, b in itertools.pairwise(ends) if a != b]
        return tuple(RunLeg(origin=a, destination=b, vehicle_class=VehicleClass.CAR, is_ride=False) for a, b in pairs)
    found: list[RunLeg] = []
    for step, number in zip(run.activities, leg_numbers(run), strict=True):
        if number is None:
            continue
        if number == len(found):
            found.append(_begun(day, run, step))
        last = found[-1]
        found[-1] = replace(last, metres=last.metres + step.metres, minutes=last.minutes + step.end_min - step.start_min)
    return tuple(found)


def _begun(day: Day, run: Run, step: Activity) -> RunLeg:
    is_ride = step.kind is ActivityKind.RIDE
    return RunLeg(
        origin=step.origin, destination=step.destination, vehicle_class=leg_class(day, run, step.aboard), is_ride=is_ride
    )
