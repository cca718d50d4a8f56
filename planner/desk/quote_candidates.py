"""
Candidates: every way to fit one delivery into the runs of a plan, with a figure that its extra cost cannot undercut.

A candidate is an itinerary that is not timed yet.  ``least_pence`` counts what is sure before timing: fuel, running cost,
fares and what belongs to the car, for a crew not yet out its wages too; ``likely_pence`` adds the wages of the extra
minutes and orders the trying out.  Tolls and zones come with the exact price.  The least holds where roads obey the
triangle inequality, as fastest roads do.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import cached_property, partial
from itertools import pairwise
from typing import NamedTuple

from planner.desk.quote_legs import NO_WAY, LegCost, LegCosts
from planner.desk.quote_route import Route, Routes
from planner.desk.quote_slack import SlackOf
from planner.model.crews import Driver, Transporter, VehicleClass
from planner.model.day import Day
from planner.model.moves import Move
from planner.model.orders import Method
from planner.model.places import PlaceId
from planner.runs.costing import running_cost, wage_of
from planner.runs.crew_fit import covers, driven_class
from planner.runs.driven_legs import Vehicle, vehicle_of_sold_car, vehicle_of_transporter
from planner.runs.run import Itinerary, Run, RunKind, Stop
from planner.units import miles


class Candidate(NamedTuple):
    """
    One itinerary that would do the delivery; ``replaces`` is the run it grew from, None for a crew not yet out.

    ``crew`` is the itinerary before, without stops for a crew not yet out; most candidates are never looked at closely,
    so their stops are only put together when they are.
    """

    kind: RunKind
    crew: Itinerary
    replaces: Run | None
    stops: Callable[[], tuple[Stop, ...]]
    least_pence: float
    likely_pence: float
    gap: int = 0  # of the old run, in which the door lies
    due_gap: int = 0  # the gap whose later end is still to be kept
    way_min: int = 0  # from where the crew is to the door, at least
    back_min: int = 0  # from the door to what comes after, at least

    @property
    def itinerary(self) -> Itinerary:
        """The crew with its stops."""
        return replace(self.crew, stops=self.stops())


def may_go(move: Move, kind: RunKind) -> bool:
    """Return whether the order allows that kind of run at all."""
    if kind is RunKind.PLATE:
        return move.may_be_driven and move.car.may_be_driven
    return move.may_be_carried


def kinds_for(method: Method) -> tuple[RunKind, ...]:
    """Return the kinds of run that a wished method allows."""
    return {
        Method.ANY: tuple(RunKind),
        Method.CARRIED: (RunKind.TRANSPORTER, RunKind.HIRED),
        Method.DRIVEN: (RunKind.PLATE,),
    }[method]


class Candidates:
    """
    Finds the candidates of one delivery on one day.

    ``routes`` are those of the day's transporters, where they are kept for the next question; legs of the door never are.
    """

    def __init__(self, day: Day, move: Move, routes: Routes | None = None) -> None:
        self.day, self.move = day, move
        self.slack = SlackOf(day)
        self._routes, self._own = routes or Routes(), LegCosts()
        self._stops = (
            Stop(place=move.origin, takes=(move.move_id,)),
            Stop(place=move.destination, leaves=(move.move_id,)),
        )

    def in_runs(self, runs: Iterable[Run]) -> Iterator[Candidate]:
        """Yield every place in every run, own transporters and plate runs without a support car."""
        for run in runs:
            if run.kind is RunKind.TRANSPORTER and may_go(self.move, RunKind.TRANSPORTER):
                yield from self._on_transporter(run)
            elif run.kind is RunKind.PLATE and may_go(self.move, RunKind.PLATE) and run.itinerary.support_driver is None:
                yield from self._on_plates(run)

    def by_crews(self, crews: Iterable[Itinerary]) -> Iterator[Candidate]:
        """Yield the delivery alone by each of some crews that are not out yet."""
        for crew in crews:
            if crew.driver is None or not may_go(self.move, crew.kind):
                continue
            driver = self.day.driver_of[crew.driver]
            transporter = self.day.transporter_of[crew.transporter] if crew.transporter else None
            least, likely = self._fresh_cost(driver, transporter)
            if least < NO_WAY:
                yield Candidate(
                    kind=crew.kind, crew=crew, replaces=None, stops=lambda: self._stops, least_pence=least, likely_pence=likely,
                    **self._from_start(driver, transporter),
                )  # fmt: skip

    def _from_start(self, driver: Driver, transporter: Transporter | None) -> dict[str, int]:
        if transporter is None:
            return self._by_way_of(driver.starts_at, driver.starts_at)
        leg_min, kind, origin = self.slack.leg_min, transporter.vehicle_class, self.move.origin
        way = leg_min(kind, transporter.base, origin) + leg_min(kind, origin, self.move.destination)
        return {"way_min": way, "back_min": leg_min(kind, self.move.destination, transporter.base)}

    def by_carriers(self, runs: Iterable[Run] = ()) -> Iterator[Candidate]:
        """Yield every hired carrier that has room beside these runs."""
        if not (self.day.policy.hired_carriers and may_go(self.move, RunKind.HIRED)):
            return
        taken = [run.itinerary.carrier for run in runs]
        metres = self._metres(VehicleClass.CAR, self.move.origin, self.move.destination)
        for carrier in self.day.carriers:
            if taken.count(carrier.carrier_id) < carrier.cars and metres >= 0:
                pence = max(carrier.minimum_pence, carrier.base_pence + carrier.pence_per_mile * miles(metres))
                crew = Itinerary(driver=None, carrier=carrier.carrier_id, stops=())
                yield Candidate(
                    kind=RunKind.HIRED, crew=crew, replaces=None, stops=lambda: self._stops, least_pence=pence - 1,
                    likely_pence=pence,
                )

    def _metres(self, vehicle_class: VehicleClass, origin: PlaceId, destination: PlaceId) -> int:
        index = self.day.place_index
        return int(self.day.tables[vehicle_class].metres[index[origin], index[destination]])

    def _leg(self, vehicle: Vehicle, origin: PlaceId, destination: PlaceId) -> LegCost:
        """Return pence of a leg when empty, pence more for each kilogram aboard, and minutes with reserve and ferry."""
        is_own = vehicle.move is not None or self.move.destination in (origin, destination)
        return (self._own if is_own else self._routes.legs).of(self.day, vehicle, origin, destination)

    def _ride(self, origin: PlaceId, destination: PlaceId) -> tuple[float, float]:
        """Return pence and minutes of a ride."""
        if origin == destination:
            return 0.0, 0.0
        cell = self.day.place_index[origin], self.day.place_index[destination]
        minutes = int(self.day.rides.minutes[cell])
        return (float(self.day.rides.fare_pence[cell]), float(minutes)) if minutes >= 0 else (NO_WAY, NO_WAY)

    def _wage(self, driver: Driver, run: Run | None) -> float:
        """Return pence a minute of more duty; nothing while the minimum shift pays for it anyway."""
        wage = wage_of(self.day, driver)
        rate = float(wage.pence_per_hour) / 60 * (float(wage.weekend_factor) if self.day.rates.is_weekend else 1.0)
        if run is None:
            return rate
        duty = run.end_min - run.start_min
        if duty < wage.minimum_shift_min:
            return rate / 2
        return rate * (float(wage.overtime_factor) if duty >= wage.overtime_after_min else 1.0)

    # Own transporters -------------------------------------------------------------------------------------------------

    def _on_transporter(self, run: Run) -> Iterator[Candidate]:
        """Yield the positions of pickup and door: taken at a call the run makes anyway, or on a trip of its own."""
        assert run.itinerary.transporter is not None
        assert run.itinerary.driver is not None
        transporter = self.day.transporter_of[run.itinerary.transporter]
        wage = self._wage(self.day.driver_of[run.itinerary.driver], run)
        work_min = transporter.load_min + transporter.unload_min + self.move.destination_min
        route = self._routes.of(self.day, run)
        around = [self._around(transporter.vehicle_class, *ends) for ends in pairwise(route.places)]
        stops = run.itinerary.stops
        for taken, is_call, gap, pence, minutes in self._detours(route, transporter):
            if pence < NO_WAY:
                yield Candidate(
                    kind=RunKind.TRANSPORTER, crew=run.itinerary, replaces=run,
                    stops=partial(self._with_detour, stops, taken, gap, is_call=is_call), least_pence=pence,
                    likely_pence=pence + wage * (minutes + work_min), gap=gap, due_gap=gap, **around[gap],
                )  # fmt: skip

    def _detours(self, route: Route, transporter: Transporter) -> Iterator[tuple[int, bool, int, float, float]]:
        """Yield from which leg on the car is aboard, whether from a call made anyway, the leg of the door, pence and minutes."""
        vehicle, (first, second), kg = vehicle_of_transporter(transporter), self._stops, self.move.car.mass_kg
        origin, door = first.place, second.place
        ends = [*pairwise(route.places)]
        by_door = [(self._leg(vehicle, here, door), self._leg(vehicle, door, there)) for here, there in ends]
        to_door = [route.by_way_of(leg, *ways, kg_there=kg, kg_on=0) for leg, ways in enumerate(by_door)]
        pickups = [*route.pickups(origin)]
        calls = pickups[0][1]
        for taken, is_call in pickups:
            pence = minutes = 0.0
            for leg in range(taken, len(ends)):
                if not route.has_room(leg, kg, payload_kg=transporter.payload_kg, slots=transporter.slots):
                    break
                if is_call or leg > taken:
                    yield taken, is_call, leg, pence + to_door[leg][0], minutes + to_door[leg][1]
                    pence += route.legs[leg].each_kg_pence * kg
                    continue
                here, there = ends[leg]
                to_origin, on = self._leg(vehicle, here, origin), self._leg(vehicle, origin, there)
                straight = self._leg(vehicle, origin, door)
                more, more_min = route.by_way_of(leg, to_origin, by_door[leg][1], kg_there=0, kg_on=0)
                yield taken, is_call, leg, more + straight.pence(route.kg[leg] + kg), more_min + straight.minutes
                if calls:
                    break
                pence, minutes = route.by_way_of(leg, to_origin, on, kg_there=0, kg_on=kg)

    def _around(self, vehicle_class: VehicleClass, before: PlaceId, after: PlaceId) -> dict[str, int]:
        door = self.move.destination
        return {
            "way_min": self.slack.leg_min(vehicle_class, before, door),
            "back_min": self.slack.leg_min(vehicle_class, door, after),
        }

    def _with_detour(self, stops: tuple[Stop, ...], taken: int, gap: int, *, is_call: bool) -> tuple[Stop, ...]:
        """Return the stops with the car taken at the call before leg ``taken``, or on that leg, and left on leg ``gap``."""
        first, second = self._stops
        if is_call:
            call = replace(stops[taken - 1], takes=(*stops[taken - 1].takes, self.move.move_id))
            return (*stops[: taken - 1], call, *stops[taken:gap], second, *stops[gap:])
        return (*stops[:taken], first, *stops[taken:gap], second, *stops[gap:])

    # Plate runs -------------------------------------------------------------------------------------------------------

    def _on_plates(self, run: Run) -> Iterator[Candidate]:
        """Yield the pair of stops in each gap in which the driver holds no car."""
        itinerary = run.itinerary
        assert itinerary.driver is not None
        if len(itinerary.moves) >= self.day.policy.driven_moves_a_shift:
            return
        driver = self.day.driver_of[itinerary.driver]
        pence, drive_min = self._driven
        work_min = self.day.policy.collect_at_compound_min + self.move.destination_min
        wage = self._wage(driver, run)
        for number, here, there in self._gaps(itinerary, driver.starts_at):
            old = self._ride(here, there)
            legs = (self._ride(here, self.move.origin), self._ride(self.move.destination, there))
            extra = pence + sum(leg[0] for leg in legs) - old[0]
            minutes = drive_min + work_min + sum(leg[1] for leg in legs) - old[1]
            if extra < NO_WAY:
                inside = number > 0 and bool(itinerary.stops[number - 1].takes)
                yield Candidate(
                    kind=RunKind.PLATE, crew=itinerary, replaces=run,
                    stops=partial(self._with_pair, itinerary.stops, number), least_pence=extra,
                    likely_pence=extra + wage * minutes, gap=number, due_gap=number + inside, **self._by_way_of(here, there),
                )  # fmt: skip

    def _by_way_of(self, here: PlaceId, there: PlaceId) -> dict[str, int]:
        door, way = self.move.destination, self.slack.leg_min(None, here, self.move.origin) + self._driven_min
        return {"way_min": way, "back_min": self.slack.leg_min(None, door, there)}

    def _gaps(self, itinerary: Itinerary, base: PlaceId) -> Iterator[tuple[int, PlaceId, PlaceId]]:
        """Yield (before which stop, where the driver is, where to next) wherever no car is held."""
        here = base
        for number, stop in enumerate(itinerary.stops):
            if number == 0 or not itinerary.stops[number - 1].takes:
                yield number, here, stop.place
            elif stop.leaves and stop.takes:
                yield number, stop.place, stop.place  # between leaving one car and taking the next
            here = stop.place
        yield len(itinerary.stops), here, base

    def _with_pair(self, stops: tuple[Stop, ...], number: int) -> tuple[Stop, ...]:
        """Return the stops with the delivery put in before ``number``, calls at one place joined."""
        head, tail = list(stops[:number]), list(stops[number:])
        if number and head and head[-1].takes:  # the gap lies inside stop ``number``: split it
            whole = tail.pop(0)
            head.append(Stop(place=whole.place, leaves=whole.leaves))
            tail.insert(0, Stop(place=whole.place, takes=whole.takes))
        first, second = self._stops
        if head and head[-1].place == first.place and not head[-1].takes:
            head[-1] = replace(head[-1], takes=first.takes)
        else:
            head.append(first)
        if tail and tail[0].place == second.place and not tail[0].leaves:
            tail[0] = replace(tail[0], leaves=second.leaves)
        else:
            head.append(second)
        return (*head, *tail)

    @cached_property
    def _driven_min(self) -> int:
        """The least minutes of driving the car itself."""
        return self.slack.leg_min(driven_class(self.move), self.move.origin, self.move.destination)

    @cached_property
    def _driven(self) -> tuple[float, float]:
        """Return what driving the car itself costs before wages, and the minutes."""
        vehicle = vehicle_of_sold_car(self.day, self.move.move_id)
        pence, _, minutes = self._leg(vehicle, self.move.origin, self.move.destination)
        return pence + float(self.day.rates.revalet_pence), minutes

    # Crews that are not out yet ---------------------------------------------------------------------------------------

    def _fresh_cost(self, driver: Driver, transporter: Transporter | None) -> tuple[float, float]:
        """Return least and likely cost of a run for this delivery alone."""
        wage = wage_of(self.day, driver)
        if transporter is None:
            pence, minutes = self._driven
            rides = (self._ride(driver.starts_at, self.move.origin), self._ride(self.move.destination, driver.starts_at))
            pence += sum(ride[0] for ride in rides) + float(self.day.rates.plate_day_pence)
            minutes += sum(ride[1] for ride in rides) + self.move.destination_min
            minutes += self.day.policy.collect_at_compound_min
        else:
            pence, minutes = self._round_trip(transporter)
            pence += float(running_cost(self.day, transporter.vehicle_class).day_pence)
            minutes += transporter.load_min + transporter.unload_min + self.move.destination_min
            minutes += self.day.policy.walk_round_min + self.day.policy.end_of_day_min
        if pence == NO_WAY:
            return NO_WAY, NO_WAY
        # Breaks and roundings only add to these minutes, so that the wages are sure as well; a penny for roundings down.
        likely = pence + self._wage(driver, None) * max(minutes, wage.minimum_shift_min)
        return likely - 1, likely

    def _round_trip(self, transporter: Transporter) -> tuple[float, float]:
        """Return pence and minutes of the legs of a transporter with this delivery alone."""
        vehicle, origin, door = vehicle_of_transporter(transporter), self.move.origin, self.move.destination
        there = self._leg(vehicle, transporter.base, origin)
        loaded, home = self._leg(vehicle, origin, door), self._leg(vehicle, door, transporter.base)
        pence = there.pence(0) + loaded.pence(self.move.car.mass_kg) + home.pence(0)
        return pence, there.minutes + loaded.minutes + home.minutes


def fresh_crews(day: Day, busy: frozenset[str]) -> Iterator[tuple[Driver, Transporter | None]]:
    """Yield every driver who is free, alone and with every free transporter of the base that the licence covers."""
    for driver in day.drivers:
        if driver.driver_id in busy:
            continue
        if driver.may_drive_plates and driver.pinned_transporter is None and covers(driver.licences, "B"):
            yield driver, None
        for transporter in day.transporters:
            if transporter.transporter_id in busy or transporter.base != driver.base:
                continue
            if driver.pinned_transporter in (None, transporter.transporter_id) and covers(driver.licences, transporter.licence):
                yield driver, transporter
