"""Warnings: what the office should know about a day whose files have no fault, as sentences for ``Day.notes``."""

from collections.abc import Iterator
from decimal import Decimal

from planner.model.cars import Fuel
from planner.model.day import Day
from planner.model.fuel import curve_of_transporter
from planner.model.moves import Move, MoveKind
from planner.units import pounds_text


def warnings(day: Day) -> tuple[str, ...]:
    """Return a sentence for each thing that will keep a plan from doing what the office expects."""
    return (*_no_road(day), *_cheap_to_leave(day), *_too_heavy(day))


def _no_road(day: Day) -> Iterator[str]:
    for move in day.moves:
        row, column = day.place_index[move.origin], day.place_index[move.destination]
        if all(table.metres[row, column] < 0 for table in day.tables.values()):
            yield (
                f"{move.move_id}: no road or ferry leads from {day.place_of[move.origin].name} to "
                f"{day.place_of[move.destination].name}; it stays behind."
            )


def _too_heavy(day: Day) -> Iterator[str]:
    carriers = day.carriers if day.policy.hired_carriers else ()
    payload_kg = max((transporter.payload_kg for transporter in day.transporters), default=0)
    hired_kg = max((carrier.max_mass_kg for carrier in carriers), default=0)
    for move in day.moves:
        if not move.may_be_driven and move.car.mass_kg > max(payload_kg, hired_kg):
            yield f"{move.move_id}: {move.car.mass_kg} kg must be carried, and nobody carries so much; it stays behind."


def _cheap_to_leave(day: Day) -> Iterator[str]:
    """Yield a sentence when leaving a delivery costs less than doing it alone the dearest way: money before promises."""
    short = [
        (cost, move) for move in day.moves
        if move.kind is MoveKind.DELIVERY and move.stays_behind_pence < (cost := dearest_alone_pence(day, move))
    ]  # fmt: skip
    if short:
        cost, move = max(short, key=lambda pair: pair[0])
        many = f"{len(short)} deliveries" if len(short) > 1 else "one delivery"
        yield (
            f"Leaving {many} behind may be cheaper than doing {'them' if len(short) > 1 else 'it'}: {move.move_id} alone may "
            f"cost {pounds_text(cost)}, leaving it {pounds_text(move.stays_behind_pence)}. "
            "Raise late_first_day_pence in policy.toml to put promises before money."
        )


def dearest_alone_pence(day: Day, move: Move) -> int:
    """
    Return what one move may cost when the dearest of our transporters does nothing else that day, in pence.

    There and back with full load factors, every hour at the dearest wage with overtime, a night out for each nine hours
    of driving after the first nine; tolls and ferries are not counted.  An upper estimate, for a warning only.
    """
    row, column = day.place_index[move.origin], day.place_index[move.destination]
    hourly = (one.pence_per_hour * one.overtime_factor * one.weekend_factor for one in day.rates.wages.values())
    wage = float(max(hourly, default=Decimal(0)))
    dearest = 0.0
    for transporter in day.transporters:
        table, running = day.tables[transporter.vehicle_class], day.rates.running[transporter.vehicle_class]
        metres, seconds = int(table.metres[row, column]), int(table.seconds[row, column])
        if metres <= 0 or seconds <= 0:
            continue
        km, hours = 2 * metres / 1000, 2 * seconds / 3600
        curve, fuel = curve_of_transporter(transporter), Fuel.ELECTRIC if transporter.is_electric else Fuel.DIESEL
        fuel_pence = float(day.rates.fuel_pence[fuel]) * curve.per_km(km / hours) * curve.full_load_factor * km
        wear = float(running.pence_per_km) * km + float(running.pence_km_per_hour) * hours + float(running.day_pence)
        nights = int(hours / 9) * float(day.rates.night_out_pence)
        dearest = max(dearest, fuel_pence + wear + nights + wage * (hours + 2))
    return round(dearest)
