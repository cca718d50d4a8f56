"""
The baseline: the day as a general routing model, solved by OR-Tools' guided local search.

Every move is a pickup and a delivery.  A plate driver is a vehicle for one car that drives from a pickup to its delivery
and rides everywhere else; a transporter is a vehicle with slots and payload that drives everywhere.  Breaks are put in as
a share of driving time; each route found is then timed and priced exactly, and what the law refuses is taken off, cheapest
loss first.  It gives no lower bound: it is what the real search is measured against.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from planner.model.crews import Driver, Transporter, VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId
from planner.runs.bays import bays_overrun
from planner.runs.costing import price
from planner.runs.crew_fit import covers, driven_class
from planner.runs.errands import leg
from planner.runs.plan import Plan
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary, Run, RunId, RunKind, Stop
from planner.runs.timing import lay_out
from planner.search.left_behind import left_behind
from planner.search.single import alone, lead_moves

NO_WAY = 10_000_000  # pence or minutes: an arc that is never taken
BREAK_SHARE = {True: 45 / 270, False: 15 / 120}  # of driving time: transporters by law, plates by policy


@dataclass(frozen=True, slots=True)
class Crew:
    """A driver with or without a transporter, paired before routing."""

    driver: Driver
    transporter: Transporter | None


@dataclass(frozen=True, slots=True)
class Node:
    """One end of a move."""

    move: Move
    is_pickup: bool


def solve_baseline(day: Day, *, seconds: float = 20.0, seed: int = 0, rounds: int | None = None) -> Plan:
    """
    Return the best plan that the general routing model finds.

    The same seed and ``rounds`` (solutions visited) give the same plan as long as ``seconds`` do not run out first.
    """
    crew_list = pair_crews(day)
    runs: tuple[Run, ...] = ()
    if crew_list and day.moves:
        runs = tuple(_exact(day, _Model(day, crew_list, seed).solve(seconds, rounds)))
    runs = filled(day, _within_sharing(day, runs))
    numbered = tuple(replace(run, run_id=RunId(f"R{number:02d}")) for number, run in enumerate(runs, start=1))
    limit = f"{rounds} rounds" if rounds else f"{seconds:g} s"
    return Plan(runs=numbered, not_placed=left_behind(day, numbered), found_by=f"general routing model, seed {seed}, {limit}")


def pair_crews(day: Day) -> tuple[Crew, ...]:
    """Return each transporter with the least qualified driver of its base that covers it, and all others on plates."""
    free = sorted(day.drivers, key=lambda driver: (len(driver.licences), driver.driver_id))
    crews: list[Crew] = []
    for transporter in sorted(day.transporters, key=lambda item: (-item.gross_kg - item.trailer_kg, item.transporter_id)):
        fitting = [
            driver
            for driver in free
            if driver.base == transporter.base
            and covers(driver.licences, transporter.licence)
            and driver.pinned_transporter in (None, transporter.transporter_id)
        ]
        if fitting:
            chosen = next((driver for driver in fitting if driver.pinned_transporter), fitting[0])
            crews.append(Crew(chosen, transporter))
            free.remove(chosen)
    return (*crews, *(Crew(driver, None) for driver in free if driver.may_drive_plates and covers(driver.licences, "B")))


class _Model:
    """The routing model of one day."""

    def __init__(self, day: Day, crews: Sequence[Crew], seed: int) -> None:
        self.day, self.crews = day, crews
        moves = list(day.moves)
        random.Random(seed).shuffle(moves)  # noqa: S311 - the order in which ties fall, not a secret
        self.nodes = [Node(move, is_pickup) for move in moves for is_pickup in (True, False)]
        self.index = {(node.move.move_id, node.is_pickup): number for number, node in enumerate(self.nodes)}

    def place(self, node: int, crew: Crew) -> int:
        """Return the row in the tables of a node; past the last node it is where the crew starts."""
        if node >= len(self.nodes):
            start = crew.transporter.base if crew.transporter else crew.driver.starts_at
            return self.day.place_index[start]
        spot = self.nodes[node]
        return self.day.place_index[spot.move.origin if spot.is_pickup else spot.move.destination]

    def work(self, node: int, crew: Crew) -> int:
        """Return the minutes of work at one node."""
        if node >= len(self.nodes):
            return self.day.policy.walk_round_min if crew.transporter else 0
        spot, policy = self.nodes[node], self.day.policy
        at_compound = (spot.move.origin if spot.is_pickup else spot.move.destination) in self.day.compound_of
        own = spot.move.origin_min if spot.is_pickup else spot.move.destination_min
        if crew.transporter is not None:
            handling = crew.transporter.load_min if spot.is_pickup else crew.transporter.unload_min
            return handling + (0 if at_compound else own)
        return (policy.collect_at_compound_min if spot.is_pickup else policy.hand_in_at_compound_min) if at_compound else own

    def arc(self, origin: int, destination: int, crew: Crew) -> tuple[int, int]:
        """Return minutes, breaks in, and pence of going from one node to another, NO_WAY where it cannot be."""
        day, here, there = self.day, self.place(origin, crew), self.place(destination, crew)
        holding = origin < len(self.nodes) and self.nodes[origin].is_pickup
        if crew.transporter is None and holding:
            if destination >= len(self.nodes) or self.nodes[destination] != Node(self.nodes[origin].move, is_pickup=False):
                return NO_WAY, NO_WAY
            return self._driven(self.nodes[origin].move)
        if here == there:
            return 0, 0
        if crew.transporter is None:
            minutes = int(day.rides.minutes[here, there])
            return (minutes, int(day.rides.fare_pence[here, there])) if minutes >= 0 else (NO_WAY, NO_WAY)
        return self._road(crew.transporter.vehicle_class, here, there, carried=True)

    def _driven(self, move: Move) -> tuple[int, int]:
        row, column = self.day.place_index[move.origin], self.day.place_index[move.destination]
        minutes, pence = self._road(driven_class(move), row, column, carried=False)
        return minutes, pence + round(float(self.day.rates.revalet_pence)) if minutes < NO_WAY else NO_WAY

    def _road(self, vehicle_class: VehicleClass, row: int, column: int, *, carried: bool) -> tuple[int, int]:
        """Return minutes and pence of a leg, with the class's rough cost a kilometre."""
        road = leg(self.day, vehicle_class, self.day.places[row].place_id, self.day.places[column].place_id)
        if road is None:
            return NO_WAY, NO_WAY
        km = road.metres / 1000
        a_km = self.pence_per_km(vehicle_class) if carried else 10.0 + float(self.day.rates.value_fall_pence_per_km)
        return round(road.drive_min * (1 + BREAK_SHARE[carried])) + road.ferry_min, round(km * a_km)

    def pence_per_km(self, vehicle_class: VehicleClass) -> float:
        """Return a class's fuel and running cost at 80 km/h, from the same rates as the exact costing."""
        from planner.model.cars import Fuel
        from planner.model.fuel import curve_of_class

        running = self.day.rates.running[vehicle_class]
        litres = curve_of_class(vehicle_class).per_km(80.0)
        return litres * float(self.day.rates.fuel_pence[Fuel.DIESEL]) + float(running.pence_per_km)

    def solve(self, seconds: float, rounds: int | None) -> Iterator[Itinerary]:
        """Yield the itinerary of every crew that has work."""
        from ortools.constraint_solver import pywrapcp, routing_enums_pb2

        count, fleet = len(self.nodes), len(self.crews)
        manager: Any = pywrapcp.RoutingIndexManager(count + fleet, fleet, *[[count + v for v in range(fleet)]] * 2)
        routing = pywrapcp.RoutingModel(manager)
        self._arcs(routing, manager)
        self._capacities(routing)
        self._pairs(routing, manager)
        parameters = pywrapcp.DefaultRoutingSearchParameters()
        parameters.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
        parameters.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
        parameters.time_limit.FromMilliseconds(int(seconds * 1000))
        if rounds:
            parameters.solution_limit = rounds
        answer = routing.SolveWithParameters(parameters)
        if answer is None:
            return
        for vehicle, crew in enumerate(self.crews):
            order: list[Node] = []
            index = routing.Start(vehicle)
            while not routing.IsEnd(index):
                node = manager.IndexToNode(index)
                if node < count:
                    order.append(self.nodes[node])
                index = answer.Value(routing.NextVar(index))
            if order:
                yield _itinerary(crew, order)

    def _arcs(self, routing: Any, manager: Any) -> None:
        """Time with windows and shifts, and what each arc and minute costs."""
        count, rates = len(self.nodes), self.day.rates
        kinds: dict[tuple[object, ...], tuple[int, int]] = {}
        minutes_of, pence_of = [], []
        for vehicle, crew in enumerate(self.crews):
            carrier = crew.transporter
            start = self.place(count, crew)
            key = (start, carrier.vehicle_class, carrier.load_min, carrier.unload_min) if carrier else (start,)
            if key not in kinds:
                kinds[key] = self._matrices(routing, crew)
            minutes_of.append(kinds[key][0])
            pence_of.append(kinds[key][1])
            routing.SetArcCostEvaluatorOfVehicle(kinds[key][1], vehicle)
            fixed = rates.running[carrier.vehicle_class].day_pence if carrier else rates.plate_day_pence
            routing.SetFixedCostOfVehicle(round(float(fixed)), vehicle)
        latest = max(crew.driver.home_by_min for crew in self.crews)
        routing.AddDimensionWithVehicleTransits(minutes_of, latest, latest, False, "time")  # noqa: FBT003
        time = routing.GetDimensionOrDie("time")
        for vehicle, crew in enumerate(self.crews):
            wage = rates.wages[crew.driver.role]
            factor = wage.weekend_factor if rates.is_weekend else 1
            time.SetSpanCostCoefficientForVehicle(round(float(wage.pence_per_hour * factor) / 60), vehicle)
            time.CumulVar(routing.Start(vehicle)).SetRange(crew.driver.starts_from_min, latest)
            tail = self.day.policy.end_of_day_min if crew.transporter else 0
            time.CumulVar(routing.End(vehicle)).SetMax(crew.driver.home_by_min - tail)
            longest = self.day.policy.plate_duty_max_min if crew.transporter is None else 780
            time.SetSpanUpperBoundForVehicle(longest - tail, vehicle)
        for number, node in enumerate(self.nodes):
            window = node.move.origin_window if node.is_pickup else node.move.destination_window
            compound = self.day.compound_of.get(node.move.origin if node.is_pickup else node.move.destination)
            window = window or (compound.window if compound else None)
            if window is not None and window.opens_min <= latest:
                index = manager.NodeToIndex(number)
                time.CumulVar(index).SetRange(max(0, window.opens_min), max(0, min(latest, window.closes_min - 1)))

    def _matrices(self, routing: Any, crew: Crew) -> tuple[int, int]:
        """Register the minutes (work at the node left, then the way) and pence of every arc for a kind of crew."""
        size, count = len(self.nodes) + len(self.crews), len(self.nodes)
        minutes = [[NO_WAY] * size for _ in range(size)]
        pence = [[NO_WAY] * size for _ in range(size)]
        last = [self.arc(node, count, crew) for node in range(count)] + [(0, 0)]
        first = [self.arc(count, node, crew) for node in range(count)] + [(0, 0)]
        for origin in range(size):
            work = self.work(min(origin, count), crew)
            for destination in range(size):
                if origin < count and destination < count:
                    way = self.arc(origin, destination, crew)
                else:
                    way = last[min(origin, count)] if destination >= count else first[destination]
                if way[0] < NO_WAY:
                    minutes[origin][destination], pence[origin][destination] = work + way[0], way[1]
        return routing.RegisterTransitMatrix(minutes), routing.RegisterTransitMatrix(pence)

    def _capacities(self, routing: Any) -> None:
        """Slots and payload; one car and no mass limit on plates."""
        carriers = [crew.transporter for crew in self.crews]
        amounts = [
            ("cars", [1] * len(self.nodes), [carrier.slots if carrier else 1 for carrier in carriers]),
            ("mass", [node.move.car.mass_kg for node in self.nodes], [item.payload_kg if item else 9999 for item in carriers]),
        ]
        for name, each, most in amounts:
            signed = [amount if node.is_pickup else -amount for node, amount in zip(self.nodes, each, strict=True)]
            callback = routing.RegisterUnaryTransitVector(signed + [0] * len(self.crews))
            routing.AddDimensionWithVehicleCapacity(callback, 0, most, True, name)  # noqa: FBT003 - starts empty

    def _pairs(self, routing: Any, manager: Any) -> None:
        """Pickup before delivery by one crew that may; a part-exchange straight after its delivery or not at all."""
        solver, time = routing.solver(), routing.GetDimensionOrDie("time")
        for move in self.day.moves:
            up, down = (manager.NodeToIndex(self.index[move.move_id, is_pickup]) for is_pickup in (True, False))
            routing.AddPickupAndDelivery(up, down)
            solver.Add(routing.VehicleVar(up) == routing.VehicleVar(down))
            solver.Add(time.CumulVar(up) <= time.CumulVar(down))
            routing.AddDisjunction([up], move.stays_behind_pence)
            routing.AddDisjunction([down], 0)
            solver.Add(routing.ActiveVar(up) == routing.ActiveVar(down))
            allowed = [vehicle for vehicle, crew in enumerate(self.crews) if self.may_take(crew, move)]
            for index in (up, down):
                routing.VehicleVar(index).SetValues([-1, *allowed])
            if move.tied_to is not None:
                door = manager.NodeToIndex(self.index[move.tied_to, False])
                solver.Add(routing.ActiveVar(up) == routing.ActiveVar(door))
                solver.Add(routing.VehicleVar(up) == routing.VehicleVar(door))
                solver.Add(solver.IsEqualCstVar(routing.NextVar(door), up) == routing.ActiveVar(door))

    def may_take(self, crew: Crew, move: Move) -> bool:
        """Return whether a crew could take the move at all."""
        answer = lay_out_single(self.day, crew, move)
        return not isinstance(answer, Refusal)


def lay_out_single(day: Day, crew: Crew, move: Move) -> Refusal | None:
    """Return why the crew may not take the move, by method, licence, access and mass alone."""
    from planner.runs.crew_fit import refuse_carried_moves, refuse_driven_moves, refuse_driver, refuse_load

    stops = (Stop(place=move.origin, takes=(move.move_id,)), Stop(place=move.destination, leaves=(move.move_id,)))
    transporter = crew.transporter.transporter_id if crew.transporter else None
    alone = Itinerary(driver=crew.driver.driver_id, transporter=transporter, stops=stops)
    checks = (refuse_driver, refuse_carried_moves, refuse_load) if transporter else (refuse_driver, refuse_driven_moves)
    return next((refusal for check in checks if (refusal := check(day, alone))), None)


def _itinerary(crew: Crew, order: Sequence[Node]) -> Itinerary:
    """Return the stops of a route, neighbouring nodes at one place joined into one visit when leaving comes first."""
    stops: list[Stop] = []
    for node in order:
        place = node.move.origin if node.is_pickup else node.move.destination
        own: tuple[MoveId, ...] = (node.move.move_id,)
        none: tuple[MoveId, ...] = ()
        takes, leaves = (own, none) if node.is_pickup else (none, own)
        if stops and stops[-1].place == place and not (stops[-1].takes and leaves):
            last = stops.pop()
            takes, leaves = last.takes + takes, last.leaves + leaves
        stops.append(Stop(place=place, leaves=leaves, takes=takes))
    return Itinerary(
        driver=crew.driver.driver_id,
        transporter=crew.transporter.transporter_id if crew.transporter else None,
        stops=tuple(stops),
        may_stay_out=crew.driver.may_stay_out,
    )


def _exact(day: Day, found: Iterator[Itinerary]) -> Iterator[Run]:
    """Yield each route timed and priced; moves that make it illegal are taken off, cheapest to leave behind first."""
    for itinerary in found:
        remaining: Itinerary | None = itinerary
        while remaining is not None and remaining.stops:
            run = lay_out(day, remaining)
            if not isinstance(run, Refusal):
                yield replace(run, costs=price(day, run))
                break
            leads = [day.move_of[move] for move in remaining.moves if day.move_of[move].tied_to is None]
            shed = min(leads, key=lambda move: (move.stays_behind_pence, move.move_id))
            remaining = without(day, remaining, shed.move_id) if len(leads) > 1 else None


def without(day: Day, itinerary: Itinerary, move_id: MoveId) -> Itinerary:
    """Return the itinerary without one move and its part-exchange, empty stops left out."""
    follower = day.part_exchange_of.get(move_id)
    gone = {move_id, follower.move_id if follower else move_id}
    thinner = (
        replace(
            stop,
            leaves=tuple(move for move in stop.leaves if move not in gone),
            takes=tuple(move for move in stop.takes if move not in gone),
        )
        for stop in itinerary.stops
    )
    return replace(itinerary, stops=tuple(stop for stop in thinner if stop.leaves or stop.takes))


def _within_sharing(day: Day, runs: tuple[Run, ...]) -> tuple[Run, ...]:
    """Return the runs without those, cheapest to lose first, for which their base has no set of plates or no bay."""
    kept: list[Run] = []
    for run in sorted(runs, key=lambda item: -sum(day.move_of[move].stays_behind_pence for move in item.itinerary.moves)):
        if is_free(day, run.itinerary, kept) and not bays_overrun(day, (*kept, run)):
            kept.append(run)
    return tuple(kept)


def filled(day: Day, runs: tuple[Run, ...]) -> tuple[Run, ...]:
    """Return the runs with free crews and hired carriers for single moves that are left, where cheaper than leaving them."""
    placed = {move for run in runs for move in run.itinerary.moves}
    made = list(runs)
    for move in sorted(lead_moves(day), key=lambda item: (-item.stays_behind_pence, item.move_id)):
        if move.move_id in placed:
            continue
        offers = []
        for itinerary in alone(day, move):
            run = lay_out(day, itinerary) if is_free(day, itinerary, made) else None
            if isinstance(run, Run) and not bays_overrun(day, (*made, run)):
                offers.append(replace(run, costs=price(day, run)))
        best = min(offers, key=lambda run: run.cost_pence, default=None)
        if best is not None and best.cost_pence < sum(day.move_of[name].stays_behind_pence for name in best.itinerary.moves):
            made.append(best)
    return tuple(made)


def is_free(day: Day, itinerary: Itinerary, runs: Sequence[Run]) -> bool:
    """Return whether the crew or carrier of an itinerary has room beside these runs, plates included."""
    others = [run.itinerary for run in runs]
    if itinerary.carrier is not None:
        return sum(other.carrier == itinerary.carrier for other in others) < day.carrier_of[itinerary.carrier].cars
    crew = itinerary.crew
    if any(crew & other.crew for other in others):
        return False
    if itinerary.kind is not RunKind.PLATE or itinerary.driver is None:
        return True
    base = day.driver_of[itinerary.driver].base
    used = sum(
        other.kind is RunKind.PLATE and other.driver is not None and day.driver_of[other.driver].base == base
        for other in others
    )
    return used < day.compound_of[base].plate_sets
