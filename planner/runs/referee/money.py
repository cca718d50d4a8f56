"""
Money: every cost line of a run worked out again from the day's rates, by DEVELOPERS.md, "How a run is priced".

Legs come from the script, times from the run's activities.  Exact amounts are kept as numbers and set against whole
pence at the end: a stated line is right when it is the exact amount rounded half up, or when the exact amount lies within
a millionth of a penny of the half, where the order of floating sums decides.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from math import floor

from planner.faults import SkippedTime
from planner.model.cars import Fuel
from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.fuel import SUPPORT_CAR, curve_of_car, curve_of_transporter
from planner.model.moves import MoveId, MoveKind
from planner.model.rates import FuelCurve, Wage
from planner.model.travel import Charge, ChargeKind
from planner.runs.referee.breach import Notebook, Rule
from planner.runs.referee.script import Road, Script, Task, road
from planner.runs.referee.trail import Done, tasks_of
from planner.runs.run import ActivityKind, CostKind, Run, RunKind
from planner.units import METRES_A_MILE

TOLERANCE = 1e-6
Lines = dict[tuple[CostKind, MoveId | None], list[float]]
KIND_OF = {ChargeKind.TOLL: CostKind.TOLL, ChargeKind.ZONE: CostKind.ZONE, ChargeKind.FERRY: CostKind.FERRY}


@dataclass(frozen=True, slots=True)
class Driven:
    """One leg under one vehicle: which ("transporter", "support car", or the move whose car it is), when, what it bears."""

    vehicle: str
    move: MoveId | None
    way: Road
    start_min: int
    end_min: int
    load_kg: int


def check_costs(day: Day, run: Run, script: Script | None, done: Sequence[Done], notes: Notebook) -> None:
    """Note every cost line that is missing, superfluous or of another amount."""
    try:
        expected = _hired(day, run) if script is None else _own(day, run, script, done)
    except KeyError as missing:
        notes.note(Rule.RATES, "", f"no rate is in force for {missing.args[0]}")
        return
    stated: Lines = defaultdict(list)
    for line in run.costs:
        if line.pence < 0:
            notes.note(Rule.COST, line.kind, "a line is negative", found=line.pence)
        stated[line.kind, line.move].append(line.pence)
    for key in sorted(expected.keys() | stated.keys(), key=str):
        kind, move = key
        exact = sorted(amount for amount in expected.get(key, []) if rounded(amount))
        found = sorted(amount for amount in stated.get(key, []) if amount)
        if len(exact) != len(found) or not all(agrees(*pair) for pair in zip(exact, found, strict=True)):
            notes.note(Rule.COST, kind + (f" of {move}" if move else ""), "pence differ from the rates",
                       expected=_told(exact), found=_told(found))  # fmt: skip


def _told(amounts: Sequence[float]) -> str:
    return " + ".join(str(rounded(amount)) for amount in amounts) or "no line"


def rounded(amount: float) -> int:
    """Return whole pence, half up."""
    return floor(amount + 0.5)


def agrees(exact: float, stated: float) -> bool:
    """Return whether the stated pence are the exact amount rounded half up."""
    return stated in (rounded(exact - TOLERANCE), rounded(exact + TOLERANCE))


def _hired(day: Day, run: Run) -> Lines:
    """The larger of the minimum and base plus miles."""
    assert run.itinerary.carrier is not None
    carrier, move = day.carrier_of[run.itinerary.carrier], day.move_of[run.itinerary.moves[0]]
    way = road(day, VehicleClass.CAR, move.origin, move.destination)
    miles = way.metres / METRES_A_MILE if way is not None else 0.0
    amount = max(carrier.minimum_pence, carrier.base_pence + carrier.pence_per_mile * miles)
    stated_move = run.costs[0].move if run.costs else None  # a line may name its one move or be the run's
    return {(CostKind.HIRED, stated_move if stated_move == move.move_id else None): [amount]}


def _own(day: Day, run: Run, script: Script, done: Sequence[Done]) -> Lines:
    lines: Lines = defaultdict(list)
    _people(day, run, lines)
    tasks = tasks_of(run, script)
    legs = list(_legs(day, script, list(zip(tasks, done, strict=True))))
    _vehicles(day, script, legs, lines)
    _charges(day, legs, lines)
    _extras(day, run, tasks, lines)
    return lines


def _people(day: Day, run: Run, lines: Lines) -> None:
    """Wages, overtime, night premium and nights out of each driver."""
    rests = [step for step in run.activities if step.kind is ActivityKind.REST and step.end_min - step.start_min >= 540]
    duty = run.end_min - run.start_min - sum(step.end_min - step.start_min for step in rests)
    spans, at_min = [], run.start_min
    for step in rests:
        spans.append((at_min, step.start_min))
        at_min = step.end_min
    spans.append((at_min, run.end_min))
    for name in filter(None, (run.itinerary.driver, run.itinerary.support_driver)):
        wage = day.rates.wages[day.driver_of[name].role]
        per_min = float(wage.pence_per_hour) / 60 * (float(wage.weekend_factor) if day.rates.is_weekend else 1)
        lines[CostKind.WAGES, None].append(max(duty, wage.minimum_shift_min) * per_min)
        over = max(0, duty - wage.overtime_after_min)
        lines[CostKind.OVERTIME, None].append(over * per_min * (float(wage.overtime_factor) - 1))
        night = sum(_overlap(day, span, wage) for span in spans)
        lines[CostKind.NIGHT_PREMIUM, None].append(night * float(wage.night_extra_pence_per_hour) / 60)
    crew = sum(name is not None for name in (run.itinerary.driver, run.itinerary.support_driver))
    lines[CostKind.NIGHT_OUT, None].append(float(day.rates.night_out_pence) * run.nights * crew)


def _overlap(day: Day, span: tuple[int, int], wage: Wage) -> int:
    """Return how many minutes of the span the wall clock shows inside the night stretch; equal ends hold all day."""
    first, last = (day.clock.local(minute).date() for minute in span)
    runs_over = wage.night_to_min <= wage.night_from_min
    total = 0
    for number in range(-1, (last - first).days + 1):
        on = first + timedelta(days=number)
        from_min = _at(day, on, wage.night_from_min)
        to_min = _at(day, on + timedelta(days=1) if runs_over else on, wage.night_to_min)
        total += max(0, min(span[1], to_min) - max(span[0], from_min))
    return total


def _at(day: Day, on: date, wall_min: int) -> int:
    """Return the minute at which the clock on the wall shows ``wall_min``; a time that is skipped counts an hour later."""
    days, rest_min = divmod(wall_min, 1440)
    try:
        return day.clock.minute(time(rest_min // 60, rest_min % 60), day=on + timedelta(days=days))
    except SkippedTime:
        return _at(day, on, wall_min + 60)


def _legs(day: Day, script: Script, pairs: Sequence[tuple[Task, Done]]) -> Iterator[Driven]:
    """Yield every leg under every vehicle that drives it; a support car follows each sold car."""
    for task, item in pairs:
        if task.road is None:
            continue
        load_kg = sum(day.move_of[move].car.mass_kg for move in task.aboard) if task.by == "transporter" else 0
        yield Driven(task.driven or task.by, task.driven, task.road, item.start_min, item.end_min, load_kg)
        if task.driven is not None and script.itinerary.support_driver is not None:
            follows = road(day, VehicleClass.CAR, task.origin, task.destination)
            if follows is not None:
                yield Driven("support car", None, follows, item.start_min, item.end_min, 0)


def _vehicles(day: Day, script: Script, legs: Sequence[Driven], lines: Lines) -> None:
    """Fuel or charge of every vehicle; running cost and the day of a transporter or support car."""
    groups: dict[str, list[Driven]] = defaultdict(list)
    for leg in legs:
        groups[leg.vehicle].append(leg)
    transporter = script.transporter
    for vehicle, own in groups.items():
        move = own[0].move
        full_kg = 0
        if move is not None:
            car = day.move_of[move].car
            fuel, curve = car.fuel, curve_of_car(car)
        elif vehicle == "support car" or transporter is None:
            fuel, curve = Fuel.PETROL, SUPPORT_CAR
        else:
            fuel = Fuel.ELECTRIC if transporter.is_electric else Fuel.DIESEL
            curve, full_kg = curve_of_transporter(transporter), transporter.payload_kg
        price = _fuel_price(day, fuel)
        kind = CostKind.CHARGE if fuel is Fuel.ELECTRIC else CostKind.FUEL
        lines[kind, move].append(price * sum(_consumed(leg, curve, full_kg) for leg in own))
        if move is None:
            running = day.rates.running[own[0].way.vehicle_class]
            lines[CostKind.RUNNING, None].append(sum(
                leg.way.metres / 1000 * float(running.pence_per_km) + leg.way.wheel_s / 3600 * float(running.pence_km_per_hour)
                for leg in own
            ))  # fmt: skip
    used = [transporter.vehicle_class] if transporter is not None else []
    used += [VehicleClass.CAR] if script.itinerary.support_driver is not None else []
    lines[CostKind.VEHICLE_DAY, None] += [float(day.rates.running[one].day_pence) for one in used]


def _fuel_price(day: Day, fuel: Fuel) -> float:
    if fuel is Fuel.HYBRID and fuel not in day.rates.fuel_pence:
        fuel = Fuel.PETROL
    return float(day.rates.fuel_pence[fuel])


def _consumed(leg: Driven, curve: FuelCurve, full_kg: int) -> float:
    """Return litres or kWh of one leg: the curve at its mean speed, more with load aboard."""
    if leg.way.wheel_s <= 0:  # all of it aboard a ferry
        return 0.0
    km, hours = leg.way.metres / 1000, leg.way.wheel_s / 3600
    kmh = min(max(km / hours, curve.slowest_kmh), curve.fastest_kmh)
    per_km = curve.a / kmh + curve.b + curve.c * kmh + curve.d * kmh**2
    laden = leg.load_kg / full_kg if full_kg else 0.0
    return km * per_km * (1 + (curve.full_load_factor - 1) * laden)


def _charges(day: Day, legs: Sequence[Driven], lines: Lines) -> None:
    """Tolls and ferries at each passage; a zone once a vehicle, at the dearest minute of its legs."""
    known = {charge.key: charge for charge in day.charges}
    zones: dict[tuple[str, MoveId | None, str], float] = defaultdict(float)
    for leg in legs:
        for key in leg.way.charges:
            charge = known[key]
            if charge.kind is ChargeKind.ZONE:
                zone = (leg.vehicle, leg.move, key)
                minutes = range(leg.start_min, leg.end_min + 1)
                zones[zone] = max(zones[zone], *(_price(charge, leg.way.vehicle_class, minute) for minute in minutes))
            else:
                lines[KIND_OF[charge.kind], leg.move].append(_price(charge, leg.way.vehicle_class, leg.start_min))
    for (_, move, _), pence in zones.items():
        lines[CostKind.ZONE, move].append(pence)


def _price(charge: Charge, vehicle_class: VehicleClass, minute: int) -> float:
    """Return the price of the first band of the class that holds at that minute of the day, 0 without one."""
    wall = minute % 1440
    for band in charge.bands:
        if band.vehicle_class is not vehicle_class:
            continue
        if band.from_min == band.to_min:
            return band.pence
        runs_over = band.from_min > band.to_min
        inside = (wall >= band.from_min or wall < band.to_min) if runs_over else band.from_min <= wall < band.to_min
        if inside:
            return band.pence
    return 0


def _extras(day: Day, run: Run, tasks: Sequence[Task], lines: Lines) -> None:
    """Plates, fares, re-valet and fall in value."""
    rates = day.rates
    if run.kind is RunKind.PLATE:
        lines[CostKind.PLATES, None].append(float(rates.plate_day_pence))
    lines[CostKind.FARE, None] += [task.fare_pence for task in tasks if task.kind is ActivityKind.RIDE]
    for task in tasks:
        if task.driven is None or task.road is None:
            continue
        lines[CostKind.VALUE_FALL, task.driven].append(task.road.metres / 1000 * float(rates.value_fall_pence_per_km))
        if day.move_of[task.driven].kind is MoveKind.DELIVERY:
            lines[CostKind.REVALET, task.driven].append(float(rates.revalet_pence))
