"""
Errands: an itinerary as the timed things to do in order, before anyone says when.

Each errand is one drive, ride, ferry or stretch of work; :mod:`planner.runs.timing` gives them their times.  The rules
are those of DEVELOPERS.md, "How a run is timed".
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from planner.model.crews import Transporter, VehicleClass
from planner.model.day import Day
from planner.model.moves import MoveId
from planner.model.places import PlaceId, Window
from planner.runs.crew_fit import aboard_after, driven_class
from planner.runs.refusal import Refusal
from planner.runs.run import ActivityKind, Itinerary, Stop
from planner.units import minutes_up

WALK_ROUND = "Walk round the transporter, check lights, tyres, straps and deck"
END_OF_DAY = "Park, secure and hand in the papers"
FERRY = "Ferry on the way, check-in included"


@dataclass(frozen=True, kw_only=True, slots=True)
class Errand:
    """
    One thing to do.  ``visit`` counts the stops, the way back being one more; None before the first leg.

    ``windows`` are those inside which it must start.
    """

    kind: ActivityKind
    minutes: int
    origin: PlaceId
    destination: PlaceId
    says: str
    metres: int = 0
    aboard: tuple[MoveId, ...] = ()
    visit: int | None = None
    leg_by: str = ""
    charges: tuple[str, ...] = ()
    windows: tuple[Window, ...] = ()


class Leg(NamedTuple):
    """Minutes and metres of one road between two places for one class of vehicle, reserve included."""

    drive_min: int
    ferry_min: int
    metres: int
    charges: tuple[str, ...]


def leg(day: Day, vehicle_class: VehicleClass, origin: PlaceId, destination: PlaceId) -> Leg | None:
    """Return the leg, None where no road or ferry leads."""
    table, row, column = day.tables[vehicle_class], day.place_index[origin], day.place_index[destination]
    seconds, metres = int(table.seconds[row, column]), int(table.metres[row, column])
    if seconds < 0 or metres < 0:
        return None
    ferry_s, mask = int(table.ferry_seconds[row, column]), int(table.charge_mask[row, column])
    return Leg(
        drive_min=-(-(seconds - ferry_s) * (100 + day.policy.reserve_percent) // 6000),
        ferry_min=minutes_up(ferry_s),
        metres=metres,
        charges=tuple(charge.key for bit, charge in enumerate(day.charges) if mask >> bit & 1) if mask else (),
    )


def errands(
    day: Day, itinerary: Itinerary, reshuffle_min: Sequence[int] | None = None, *, in_words: bool = True
) -> tuple[Errand, ...] | Refusal:
    """
    Return everything the crew does in order, or why there is no way.

    Parameters
    ----------
    day, itinerary
        The day, and what is to be done.
    reshuffle_min
        Minutes for moving cars on the deck out of the way and back, for each stop; none when left out.
    in_words
        Whether each says what it is; what nobody reads need not be written.

    """
    try:
        return tuple((_Writer if in_words else _Silent)(day, itinerary, reshuffle_min).written())
    except _NoWayError as fault:
        return fault.refusal


class _NoWayError(Exception):
    def __init__(self, refusal: Refusal) -> None:
        self.refusal = refusal


class _Writer:
    """Walks through the stops once, keeping where the crew is and what it holds."""

    def __init__(self, day: Day, itinerary: Itinerary, reshuffle_min: Sequence[int] | None) -> None:
        self.day, self.itinerary, self.reshuffle_min = day, itinerary, reshuffle_min
        self.transporter = day.transporter_of[itinerary.transporter] if itinerary.transporter else None
        assert itinerary.driver is not None
        self.home = day.driver_of[itinerary.driver].starts_at
        self.here = self.home
        self.aboard: tuple[MoveId, ...] = ()
        self.done: list[Errand] = []

    def written(self) -> list[Errand]:
        """Return the errands from the start of duty to its end."""
        if self.transporter is not None:
            self.ride(self.transporter.base, visit=None)
            self.work(self.day.policy.walk_round_min, WALK_ROUND)
        for number, (stop, aboard) in enumerate(aboard_after(self.itinerary)):
            self.travel(stop.place, visit=number)
            self.visit(stop, number)
            self.aboard = aboard
        self.go_home(len(self.itinerary.stops))
        return self.done

    def go_home(self, visit: int) -> None:
        """Bring the transporter to its base, then the driver to where the duty began."""
        if self.transporter is not None:
            self.travel(self.transporter.base, visit=visit)
            self.work(self.day.policy.end_of_day_min, END_OF_DAY)
        # From the transporter's base the driver's own way home is no visit: the last visit is the transporter's return.
        self.ride(self.home, visit=visit if self.transporter is None else None)

    def travel(self, to: PlaceId, *, visit: int) -> None:
        """Go to the next stop by the transporter, the car in hand, or a ride."""
        if self.transporter is not None:
            self.drive(to, self.transporter.vehicle_class, "transporter", visit=visit)
        elif self.aboard:
            self.drive(to, driven_class(self.day.move_of[self.aboard[0]]), "car", visit=visit)
        else:
            self.ride(to, visit=visit)

    def drive(self, to: PlaceId, vehicle_class: VehicleClass, by: str, *, visit: int | None) -> None:
        """Drive one leg, with its ferry after the driving."""
        if to == self.here:
            return
        road = leg(self.day, vehicle_class, self.here, to)
        if road is None:
            raise _NoWayError(Refusal(rule="road", says=f"no road or ferry leads from {self.name(self.here)} to {self.name(to)}"))
        start = Errand(
            kind=ActivityKind.DRIVE, minutes=road.drive_min, origin=self.here, destination=to, metres=road.metres,
            aboard=self.aboard, visit=visit, leg_by=by, charges=road.charges, says=self.on_the_way("Drive", to),
        )  # fmt: skip
        self.done.append(start)
        self.here = to
        if road.ferry_min:
            self.done.append(
                replace(start, kind=ActivityKind.AVAILABLE, minutes=road.ferry_min, origin=to, metres=0, charges=(),
                        says=FERRY),
            )  # fmt: skip

    def ride(self, to: PlaceId, *, visit: int | None) -> None:
        """Ride by train, coach and taxi, or in the support car."""
        if to == self.here:
            return
        if self.itinerary.support_driver is not None:
            self.drive(to, VehicleClass.CAR, "support car", visit=visit)
            return
        row, column = self.day.place_index[self.here], self.day.place_index[to]
        minutes = int(self.day.rides.minutes[row, column])
        if minutes < 0:
            raise _NoWayError(Refusal(rule="ride", says=f"no train or taxi from {self.name(self.here)} to {self.name(to)}"))
        self.done.append(Errand(
            kind=ActivityKind.RIDE, minutes=minutes, origin=self.here, destination=to, visit=visit, leg_by="ride",
            says=self.on_the_way("Ride", to, " by train, coach or taxi"),
        ))  # fmt: skip
        self.here = to

    def work(self, minutes: int, says: str) -> None:
        """Work at the place where the crew is, outside any visit."""
        if minutes:
            self.done.append(Errand(
                kind=ActivityKind.OTHER_WORK, minutes=minutes, origin=self.here, destination=self.here, says=says,
            ))  # fmt: skip

    def visit(self, stop: Stop, number: int) -> None:
        """Leave and take cars at one stop."""
        minutes = work_minutes(self.day, stop, self.transporter)
        minutes += self.reshuffle_min[number] if self.reshuffle_min is not None else 0
        self.done.append(Errand(
            kind=ActivityKind.OTHER_WORK, minutes=minutes, origin=self.here,
            destination=self.here, visit=number, says=self.says(stop), windows=self.windows(stop),
        ))  # fmt: skip

    def windows(self, stop: Stop) -> tuple[Window, ...]:
        """Return every window inside which the work at a stop must start."""
        move_of, compound = self.day.move_of, self.day.compound_of.get(stop.place)
        ends = [move_of[move].destination_window for move in stop.leaves]
        ends += [move_of[move].origin_window for move in stop.takes]
        if compound is not None and None in ends:
            if compound.window is None:
                raise _NoWayError(Refusal(rule="compound", says=f"{compound.place.name} is shut on this day"))
            ends.append(compound.window)
        windows = [window for window in ends if window is not None]
        return tuple(dict.fromkeys(windows)) if len(windows) > 1 else tuple(windows)

    def on_the_way(self, verb: str, to: PlaceId, how: str = "") -> str:
        """Return what a leg is, in a few words."""
        return f"{verb} to {self.name(to)}{how}"

    def says(self, stop: Stop) -> str:
        """Return what the work at a stop is, in a few words."""
        words = ("Bring in", "Collect") if stop.place in self.day.compound_of else ("Hand over", "Take away")
        parts = [f"{verb} {self.cars(moves)}" for verb, moves in zip(words, (stop.leaves, stop.takes), strict=True) if moves]
        return "; ".join(parts)

    def cars(self, moves: tuple[MoveId, ...]) -> str:
        """Return the cars of these moves with their registrations."""
        cars = [self.day.move_of[move].car for move in moves]
        return ", ".join(f"{car.make_model} ({car.registration})" for car in cars)

    def name(self, place: PlaceId) -> str:
        """Return the place as people call it."""
        return self.day.place_of[place].name


class _Silent(_Writer):
    """Writes no words."""

    def on_the_way(self, verb: str, to: PlaceId, how: str = "") -> str:  # noqa: ARG002 - as the other is called
        """Return nothing."""
        return ""

    def says(self, stop: Stop) -> str:  # noqa: ARG002
        """Return nothing."""
        return ""


def work_minutes(day: Day, stop: Stop, transporter: Transporter | None) -> int:
    """Return the minutes of work at a stop, without any reshuffle of the deck."""
    at_compound = stop.place in day.compound_of
    total = 0
    for move_id in stop.leaves:
        move, carried = day.move_of[move_id], transporter.unload_min if transporter else None
        if carried is None:
            total += day.policy.hand_in_at_compound_min if at_compound else move.destination_min
        else:
            total += carried if at_compound else move.destination_min + carried
    for move_id in stop.takes:
        move, carried = day.move_of[move_id], transporter.load_min if transporter else None
        if carried is None:
            total += day.policy.collect_at_compound_min if at_compound else move.origin_min
        else:
            total += carried if at_compound else move.origin_min + carried
    return total
