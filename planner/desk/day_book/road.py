"""The road: what the book knows of a day's crews and orders, against which everything that is rung in is checked."""

from collections.abc import Iterator, Mapping
from typing import Any

from planner.clock import DayClock
from planner.desk.day_book.happenings import BEGINS, ENDS, IN_TURN, OF_CREWS, OF_ORDERS, Happening
from planner.desk.day_book.orders import OPEN
from planner.desk.day_book.reader import Reader
from planner.desk.day_book.road_events import RoadEvent, Told, road_events
from planner.desk.intake_cells import closest
from planner.units import MINUTES_A_DAY

EARLIEST_MIN, LATEST_MIN = -1440, 3 * 1440  # of the planning day: told the evening before, or on the way home from a night out

_TAKE_BACK = "an entry made in error is taken back with 'homeleg day take-back'"


class Road:
    """What the book knows of a day's crews, orders and road, moving along with what is told."""

    def __init__(self, reader: Reader, clock: DayClock, *, now_min: int | None) -> None:
        self._reader, self.clock, self._now_min = reader, clock, now_min
        self.on = clock.day.isoformat()
        sheets = {subject.removeprefix(f"{self.on} "): value for subject, value in reader.standing("sheet", self.on).items()}
        self._begins = {crew: clock.from_iso(value["begins"]) for crew, value in sheets.items() if "begins" in value}
        self._vehicle = {crew: value.get("transporter") for crew, value in sheets.items()}
        self._placed = {ref: crew_named(value, ref) for ref, value in reader.standing("placing", self.on).items()}
        self._crews = {crew: crew for crew in sheets}
        for crew, value in sheets.items():
            for name in (value.get("transporter"), value.get("support_driver"), value.get("carrier")):
                if name:
                    self._crews.setdefault(name, crew)
        version = reader.value("version", self.on) or {}
        self._crews = {**version.get("crews", {}), **self._crews}
        self._orders: dict[str, Any] = {}
        self.events = road_events(reader, clock)
        for event in self.events:  # a crew that a new plan left out is still known
            for name in (event.crew, event.transporter):
                if name and event.crew:
                    self._crews.setdefault(name, event.crew)
        self._folded = {name.casefold(): crew for name, crew in self._crews.items()}

    def order(self, ref: str) -> Any:
        """Return what an order is now, None when there is none."""
        if ref not in self._orders:
            self._orders[ref] = self._reader.value("order", ref)
        return self._orders[ref]

    def event(self, told: Told) -> RoadEvent | None:
        """Return what was told with the crew it concerns, None when nobody of that name is known."""
        ref = next((name for name in (told.who, told.who.upper()) if self.order(name) is not None), None)
        crew = self._placed.get(ref) if ref is not None else self._folded.get(told.who.casefold())
        if crew is None and ref is None:
            return None
        return RoadEvent(
            crew=crew, order=ref, transporter=self._vehicle.get(crew) if crew else None,
            what=told.what, at_min=told.at_min, late_min=told.late_min, says=told.says,
        )  # fmt: skip

    def add(self, event: RoadEvent) -> None:
        """Take an event as having happened."""
        self.events.append(event)
        if event.order is not None and event.what in ENDS:
            was = self.order(event.order)
            ended = ENDS[event.what]
            failed = was["failed"] + (ended == OPEN)
            self._orders[event.order] = {**was, "state": ended, "failed": failed, "why": event.what.value}

    def faults(self, told: Told, event: RoadEvent | None) -> Iterator[tuple[str, str, str]]:
        """Yield each reason why this cannot be so, as part, sentence and remedy."""
        if event is None:
            near = closest(told.who, [*self._placed, *self._crews])
            usual = "Look it up with 'homeleg day show'; a crew is known once its run is published."
            advice = f"Did you mean {near}?" if near else usual
            yield "who", f"there is no order and no crew of that name on {self.on}", advice
        else:
            yield from self._of_kind(told, event)
            yield from self._of_breakdown(event)
            yield from self._of_order(event)
        yield from self._of_time(told, event)

    def _of_kind(self, told: Told, event: RoadEvent) -> Iterator[tuple[str, str, str]]:
        if event.order is None and told.what in OF_ORDERS:
            yield "what", f"a crew is not {told.what.value!r}", "Name the order in place of the crew."
        if event.order is not None and told.what in OF_CREWS:
            yield "what", f"an order is not {told.what.value!r}", "Name the driver or the transporter in place of the order."
        if told.what is Happening.LATE and told.late_min is None:
            yield "minutes", "by how many minutes is not said", "Give the minutes, as in: late 40."
        if told.late_min is not None and not 1 <= told.late_min <= MINUTES_A_DAY:
            yield "minutes", f"nobody is late by {told.late_min:,} minutes", f"Give 1 to {MINUTES_A_DAY:,} minutes."
        if told.what is not Happening.LATE and told.late_min is not None:
            yield "minutes", f"minutes belong to 'late', not to {told.what.value!r}", "Leave them out, or say late."
        if event.order is not None and event.crew is None and told.what in (Happening.LATE, Happening.LEFT, Happening.ARRIVED):
            yield "who", "this order is in no published run", "Name the crew that is meant."

    def _of_breakdown(self, event: RoadEvent) -> Iterator[tuple[str, str, str]]:
        """A crew without a transporter has no car that could break down before its run begins."""
        if event.what is not Happening.BREAKDOWN or event.crew is None or event.transporter is not None:
            return
        told = [one.at_min for one in self.events if one.crew == event.crew and one.what in IN_TURN]
        if event.at_min < (begins := min([*told, self._begins.get(event.crew, event.at_min)])):
            advice = "Say 'driver ill' of the driver, or 'failed its check' of an order whose car will not start."
            yield "what", f"{event.crew} has no car before its run begins ({self.clock.wall(begins)})", advice

    def _of_order(self, event: RoadEvent) -> Iterator[tuple[str, str, str]]:
        if event.order is None or event.what is Happening.LEFT:
            return
        state = self.order(event.order)["state"]
        if state != OPEN:
            advice = f"See 'homeleg day story {event.order}'; {_TAKE_BACK}."
            yield "who", f"this order is {state}, so nothing more can happen to it", advice
        elif any(one.order == event.order and one.what in ENDS for one in self.events):
            yield "who", "its visit of this day has ended already", f"It waits for another day; {_TAKE_BACK}."

    def _of_time(self, told: Told, event: RoadEvent | None) -> Iterator[tuple[str, str, str]]:
        at_min, shown = told.at_min, self.clock.wall(told.at_min)
        if not EARLIEST_MIN <= at_min <= LATEST_MIN:
            yield "at", f"{self.clock.iso(at_min)} is not near {self.on}", "Check the date."
            return
        if self._now_min is not None and at_min > self._now_min:
            advice = "Check the time. When a day is only rehearsed, add --rehearsal."
            yield "at", f"{shown} has not come yet; it is {self.clock.wall(self._now_min)}", advice
        if event is None or event.crew is None or told.what not in IN_TURN:
            return
        earlier = [one for one in self.events if one.crew == event.crew and one.what in IN_TURN]
        begins = min([one.at_min for one in earlier] + [self._begins.get(event.crew, at_min)])
        if told.what not in BEGINS and at_min < begins:
            advice = f"If it began sooner, say that first: homeleg day event {event.crew} on duty --at ..."
            yield "at", f"{shown} lies before the run of {event.crew} began ({self.clock.wall(begins)})", advice
        elif earlier and at_min < (last := max(earlier, key=lambda one: one.at_min)).at_min:
            said = f"{last.what.value} {last.order or ''}".strip()
            advice = f"Check both; {_TAKE_BACK}."
            yield "at", f"{shown} lies before the last word from {event.crew} ({said} at {self.clock.wall(last.at_min)})", advice


def crew_named(placing: Mapping[str, Any], ref: str) -> str:
    """Return by what name the sheet of the run that has an order is kept."""
    return str(placing["driver"] or placing.get("crew") or f"{placing['carrier']} {ref}")
