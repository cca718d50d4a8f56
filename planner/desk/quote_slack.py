"""
Slack: how early and how late each stop of a run can be, breaks left out, so that hopeless candidates cost no timetable.

Breaks and rests only make things later, so what this refuses, exact timing would refuse as well; what it lets pass is
timed exactly.
"""

from dataclasses import dataclass
from typing import Protocol

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.places import PlaceId, Window
from planner.runs.crew_fit import driven_class
from planner.runs.errands import leg, work_minutes
from planner.runs.run import Itinerary, Stop
from planner.units import MINUTES_A_DAY

NEVER = 10**7


@dataclass(frozen=True, slots=True)
class Slack:
    """
    Bounds around the gaps of a run; gap ``g`` lies before stop ``g``, the last one before the way home.

    ``ready_min[g]`` is the earliest minute at which the crew can leave for the gap, ``place[g]`` where it then is;
    ``due_min[g]`` the latest minute at which the work after the gap must start, ``next_place[g]`` where.
    """

    ready_min: tuple[int, ...]
    place: tuple[PlaceId, ...]
    due_min: tuple[int, ...]
    next_place: tuple[PlaceId, ...]


class SlackOf:
    """Works out slack, and keeps minutes of legs."""

    def __init__(self, day: Day) -> None:
        self.day = day
        self._minutes: dict[tuple[VehicleClass | None, PlaceId, PlaceId], int] = {}

    def leg_min(self, vehicle_class: VehicleClass | None, origin: PlaceId, destination: PlaceId) -> int:
        """Return minutes of a leg with its ferry, of a ride when there is no vehicle; NEVER where there is no way."""
        if origin == destination:
            return 0
        key = (vehicle_class, origin, destination)
        if key not in self._minutes:
            self._minutes[key] = self._leg_min(*key)
        return self._minutes[key]

    def _leg_min(self, vehicle_class: VehicleClass | None, origin: PlaceId, destination: PlaceId) -> int:
        if vehicle_class is None:
            minutes = int(self.day.rides.minutes[self.day.place_index[origin], self.day.place_index[destination]])
            return minutes if minutes >= 0 else NEVER
        road = leg(self.day, vehicle_class, origin, destination)
        return NEVER if road is None else road.drive_min + road.ferry_min

    def of(self, itinerary: Itinerary) -> Slack:
        """Return the slack of a run of our own crews without a support car."""
        start_min, here, end_min, home = self._ends(itinerary)
        stops = itinerary.stops
        legs = self._legs(itinerary, here, home)
        transporter = self.day.transporter_of[itinerary.transporter] if itinerary.transporter else None
        work = [work_minutes(self.day, stop, transporter) for stop in stops]
        windows = [self._window(stop) for stop in stops]
        ready = [start_min]
        for number in range(len(stops)):
            ready.append(max(ready[-1] + legs[number], windows[number][0]) + work[number])
        due = [end_min]
        for number in reversed(range(len(stops))):
            due.append(min(windows[number][1] - 1, due[-1] - legs[number + 1] - work[number]))
        places = tuple(stop.place for stop in stops)
        return Slack(tuple(ready), (here, *places), tuple(reversed(due)), (*places, home))

    def _ends(self, itinerary: Itinerary) -> tuple[int, PlaceId, int, PlaceId]:
        """Return (earliest minute, place) after which the first leg begins, and (latest minute, place) at its end."""
        assert itinerary.driver is not None
        driver, policy = self.day.driver_of[itinerary.driver], self.day.policy
        latest = driver.home_by_min + (MINUTES_A_DAY if itinerary.may_stay_out and driver.may_stay_out else 0)
        if itinerary.transporter is None:
            return driver.starts_from_min, driver.starts_at, latest, driver.starts_at
        base = self.day.transporter_of[itinerary.transporter].base
        there, back = self.leg_min(None, driver.starts_at, base), self.leg_min(None, base, driver.starts_at)
        earliest = driver.starts_from_min + there + policy.walk_round_min
        return earliest, base, latest - back - policy.end_of_day_min, base

    def _legs(self, itinerary: Itinerary, start: PlaceId, home: PlaceId) -> list[int]:
        """Return the minutes of each leg, the way home last."""
        found, here = [], start
        held: VehicleClass | None = None
        fixed = self.day.transporter_of[itinerary.transporter].vehicle_class if itinerary.transporter else None
        for stop in (*itinerary.stops, Stop(place=home)):
            found.append(self.leg_min(fixed or held, here, stop.place))
            held = driven_class(self.day.move_of[stop.takes[0]]) if stop.takes else None
            here = stop.place
        return found

    def _window(self, stop: Stop) -> tuple[int, int]:
        ends = [self.day.move_of[move].destination_window for move in stop.leaves]
        ends += [self.day.move_of[move].origin_window for move in stop.takes]
        compound = self.day.compound_of.get(stop.place)
        if compound is not None and None in ends:
            ends.append(compound.window)
        windows = [window for window in ends if window is not None]
        return max((window.opens_min for window in windows), default=-NEVER), min(
            (window.closes_min for window in windows), default=NEVER
        )


class InGap(Protocol):
    """What is put into a gap: after which gap it starts, which end it must keep, and the minutes there and back."""

    @property
    def gap(self) -> int: ...  # noqa: D102 - as the class says

    @property
    def due_gap(self) -> int: ...  # noqa: D102

    @property
    def way_min(self) -> int: ...  # noqa: D102

    @property
    def back_min(self) -> int: ...  # noqa: D102


def fits(slack: Slack, put: InGap, *, work_min: int, window: Window | None) -> bool:
    """Return whether a visit in a gap can start inside its window and still leave time for what comes after."""
    start = slack.ready_min[put.gap] + put.way_min
    if window is not None:
        start = max(start, window.opens_min)
        if start >= window.closes_min:
            return False
    return start + work_min + put.back_min <= slack.due_min[put.due_gap]
