"""Cars of a row: what the file says about one, completed from the table of body classes, every assumption named."""

import tomllib
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from planner.desk.intake_cells import closest
from planner.desk.intake_table import Row
from planner.model.cars import Car, Fuel, plain_registration

SIZES = ("mass_kg", "length_mm", "height_mm", "width_mm")


@cache
def body_classes() -> dict[str, dict[str, Any]]:
    """Return the table of body classes by name: sizes in mm, mass in kg, and fuel and ``is_van`` where they follow."""
    return tomllib.loads(files(__package__).joinpath("body_classes.toml").read_text(encoding="utf-8"))


@lru_cache(maxsize=1000)
def body_key(text: str) -> str:
    """
    Return a body class as it is compared.

    >>> body_key("Small-SUV"), body_key("SUV small")
    ('small suv', 'small suv')
    """
    known = {frozenset(name.split()): name for name in body_classes()}
    words = text.casefold().replace("-", " ").replace("_", " ").split()
    return known.get(frozenset(words), " ".join(words))


def read_car(row: Row, prefix: str = "", *, may_be_driven: bool = True) -> Car | None:
    """
    Return the car that the columns with ``prefix`` describe, None when anything about it is at fault.

    Notes a problem for an unknown body class, and for sizes given neither by the row nor by a class.
    """
    columns = ("registration", "make_model", "body", *SIZES, "fuel", "vin", "mileage", "condition")
    body = row[f"{prefix}body"]
    known: dict[str, Any] = {}
    if body is not None:
        known = body_classes().get(body_key(body), {})
        if not known:
            near = closest(body_key(body), body_classes())
            advice = f"Did you mean {near}?" if near else f"Use one of: {', '.join(body_classes())}."
            row.refuse(f"{prefix}body", "this body class is not in the table", advice)
    _refuse_no_size(row, prefix, known)
    if any(f"{prefix}{column}" in row.faulty for column in columns):
        return None
    assumed = tuple(size for size in SIZES if row[f"{prefix}{size}"] is None)
    sizes = {size: row[f"{prefix}{size}"] or known[size] for size in SIZES if row[f"{prefix}{size}"] or size in known}
    fuel = row[f"{prefix}fuel"] or Fuel(known.get("fuel", Fuel.PETROL))
    return Car(
        registration=plain_registration(row[f"{prefix}registration"]),
        make_model=row[f"{prefix}make_model"],
        fuel=fuel,
        mileage=row[f"{prefix}mileage"],
        vin=row[f"{prefix}vin"],
        condition=row[f"{prefix}condition"],
        may_be_driven=may_be_driven,
        is_van=bool(known.get("is_van")),
        assumed=assumed if row[f"{prefix}fuel"] else (*assumed, "fuel"),
        **sizes,
    )


def _refuse_no_size(row: Row, prefix: str, known: dict[str, Any]) -> None:
    if known or f"{prefix}body" in row.faulty:
        return
    for size in ("mass_kg", "length_mm", "height_mm"):  # nobody types the width; a usual one stands in the model
        if row[f"{prefix}{size}"] is None and f"{prefix}{size}" not in row.faulty:
            row.refuse(f"{prefix}{size}", "neither this size nor a body class is given", "Give it, or fill in the body column.")


def assumed_note(order: str, car: Car) -> str:
    """Return the sentence that says what was assumed about a car, "" when nothing was."""
    if not car.assumed:
        return ""
    plain = [name.split("_")[0] for name in car.assumed]
    listed = plain[0] if len(plain) == 1 else f"{', '.join(plain[:-1])} and {plain[-1]}"
    return f"{order}: {listed} of the {car.make_model} ({car.registration}) assumed from its body class."
