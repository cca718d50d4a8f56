"""How people, cars, places, times and distances read on paper; the one place that shortens a buyer's name."""

import math
from functools import lru_cache

from planner.model.cars import Car
from planner.model.day import Day
from planner.model.orders import Order
from planner.model.places import PlaceId, Window
from planner.runs.run import Run
from planner.sheets.words import Words
from planner.units import miles

NO_BREAK = "\u00a0"  # keeps the two halves of a postcode on one line


def short_name(full: str) -> str:
    """
    Return initial and surname, which is what a visit needs (facts: data on driver sheets, UK GDPR art. 5(1)(c)).

    >>> short_name("Ann Mary Example"), short_name("Example"), short_name("  ")
    ('A. Example', 'Example', '')
    """
    parts = full.split()
    return f"{parts[0][0]}. {parts[-1]}" if len(parts) > 1 else "".join(parts)


def plate(registration: str) -> str:
    """
    Return a registration as it is read aloud: a space before the last three when it is a current-style mark.

    >>> plate("AB12CDE"), plate("STOCK417")
    ('AB12 CDE', 'STOCK417')
    """
    current = len(registration) == 7 and registration[:2].isalpha() and registration[2:4].isdigit() and registration[4:].isalpha()
    return f"{registration[:4]} {registration[4:]}" if current else registration


def car_text(car: Car) -> str:
    """Return registration and model."""
    return f"{plate(car.registration)} {car.make_model}"


def window_text(day: Day, window: Window | None) -> str:
    """Return a window as two wall times, empty when there is none."""
    return "" if window is None else f"{day.clock.wall(window.opens_min)}-{day.clock.wall(window.closes_min)}"


def miles_text(words: Words, metres: float) -> str:
    """Return a distance in whole miles."""
    return words("unit.miles", miles=round(miles(metres)))


@lru_cache(maxsize=4)
def _towns(day: Day) -> dict[PlaceId, str]:
    """Return the town of each door: the last line of the buyer's address that is not the postcode."""
    found = {}
    for order in (*day.held, *day.orders):
        lines = [line.strip() for line in order.buyer.address if line.strip() and line.strip() != order.door.postcode]
        if lines:
            found[order.door.place_id] = lines[-1]
    return found


def place_name(day: Day, place_id: PlaceId) -> str:
    """Return a place as people call it: its name, or the town of a door that is known by its postcode alone."""
    place = day.place_of[place_id]
    return _towns(day).get(place_id, place.name) if place.name == place.postcode else place.name


def place_text(day: Day, place_id: PlaceId) -> str:
    """Return a place by its name and its postcode, once."""
    name, postcode = place_name(day, place_id), day.place_of[place_id].postcode
    return name if name == postcode else f"{name} {postcode}".strip()


def height_text(height_mm: int) -> str:
    """
    Return a height in metres, the last centimetre counted whole: no bridge is met by a sheet that rounds down.

    >>> height_text(4190), height_text(4191)
    ('4.19', '4.20')
    """
    return f"{math.ceil(height_mm / 10) / 100:.2f}"


def address_lines(day: Day, place_id: PlaceId, order: Order | None) -> tuple[str, ...]:
    """Return the address of a visit, line by line, the postcode last and once."""
    place, compound = day.place_of[place_id], day.compound_of.get(place_id)
    if compound is not None:
        lines: tuple[str, ...] = (place.name, *compound.address)
    else:
        lines = order.buyer.address if order is not None and order.buyer.address else (place.name,)
    kept = tuple(dict.fromkeys(line.strip() for line in lines if line.strip() and line.strip() != place.postcode))
    return (*kept, place.postcode.replace(" ", NO_BREAK)) if place.postcode else kept


def crew_name(day: Day, run: Run) -> str:
    """Return who does a run: the driver or drivers, or the hired carrier."""
    itinerary = run.itinerary
    if itinerary.carrier is not None:
        return day.carrier_of[itinerary.carrier].name
    return " + ".join(day.driver_of[driver].name for driver in itinerary.drivers)


def vehicle_name(day: Day, run: Run, words: Words) -> str:
    """Return what the crew works with."""
    itinerary = run.itinerary
    if itinerary.carrier is not None:
        return words("vehicle.hired")
    if itinerary.transporter is None:
        return words("vehicle.support_car") if itinerary.support_driver else words("vehicle.plates")
    transporter = day.transporter_of[itinerary.transporter]
    return f"{transporter.name} ({plate(transporter.registration)})"
