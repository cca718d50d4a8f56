"""The car a salesperson names in a few words: a body class, a fuel, a mass, as far as they are known."""

import re
from dataclasses import replace

from planner.desk.intake_cars import SIZES, body_classes, body_key
from planner.desk.intake_cells import closest
from planner.faults import PlannerError
from planner.model.cars import Car, Fuel, Registration

USUAL_BODY = "hatchback"


class UnknownCar(PlannerError):
    """Words that do not say what kind of car is meant."""

    def __init__(self, text: str, says: str) -> None:
        self.text = text
        super().__init__(f"--car {text!r}: {says}")


def car_of(text: str = "") -> Car:
    """
    Return the car that ``text`` names; sizes and fuel that it leaves open are those of the body class, and ``assumed``.

    Raises
    ------
    UnknownCar
        If the body is not in the table or the mass is none a car has.

    >>> car_of("estate diesel 1800 kg").mass_kg
    1800

    """
    words = text.casefold()
    mass = re.search(r"(\d+(?:\.\d+)?)\s*(kg|t)\b", words)
    words = words.replace(mass[0], " ") if mass else words
    fuel = next((kind for kind in Fuel if re.search(rf"\b{kind}\b", words)), None)
    name = body_key(words)  # "electric hatchback" is a class of its own
    if name not in body_classes():
        name = body_key(words.replace(str(fuel), " ") if fuel else words) or USUAL_BODY
    known = body_classes().get(name)
    if known is None:
        near = closest(name, body_classes())
        remedy = f"Did you mean {near}?" if near else f"Use one of: {', '.join(body_classes())}."
        raise UnknownCar(text, f"{name!r} is no body class that we know, so the car has no mass. {remedy}")
    car = Car(
        registration=Registration("QUOTE"),
        make_model=name.capitalize(),
        mass_kg=int(known["mass_kg"]),
        length_mm=int(known["length_mm"]),
        height_mm=int(known["height_mm"]),
        width_mm=int(known["width_mm"]),
        fuel=fuel or Fuel(known.get("fuel", "petrol")),
        is_van=bool(known.get("is_van")),
        assumed=SIZES if fuel else (*SIZES, "fuel"),
    )
    return _weighing(car, text, mass) if mass else car


def _weighing(car: Car, text: str, mass: "re.Match[str]") -> Car:
    kg = round(float(mass[1]) * (1000 if mass[2] == "t" else 1))
    if not 300 <= kg <= 5000:
        raise UnknownCar(text, f"{kg} kg is no mass of a car. Give it in kg, from 300 to 5000, or leave it out.")
    return replace(car, mass_kg=kg, assumed=tuple(name for name in car.assumed if name != "mass_kg"))
