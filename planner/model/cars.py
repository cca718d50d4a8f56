"""
Cars: what is carried or driven, with the sizes and masses that decide how.

Sizes are millimetres, masses kilograms (kerb mass: ready to drive, without driver), money whole pence.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import NewType

Registration = NewType("Registration", str)


class Fuel(StrEnum):
    """What moves a car."""

    PETROL = "petrol"
    DIESEL = "diesel"
    HYBRID = "hybrid"
    ELECTRIC = "electric"

    @property
    def is_high_voltage(self) -> bool:
        """Whether the car has orange cables that nobody touches."""
        return self in (Fuel.HYBRID, Fuel.ELECTRIC)


def plain_registration(text: str) -> Registration:
    """
    Return a registration or stock number in capitals without spaces, as it is compared.

    >>> plain_registration(" ab12 cde ")
    'AB12CDE'
    """
    return Registration("".join(text.upper().split()))


#: Figures between which a car's own must be to be believed; beyond them it is a slip of the unit or of the keyboard.
BELIEVED = {
    "mass_kg": (300, 5_000),
    "length_mm": (2_000, 8_000),
    "height_mm": (900, 3_500),
    "width_mm": (1_200, 2_600),
    "ground_clearance_mm": (40, 600),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Car:
    """One car; ``assumed`` names the fields taken from the table of body classes because the file left them out."""

    registration: Registration
    make_model: str
    mass_kg: int
    length_mm: int
    height_mm: int
    width_mm: int = 1850
    fuel: Fuel = Fuel.PETROL
    mileage: int | None = None
    value_pence: int | None = None
    range_m: int | None = None  # how far it can go on what is in it; None when nobody said
    may_be_driven: bool = True  # false without a valid MOT, with a warning light, or with a fault found
    is_van: bool = False
    ground_clearance_mm: int | None = None
    equipment: tuple[str, ...] = ()
    vin: str = ""  # vehicle identification number, ISO 3779; empty when nobody said
    condition: str = ""  # marks and faults known when it was sold, or appraised
    assumed: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name in ("mass_kg", "length_mm", "height_mm", "width_mm"):
            if getattr(self, name) <= 0:
                raise ValueError(f"Expected {name} > 0, got {getattr(self, name)}.")
