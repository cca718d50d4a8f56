"""
Emissions: kilograms of CO2 equivalent of a run and of each car of it, kept in whole grams.

Factors: UK Government greenhouse gas conversion factors for company reporting, 2025; scope 1 and 2 with the loss of the
grid, nothing of the fuel's own making.  Planning figures, no audited report.
"""

from collections import defaultdict
from dataclasses import dataclass

from planner.model.cars import Fuel
from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.driven_legs import driven_legs
from planner.runs.run import ActivityKind, Run
from planner.runs.sharing import direct_metres, split_pence

#: kg CO2e a litre, average biofuel blend (petrol from memory); a kWh of grid electricity with its losses (from memory).
KG_A_LITRE_OR_KWH = {
    Fuel.DIESEL: 2.57082,
    Fuel.PETROL: 2.06916,
    Fuel.HYBRID: 2.06916,
    Fuel.ELECTRIC: 0.17700 + 0.01853,
}

#: kg CO2e a passenger-kilometre by national rail; a driver's ride home is taken to be by train, as far as by road.
KG_A_RAIL_KM = 0.03546

#: kg CO2e a kilometre of an average articulated lorry above 33 t, shared by eight cars (our assumption) when hired.
KG_A_HIRED_KM = 0.93421 / 8


@dataclass(frozen=True, kw_only=True, slots=True)
class Emissions:
    """Grams of CO2 equivalent, whole: of the run, of it by rides, and each move's part; the parts add up to the run."""

    grams: int
    rides_grams: int
    of_move: dict[MoveId, int]


def emissions(day: Day, run: Run) -> Emissions:
    """
    Return what a timed run gives off.

    What a sold car burns is that move's own; the rest is split by the road distance of each car, as costs are.
    """
    own: dict[MoveId, float] = defaultdict(float)
    shared = 0.0
    for leg in driven_legs(day, run):
        grams = 1000 * leg.burnt * KG_A_LITRE_OR_KWH[leg.vehicle.fuel]
        if leg.vehicle.move is None:
            shared += grams
        else:
            own[leg.vehicle.move] += grams
    rides = sum(1000 * KG_A_RAIL_KM * km for km in _ride_km(day, run))
    if run.itinerary.carrier is not None:
        for move in run.itinerary.moves:
            own[move] += KG_A_HIRED_KM * direct_metres(day, move)
    moves = run.itinerary.moves
    total = round(shared + rides + sum(own.values()))
    distance = [direct_metres(day, move) for move in moves]
    weights = [part / sum(distance) if sum(distance) else 1 / len(moves) for part in distance]
    exact = [own[move] + (shared + rides) * weight for move, weight in zip(moves, weights, strict=True)]
    parts, _ = split_pence(total, exact if sum(exact) else [1.0] * len(moves))
    return Emissions(grams=total, rides_grams=round(rides), of_move=dict(zip(moves, parts, strict=True)))


def _ride_km(day: Day, run: Run) -> list[float]:
    table = day.tables[VehicleClass.CAR].metres
    ends = [
        (day.place_index[step.origin], day.place_index[step.destination])
        for step in run.activities
        if step.kind is ActivityKind.RIDE
    ]
    return [max(0, int(table[row, column])) / 1000 for row, column in ends]
