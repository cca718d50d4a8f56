"""
The fuel plan: a sentence for each vehicle of a run, what it is going to take and whether it has to fill up on the way.

Litres and kWh come from the published curves at the planned mean speed of each leg; a fifth of every tank, battery and
stated range stays untouched (common practice).  All of it is an estimate: cold, hills, load and traffic take more.
"""

import math
from collections.abc import Sequence

from planner.model.cars import Fuel
from planner.model.crews import Transporter
from planner.model.day import Day
from planner.model.fuel import tank_litres
from planner.runs.driven_legs import DrivenLeg, driven_legs
from planner.runs.run import Run
from planner.sheets.plain_text import place_name, plate
from planner.sheets.words import Words
from planner.units import METRES_A_MILE, miles

RESERVE = 0.2  # of a tank, a battery or a range: what is not planned away
STEP_MILES = 5  # a range on a display is not read closer


def fuel_plan(day: Day, run: Run, w: Words) -> tuple[str, ...]:
    """Return a sentence for each vehicle, in the order in which they are driven; none for a hired carrier."""
    of_vehicle: dict[str, list[DrivenLeg]] = {}
    for leg in driven_legs(day, run):
        of_vehicle.setdefault(leg.vehicle.key, []).append(leg)
    return tuple(_says(day, run, legs, w) for legs in of_vehicle.values())


def _says(day: Day, run: Run, legs: Sequence[DrivenLeg], w: Words) -> str:
    if run.itinerary.transporter is not None:
        return _transporter(day, day.transporter_of[run.itinerary.transporter], legs, w)
    move = legs[0].vehicle.move
    return _support_car(legs, w) if move is None else _sold_car(day, legs, w)


def _transporter(day: Day, transporter: Transporter, legs: Sequence[DrivenLeg], w: Words) -> str:
    """Say how much the day takes, and the leg by whose end the tank or battery is down to its reserve."""
    tank = tank_litres(transporter)
    dry = _first_dry(legs, tank * (1 - RESERVE))
    holes = {
        **_amounts(legs, w),
        "tank": w("fuel.kwh" if transporter.is_electric else "fuel.litres", amount=tank),
        "usual": w("fuel.usual") if transporter.tank_litres is None else "",
    }
    if dry is None:
        return w("fuel.tank_enough", **holes)
    leg, driven_m = dry
    return w("fuel.tank_stop", to=place_name(day, leg.destination), before=_down(driven_m), **holes)


def _first_dry(legs: Sequence[DrivenLeg], usable: float) -> tuple[DrivenLeg, float] | None:
    """Return the leg on which ``usable`` is used up and the metres driven by then, None where it is enough."""
    burnt, driven_m = 0.0, 0.0
    for leg in legs:
        if burnt + leg.burnt > usable:
            return leg, driven_m + leg.metres * (usable - burnt) / leg.burnt
        burnt, driven_m = burnt + leg.burnt, driven_m + leg.metres
    return None


def _sold_car(day: Day, legs: Sequence[DrivenLeg], w: Words) -> str:
    """Say how far a car on plates goes and how far it could; without a stated range, what its display has to show."""
    move = legs[0].vehicle.move
    assert move is not None
    car = day.move_of[move].car
    metres = sum(leg.metres for leg in legs)
    holes = {"plate": plate(car.registration), **_amounts(legs, w), "show": _up(metres / (1 - RESERVE))}
    start = w("fuel.charge_at_start" if car.fuel is Fuel.ELECTRIC else "fuel.gauge_at_start")
    if car.range_m is None:
        return f"{w('fuel.car_unknown', **holes)} {start}"
    holes |= {"range": round(miles(car.range_m)), "before": _down(car.range_m * (1 - RESERVE))}
    key = "fuel.car_enough" if metres <= car.range_m * (1 - RESERVE) else "fuel.car_stop"
    return f"{w(key, **holes)} {start}"


def _support_car(legs: Sequence[DrivenLeg], w: Words) -> str:
    return w("fuel.support_car", **_amounts(legs, w))


def _amounts(legs: Sequence[DrivenLeg], w: Words) -> dict[str, object]:
    fuel = legs[0].vehicle.fuel
    unit = "fuel.kwh" if fuel is Fuel.ELECTRIC else "fuel.litres"
    return {
        "fuel": w(f"fuel.{fuel}"),
        "miles": round(miles(sum(leg.metres for leg in legs))),
        "burnt": w(unit, amount=math.ceil(sum(leg.burnt for leg in legs))),
    }


def _up(metres: float) -> int:
    return math.ceil(metres / METRES_A_MILE / STEP_MILES) * STEP_MILES


def _down(metres: float) -> int:
    return math.floor(metres / METRES_A_MILE / STEP_MILES) * STEP_MILES
