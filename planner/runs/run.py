"""
Runs: a crew's day, first as the bare sequence of stops that was chosen, then timed and priced.

An :class:`Itinerary` is a decision; :mod:`planner.runs.timing` makes the :class:`Run` of it.  All times are minutes of
the planning day (:mod:`planner.clock`).
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import NewType

from planner.model.crews import CarrierId, DriverId, TransporterId
from planner.model.moves import MoveId
from planner.model.places import PlaceId, Window

RunId = NewType("RunId", str)


class RunKind(StrEnum):
    """What kind of day it is."""

    PLATE = "plate run"
    TRANSPORTER = "transporter run"
    HIRED = "hired carrier"


@dataclass(frozen=True, kw_only=True, slots=True)
class Stop:
    """One visit as decided: which moves' cars are left here and which are taken from here, in that order."""

    place: PlaceId
    leaves: tuple[MoveId, ...] = ()
    takes: tuple[MoveId, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Itinerary:
    """
    What one crew is to do, before it is timed.

    Duty begins and ends at the driver's ``starts_at``.  Without a transporter the driver drives the one car taken at a
    stop to the next stop, and rides (train, coach, taxi) wherever no car was taken; with ``support_driver`` a second
    driver follows in a support car, so that every ride is by that car.  With a transporter it is fetched from its base
    when that is not where the driver starts.  A hired carrier's itinerary has a carrier, no driver, one move.
    """

    driver: DriverId | None
    stops: tuple[Stop, ...]
    transporter: TransporterId | None = None
    support_driver: DriverId | None = None
    carrier: CarrierId | None = None
    may_stay_out: bool = False
    past: "Past | None" = None  # what of it is done already

    @property
    def kind(self) -> RunKind:
        """Which kind of run it makes."""
        if self.carrier is not None:
            return RunKind.HIRED
        return RunKind.PLATE if self.transporter is None else RunKind.TRANSPORTER

    @property
    def drivers(self) -> tuple[DriverId, ...]:
        """The driver and, if there is one, the driver of the support car; nobody for a hired carrier."""
        return tuple(name for name in (self.driver, self.support_driver) if name is not None)

    @property
    def crew(self) -> frozenset[str]:
        """The names of its drivers and its transporter."""
        return frozenset(self.drivers if self.transporter is None else (*self.drivers, self.transporter))

    @property
    def moves(self) -> tuple[MoveId, ...]:
        """Every move of the run once, in the order in which cars are taken."""
        return tuple(move for stop in self.stops for move in stop.takes)


class ActivityKind(StrEnum):
    """What the crew is doing; the first five words are the law's own, a ride is other work by another vehicle."""

    DRIVE = "drive"
    OTHER_WORK = "other work"
    BREAK = "break"
    REST = "rest"
    AVAILABLE = "available"
    RIDE = "ride"


@dataclass(frozen=True, kw_only=True, slots=True)
class Activity:
    """One stretch of time; places differ only on drives and rides.  ``says`` is what the sheet prints."""

    kind: ActivityKind
    start_min: int
    end_min: int
    origin: PlaceId
    destination: PlaceId
    metres: int = 0
    aboard: tuple[MoveId, ...] = ()
    visit: int | None = None  # which visit this work belongs to
    says: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Visit:
    """
    One stop, timed.  ``leg_metres`` and ``leg_min`` are those of the road or ride that led here.

    On a transporter whose deck was laid out, ``slots`` names the slot of each car aboard afterwards and ``moved`` the cars
    that stay aboard and are moved out of the way and back here, each one reshuffle.
    """

    place: PlaceId
    arrive_min: int
    start_min: int
    end_min: int
    window: Window | None
    leaves: tuple[MoveId, ...]
    takes: tuple[MoveId, ...]
    aboard_after: tuple[MoveId, ...]
    leg_metres: int
    leg_min: int
    leg_by: str  # "transporter", "car", "ride", "support car"
    charges: tuple[str, ...] = ()  # keys of Day.charges met on the leg
    slots: tuple[tuple[MoveId, str], ...] = ()
    moved: tuple[MoveId, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Past:
    """
    What of a run is done already, as it really was: it stands, and the rest is timed from there.

    ``visits`` are the first of the run and ``activities`` reach to the end of the last of them (nothing where there is
    none).  With ``is_heading`` the crew is on its way to the next stop, which takes ``late_min`` longer than the table says.
    Nothing else begins before ``now_min``.  ``is_over``: nothing follows.
    """

    now_min: int
    began_min: int
    visits: tuple[Visit, ...] = ()
    activities: tuple[Activity, ...] = ()
    is_heading: bool = False
    late_min: int = 0
    is_over: bool = False

    @property
    def end_min(self) -> int:
        """Up to when everything is known."""
        return self.activities[-1].end_min if self.activities else self.began_min

    @property
    def fixed_stops(self) -> int:
        """How many of the first stops are done or being driven to."""
        return len(self.visits) + self.is_heading


class CostKind(StrEnum):
    """Why money is spent."""

    WAGES = "wages"
    OVERTIME = "overtime"
    NIGHT_PREMIUM = "night premium"
    FUEL = "fuel"
    CHARGE = "charge"
    RUNNING = "running cost"
    VEHICLE_DAY = "vehicle day"
    PLATES = "plates and insurance"
    TOLL = "toll"
    ZONE = "charging zone"
    FERRY = "ferry"
    FARE = "fares and taxis"
    NIGHT_OUT = "night out"
    REVALET = "re-valet"
    VALUE_FALL = "fall in value"
    HIRED = "hired carrier"


@dataclass(frozen=True, kw_only=True, slots=True)
class CostLine:
    """One reason for money, rounded once to whole pence, never negative."""

    kind: CostKind
    says: str
    pence: int
    move: MoveId | None = None  # None: shared by the run


@dataclass(frozen=True, kw_only=True, slots=True)
class Counter:
    """One limit of the hours rules, what the run uses of it, and what is left: minutes, or days or rests where a count."""

    rule: str
    used: int
    limit: int
    source: str
    is_count: bool = False

    @property
    def slack(self) -> int:
        """How much is left."""
        return self.limit - self.used

    @property
    def is_of_breaks(self) -> bool:
        """Whether a break clears it; breaks are planned to the minute, so that little left of it is no news."""
        return "without" in self.rule


@dataclass(frozen=True, kw_only=True, slots=True)
class Run:
    """An itinerary with its times, its hours against the law and its costs."""

    run_id: RunId
    itinerary: Itinerary
    book: str  # the rule book that governs it: "over-3500", "up-to-3500", "plates"; "" for a hired carrier
    activities: tuple[Activity, ...]
    visits: tuple[Visit, ...]
    costs: tuple[CostLine, ...]
    counters: tuple[Counter, ...] = ()
    reshuffles: int = 0
    nights: int = 0

    @property
    def kind(self) -> RunKind:
        """Which kind of run this is."""
        return self.itinerary.kind

    @property
    def cost_pence(self) -> int:
        """What the run costs, the sum of its lines."""
        return sum(line.pence for line in self.costs)

    @property
    def start_min(self) -> int:
        """When duty begins; the first visit's arrival for a hired carrier."""
        return self.activities[0].start_min if self.activities else self.visits[0].arrive_min

    @property
    def end_min(self) -> int:
        """When duty ends."""
        return self.activities[-1].end_min if self.activities else self.visits[-1].end_min

    @property
    def metres(self) -> int:
        """How far the crew drives, rides not counted."""
        return sum(step.metres for step in self.activities if step.kind is ActivityKind.DRIVE)
