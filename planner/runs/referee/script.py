"""
The script of a run: what its crew has to do, one task after the other, read from the day's tables alone.

A task has its minutes, not its times.  Places, minutes and metres are those that DEVELOPERS.md, "How a run is timed",
gives to the decision; the referee then looks whether the run's activities are these tasks with breaks and waits between.
"""

from dataclasses import dataclass

from planner.model.crews import Transporter, VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId
from planner.model.places import PlaceId, Window
from planner.runs.referee.breach import Notebook, Rule
from planner.runs.run import ActivityKind, Itinerary, Stop


@dataclass(frozen=True, kw_only=True, slots=True)
class Road:
    """One cell of a travel table: metres, seconds at the wheel and aboard ferries, charges met."""

    vehicle_class: VehicleClass
    metres: int
    wheel_s: int
    ferry_s: int
    charges: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """
    One thing to do.  ``visit`` counts the stops; the way back is one more; None outside visits.

    ``road`` is None for rides and work, ``driven`` is the move whose car is at the wheel, ``is_ferry`` marks the wait
    aboard a ferry, ``fare_pence`` is that of a ride.
    """

    kind: ActivityKind
    minutes: int
    origin: PlaceId
    destination: PlaceId
    visit: int | None = None
    road: Road | None = None
    by: str = ""
    driven: MoveId | None = None
    aboard: tuple[MoveId, ...] = ()
    is_ferry: bool = False
    fare_pence: int = 0

    @property
    def key(self) -> tuple[object, ...]:
        """By what an activity is recognised as this task."""
        return (self.kind, self.origin, self.destination, self.visit)


def road(day: Day, vehicle_class: VehicleClass, origin: PlaceId, destination: PlaceId) -> Road | None:
    """Return the cell of the table, None where no road or ferry leads."""
    table = day.tables.get(vehicle_class)
    if table is None:
        return None
    cell = day.place_index[origin], day.place_index[destination]
    metres, seconds, ferry_s = int(table.metres[cell]), int(table.seconds[cell]), int(table.ferry_seconds[cell])
    if metres < 0 or seconds < 0:
        return None
    mask = int(table.charge_mask[cell])
    return Road(
        vehicle_class=vehicle_class,
        metres=metres,
        wheel_s=seconds - ferry_s,
        ferry_s=ferry_s,
        charges=tuple(charge.key for bit, charge in enumerate(day.charges) if mask & (1 << bit)),
    )


def whole_minutes(numerator: int, denominator: int) -> int:
    """Return the quotient rounded up."""
    whole, rest = divmod(numerator, denominator)
    return whole + (rest > 0)


def class_on_plates(move: Move) -> VehicleClass:
    """Return the class whose table holds for a sold vehicle under its own wheels."""
    return VehicleClass.GOODS_3500 if move.car.is_van else VehicleClass.CAR


class Script:
    """The tasks of an itinerary that has a driver; ``tasks`` ends early where no road leads."""

    def __init__(self, day: Day, itinerary: Itinerary, notes: Notebook) -> None:
        assert itinerary.driver is not None
        self.day, self.itinerary, self.notes = day, itinerary, notes
        self.transporter = day.transporter_of[itinerary.transporter] if itinerary.transporter is not None else None
        self.home = day.driver_of[itinerary.driver].starts_at
        self.here = self.home
        self.aboard: list[MoveId] = []
        self.tasks: list[Task] = []
        self.is_whole = True  # False as soon as a leg has no road or ride
        self._write()

    def _write(self) -> None:
        policy = self.day.policy
        if self.transporter is not None:
            self._ride(self.transporter.base, None)
            self._work(policy.walk_round_min, None)
        for number, stop in enumerate(self.itinerary.stops):
            self._go(stop.place, number)
            self._work(work_minutes(self.day, stop, self.transporter), number)
            self.aboard = [move for move in self.aboard if move not in stop.leaves] + list(stop.takes)
        back = len(self.itinerary.stops)
        if self.transporter is not None:
            self._go(self.transporter.base, back)
            self._work(policy.end_of_day_min, None)
            self._ride(self.home, None)
        else:
            self._go(self.home, back)

    def _go(self, to: PlaceId, visit: int) -> None:
        if self.transporter is not None:
            self._drive(to, self.transporter.vehicle_class, "transporter", visit)
        elif self.aboard:
            self._drive(to, class_on_plates(self.day.move_of[self.aboard[0]]), "car", visit)
        else:
            self._ride(to, visit)

    def _ride(self, to: PlaceId, visit: int | None) -> None:
        if to == self.here:
            return
        if self.itinerary.support_driver is not None:
            self._drive(to, VehicleClass.CAR, "support car", visit)
            return
        cell = self.day.place_index[self.here], self.day.place_index[to]
        minutes = int(self.day.rides.minutes[cell])
        if minutes < 0:
            self.notes.note(Rule.ROAD, f"{self.here} to {to}", "no train, coach or taxi leads there")
            self.is_whole = False
        self.tasks.append(Task(
            kind=ActivityKind.RIDE, minutes=max(minutes, 0), origin=self.here, destination=to, visit=visit, by="ride",
            fare_pence=max(int(self.day.rides.fare_pence[cell]), 0),
        ))  # fmt: skip
        self.here = to

    def _drive(self, to: PlaceId, vehicle_class: VehicleClass, by: str, visit: int | None) -> None:
        if to == self.here:
            return
        way = road(self.day, vehicle_class, self.here, to)
        if way is None:
            self.notes.note(Rule.ROAD, f"{self.here} to {to}", f"no road or ferry leads there for {vehicle_class}")
            self.is_whole = False
            self.here = to
            return
        aboard = tuple(self.aboard)
        self.tasks.append(Task(
            kind=ActivityKind.DRIVE, minutes=whole_minutes(way.wheel_s * (100 + self.day.policy.reserve_percent), 6000),
            origin=self.here, destination=to, visit=visit, road=way, by=by, aboard=aboard,
            driven=aboard[0] if by == "car" else None,
        ))  # fmt: skip
        self.here = to
        if way.ferry_s > 0:
            self.tasks.append(Task(
                kind=ActivityKind.AVAILABLE, minutes=whole_minutes(way.ferry_s, 60), origin=to, destination=to,
                visit=visit, by=by, aboard=aboard, is_ferry=True,
            ))  # fmt: skip

    def _work(self, minutes: int, visit: int | None) -> None:
        if minutes > 0 or visit is not None:  # a visit without work still has its window
            self.tasks.append(Task(
                kind=ActivityKind.OTHER_WORK, minutes=minutes, origin=self.here, destination=self.here, visit=visit,
                aboard=tuple(self.aboard),
            ))  # fmt: skip


def work_minutes(day: Day, stop: Stop, transporter: Transporter | None) -> int:
    """Return the minutes of work at a stop by the table of DEVELOPERS.md, reshuffles of the deck left out."""
    moves = [(day.move_of[move].destination_min, True) for move in stop.leaves]
    moves += [(day.move_of[move].origin_min, False) for move in stop.takes]
    is_ours = stop.place in day.compound_of
    total = 0
    for at_door, is_left in moves:
        if transporter is None:
            ours = day.policy.hand_in_at_compound_min if is_left else day.policy.collect_at_compound_min
            total += ours if is_ours else at_door
        else:
            handling = transporter.unload_min if is_left else transporter.load_min
            total += handling if is_ours else handling + at_door
    return total


def windows_at(day: Day, stop: Stop) -> tuple[tuple[Window, ...], bool]:
    """Return the windows inside which work at a stop has to start, and whether the compound there is needed but shut."""
    own = [day.move_of[move].destination_window for move in stop.leaves]
    own += [day.move_of[move].origin_window for move in stop.takes]
    windows = [window for window in own if window is not None]
    compound = day.compound_of.get(stop.place)
    if compound is None or len(windows) == len(own):
        return tuple(windows), False
    return (*windows, *([compound.window] if compound.window is not None else [])), compound.window is None
