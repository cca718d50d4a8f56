"""
Costing: what a timed run costs, a line for each reason, by the rules of DEVELOPERS.md, "How a run is priced".

Sums are made unrounded and rounded once, half up, where the line is made.  Fuel and running cost make one line for each
vehicle of the run; passages and rides one line each; lines of nothing are left out.  Lines that belong to one car
carry its move; :mod:`planner.runs.sharing` splits the rest.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal

from planner.faults import NoRate
from planner.model.cars import Fuel
from planner.model.crews import Driver, VehicleClass
from planner.model.day import Day
from planner.model.moves import MoveId, MoveKind
from planner.model.rates import RunningCost, Wage
from planner.model.travel import Charge, ChargeKind
from planner.runs.driven_legs import DrivenLeg, Vehicle, driven_legs
from planner.runs.run import ActivityKind, CostKind, CostLine, Run, RunKind
from planner.runs.shift import duty_min, night_min
from planner.units import hours_text, miles, pence

CHARGE_LINES = {ChargeKind.TOLL: CostKind.TOLL, ChargeKind.ZONE: CostKind.ZONE, ChargeKind.FERRY: CostKind.FERRY}


def price(day: Day, run: Run) -> tuple[CostLine, ...]:
    """
    Return what a timed run costs, a line for each reason.

    Returns
    -------
    tuple of CostLine
        Whole pence, none negative or zero; ``run.costs`` is not looked at.

    Raises
    ------
    NoRate
        If a wage role, a fuel or a vehicle class of the run has no rate on the day.

    """
    if run.kind is RunKind.HIRED:
        return _kept(_hired(day, run))
    legs = driven_legs(day, run)
    lines = [*_wages(day, run), *_vehicles(day, run, legs), *_passages(day, legs), *_fares(day, run)]
    if run.nights:
        people = 1 if run.itinerary.support_driver is None else 2
        amount = day.rates.night_out_pence * run.nights * people
        lines.append(CostLine(kind=CostKind.NIGHT_OUT, says=_times("night out", run.nights * people), pence=pence(amount)))
    if run.kind is RunKind.PLATE:
        lines.append(
            CostLine(kind=CostKind.PLATES, says="Trade plates and insurance, the day", pence=pence(day.rates.plate_day_pence))
        )
        lines += _driven_cars(day, legs)
    return _kept(lines)


def _kept(lines: Iterable[CostLine]) -> tuple[CostLine, ...]:
    return tuple(line for line in lines if line.pence)


def _times(what: str, count: int) -> str:
    return what.capitalize() if count == 1 else f"{what.capitalize()}, {count} times"


def _wages(day: Day, run: Run) -> Iterator[CostLine]:
    """Yield wages, overtime and night premium of everyone aboard."""
    duty = duty_min(run)
    for driver_id in run.itinerary.drivers:
        driver = day.driver_of[driver_id]
        wage = wage_of(day, driver)
        rate = wage.pence_per_hour * (wage.weekend_factor if day.rates.is_weekend else 1)
        paid = max(duty, wage.minimum_shift_min)
        over = max(0, duty - wage.overtime_after_min)
        says = f"{driver.name}, {driver.role}, {hours_text(paid)}"
        yield CostLine(kind=CostKind.WAGES, says=says, pence=pence(rate * paid / 60))
        yield CostLine(
            kind=CostKind.OVERTIME,
            says=f"{driver.name}, {hours_text(over)} above {hours_text(wage.overtime_after_min)}",
            pence=pence(rate * (wage.overtime_factor - 1) * over / 60),
        )
        if wage.night_extra_pence_per_hour:
            night = night_min(run, day.clock, wage)
            yield CostLine(
                kind=CostKind.NIGHT_PREMIUM,
                says=f"{driver.name}, {hours_text(night)} at night",
                pence=pence(wage.night_extra_pence_per_hour * night / 60),
            )


def wage_of(day: Day, driver: Driver) -> Wage:
    """Return what the driver earns on the day; raises :class:`NoRate`."""
    wage = day.rates.wages.get(driver.role)
    if wage is None:
        raise NoRate(f"wage for a {driver.role}", day.clock.day)
    return wage


def fuel_pence(day: Day, fuel: Fuel) -> Decimal:
    """Return the price of a litre or kWh on the day, a hybrid's as petrol when not given; raises :class:`NoRate`."""
    prices = day.rates.fuel_pence
    found = prices.get(fuel, prices.get(Fuel.PETROL) if fuel is Fuel.HYBRID else None)
    if found is None:
        raise NoRate(f"price of {'charging' if fuel is Fuel.ELECTRIC else fuel}", day.clock.day)
    return found


def running_cost(day: Day, vehicle_class: VehicleClass) -> RunningCost:
    """Return what moving a vehicle of that class costs beyond fuel and wages; raises :class:`NoRate`."""
    found = day.rates.running.get(vehicle_class)
    if found is None:
        raise NoRate(f"running cost for {vehicle_class}", day.clock.day)
    return found


def _vehicles(day: Day, run: Run, legs: Iterable[DrivenLeg]) -> Iterator[CostLine]:
    """Yield fuel of every vehicle, running cost and day of the transporter or the support car."""
    of_vehicle: dict[Vehicle, list[DrivenLeg]] = defaultdict(list)
    for leg in legs:
        of_vehicle[leg.vehicle].append(leg)
    for vehicle, own in of_vehicle.items():
        yield _fuel(day, vehicle, own)
        if vehicle.move is not None:
            continue
        metres, drive_s = sum(leg.metres for leg in own), sum(leg.drive_s for leg in own)
        rate = running_cost(day, vehicle.vehicle_class)
        amount = rate.pence_per_km * metres / 1000 + rate.pence_km_per_hour * drive_s / 3600
        yield CostLine(kind=CostKind.RUNNING, says=f"{vehicle.name}, {miles(metres):.1f} miles", pence=pence(amount))
    if run.itinerary.transporter is not None:
        transporter = day.transporter_of[run.itinerary.transporter]
        name, vehicle_class = transporter.name, transporter.vehicle_class
    elif run.itinerary.support_driver is not None:
        name, vehicle_class = "Support car", VehicleClass.CAR
    else:
        return
    day_pence = running_cost(day, vehicle_class).day_pence
    yield CostLine(kind=CostKind.VEHICLE_DAY, says=f"{name}, the day", pence=pence(day_pence))


def _fuel(day: Day, vehicle: Vehicle, legs: Iterable[DrivenLeg]) -> CostLine:
    burnt = sum(leg.burnt for leg in legs)
    is_electric = vehicle.fuel is Fuel.ELECTRIC
    each = fuel_pence(day, vehicle.fuel)
    return CostLine(
        kind=CostKind.CHARGE if is_electric else CostKind.FUEL,
        says=f"{vehicle.name}, {burnt:.1f} {'kWh' if is_electric else 'litres'} at {each.normalize():f}p",
        pence=pence(Decimal(burnt) * each),
        move=vehicle.move,
    )


def _passages(day: Day, legs: Iterable[DrivenLeg]) -> Iterator[CostLine]:
    """Yield tolls and ferries as they are met, then each zone once for a vehicle, at the dearest minute of its passages."""
    zones: dict[tuple[str, str], tuple[int, Charge, Vehicle]] = {}
    for leg in legs:
        for charge in charges_of(day, leg.charge_mask):
            amount = passage_pence(charge, leg)
            if charge.kind is ChargeKind.ZONE:
                key = (leg.vehicle.key, charge.key)
                if key not in zones or zones[key][0] < amount:
                    zones[key] = (amount, charge, leg.vehicle)
            else:
                yield _passage(charge, leg.vehicle, amount, f" at {day.clock.wall(leg.start_min)}")
    for amount, charge, vehicle in zones.values():
        yield _passage(charge, vehicle, amount, ", the day")


def passage_pence(charge: Charge, leg: DrivenLeg) -> int:
    """
    Return what one leg pays: a toll or ferry at its start, a zone at the dearest minute of it.

    Where on a leg a zone lies is not known: who starts before its hours and arrives within them pays.
    """
    vehicle_class = leg.vehicle.vehicle_class
    if charge.kind is ChargeKind.ZONE:
        return charge.dearest(vehicle_class, leg.start_min, leg.end_min)
    return charge.pence_at(vehicle_class, leg.start_min)


def _passage(charge: Charge, vehicle: Vehicle, amount: int, when: str) -> CostLine:
    return CostLine(kind=CHARGE_LINES[charge.kind], says=f"{charge.name}, {vehicle.name}{when}", pence=amount, move=vehicle.move)


def charges_of(day: Day, mask: int) -> tuple[Charge, ...]:
    """Return the charges whose bits stand in ``mask``."""
    return tuple(charge for bit, charge in enumerate(day.charges) if mask >> bit & 1) if mask else ()


def _fares(day: Day, run: Run) -> Iterator[CostLine]:
    for activity in run.activities:
        if activity.kind is ActivityKind.RIDE:
            row, column = day.place_index[activity.origin], day.place_index[activity.destination]
            ends = f"{day.place_of[activity.origin].name} to {day.place_of[activity.destination].name}"
            yield CostLine(kind=CostKind.FARE, says=ends, pence=int(day.rides.fare_pence[row, column]))


def _driven_cars(day: Day, legs: Iterable[DrivenLeg]) -> Iterator[CostLine]:
    """Yield cleaning after a driven delivery and what the added kilometres take off each driven car."""
    for leg in legs:
        move_id: MoveId | None = leg.vehicle.move
        if move_id is None:
            continue
        name = leg.vehicle.name
        if day.move_of[move_id].kind is MoveKind.DELIVERY:
            yield CostLine(kind=CostKind.REVALET, says=name, pence=pence(day.rates.revalet_pence), move=move_id)
        fall = day.rates.value_fall_pence_per_km * leg.metres / 1000
        says = f"{name}, {miles(leg.metres):.1f} added miles"
        yield CostLine(kind=CostKind.VALUE_FALL, says=says, pence=pence(fall), move=move_id)


def _hired(day: Day, run: Run) -> Iterator[CostLine]:
    assert run.itinerary.carrier is not None
    carrier = day.carrier_of[run.itinerary.carrier]
    for move_id in run.itinerary.moves:
        move = day.move_of[move_id]
        metres = int(day.tables[VehicleClass.CAR].metres[day.place_index[move.origin], day.place_index[move.destination]])
        amount = Decimal(carrier.base_pence) + Decimal(carrier.pence_per_mile) * Decimal(miles(metres))
        yield CostLine(
            kind=CostKind.HIRED,
            says=f"{carrier.name}, {miles(metres):.1f} miles",
            pence=pence(max(Decimal(carrier.minimum_pence), amount)),
            move=move_id,
        )
