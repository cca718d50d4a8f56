"""
Fuel curves: how much a kilometre takes, by kind of vehicle and mean speed, as published and dated.

Litres (kWh for electric) a kilometre are ``a/v + b + c v + d v**2`` at ``v`` km/h: Department for Transport, TAG unit
A1.3, "User and provider impacts", data book tables A1.3.8 (2010 base) and A1.3.11 (release of May 2023, v1.21).  Speeds
are held within the range for which the curves were fitted (cars 10-130, vans 10-120, diesel vans 10-110 km/h).

The published rows are averages over ordinary loads; the load ratio that lies on top of them comes from the UK
Government greenhouse gas conversion factors 2025 (goods vehicles 0% and 100% laden), where 50% laden is the mean of the
two, which is why consumption may be taken as linear in mass.
"""

from dataclasses import replace

from planner.model.cars import Car, Fuel
from planner.model.crews import Transporter, VehicleClass
from planner.model.rates import FuelCurve

#: The release and the row of the TAG data book, as the name says.
TAG_CURVES: dict[str, FuelCurve] = {
    "petrol car, May 2023": FuelCurve(
        a=0.451946800, b=0.096046026, c=-0.001094078, d=0.000007246, slowest_kmh=10, fastest_kmh=130
    ),
    "diesel car, May 2023": FuelCurve(
        a=0.481912969, b=0.069094402, c=-0.000664707, d=0.000005238, slowest_kmh=10, fastest_kmh=130
    ),
    "electric car, May 2023": FuelCurve(a=0, b=0.220656352, c=0, d=0, slowest_kmh=10, fastest_kmh=130),
    "petrol car, 2010 base": FuelCurve(
        a=1.11932239320862, b=0.0440047704089497, c=-0.0000813834474888197, d=0.00000244908328418021,
        slowest_kmh=10, fastest_kmh=130,
    ),
    "diesel car, 2010 base": FuelCurve(
        a=0.492145560354439, b=0.0621819673117346, c=-0.000590984065596694, d=0.00000464689042740593,
        slowest_kmh=10, fastest_kmh=130,
    ),
    "petrol van, 2010 base": FuelCurve(
        a=1.9508327694036, b=0.0345279785832351, c=0.0000679867603539223, d=0.00000371489958706489,
        slowest_kmh=10, fastest_kmh=120,
    ),
    "diesel van, 2010 base": FuelCurve(
        a=1.39688349613763, b=0.0334774003427366, c=-0.000229977888526145, d=0.00000767319942399065,
        slowest_kmh=10, fastest_kmh=110,
    ),
    "OGV1, 2010 base": FuelCurve(
        a=1.431445529, b=0.258021379, c=-0.003906637, d=0.0000336231, slowest_kmh=10, fastest_kmh=110
    ),
    "OGV2, 2010 base": FuelCurve(
        a=2.670111055, b=0.557155643, c=-0.007976139, d=0.0000600353, slowest_kmh=10, fastest_kmh=110
    ),
}  # fmt: skip

#: Electric van: 0.33636 kWh/km, an assumption of a published network model, not a row of the data book.
ELECTRIC_VAN = FuelCurve(a=0, b=0.33636, c=0, d=0, slowest_kmh=10, fastest_kmh=120)

#: kWh that do the work of a litre of diesel in a lorry: our own assumption, the data book has no electric lorry.
KWH_A_LITRE_OF_DIESEL = 4.0

#: A hybrid against a petrol car: kg CO2e a km of the average car, greenhouse gas conversion factors 2025.
HYBRID_AGAINST_PETROL = 0.12825 / 0.16272

#: kg CO2e a km at 0% and 100% laden, greenhouse gas conversion factors 2025, by maximum mass in kg.
RIGID_LADEN: tuple[tuple[int, float, float], ...] = (
    (7_500, 0.46138, 0.54068),
    (17_000, 0.55061, 0.70603),
    (1_000_000, 0.77400, 1.10905),
)
ARTICULATED_LADEN: tuple[tuple[int, float, float], ...] = ((33_000, 0.62775, 0.93552), (1_000_000, 0.64734, 1.06921))

#: The diesel row that speaks for a whole class, where one figure is enough.
CLASS_ROWS = {
    VehicleClass.CAR: "diesel car, May 2023",
    VehicleClass.GOODS_3500: "diesel van, 2010 base",
    VehicleClass.GOODS_7500: "OGV1, 2010 base",
    VehicleClass.GOODS_HEAVY: "OGV2, 2010 base",
}

#: Above this mass a vehicle or combination needs a fourth axle (SI 1998/3111, from memory) and counts as OGV2.
THREE_AXLES_KG = 26_000

#: Litres that a diesel tank and kWh that a battery usually hold, by maximum mass in kg: common practice, from memory.
USUAL_TANKS: tuple[tuple[int, int, int], ...] = (
    (3_500, 70, 65),
    (7_500, 120, 90),
    (18_000, 200, 250),
    (1_000_000, 400, 400),
)

SUPPORT_CAR = TAG_CURVES["petrol car, May 2023"]


def curve_of_car(car: Car) -> FuelCurve:
    """Return the curve of a car that is driven, empty."""
    if car.is_van:
        return _van(car.fuel)
    if car.fuel is Fuel.HYBRID:
        return _times(TAG_CURVES["petrol car, May 2023"], HYBRID_AGAINST_PETROL)
    return TAG_CURVES[f"{car.fuel} car, May 2023"]


def curve_of_class(vehicle_class: VehicleClass) -> FuelCurve:
    """Return the diesel curve that stands for a class, empty; a single vehicle has its own."""
    return TAG_CURVES[CLASS_ROWS[vehicle_class]]


def curve_of_transporter(transporter: Transporter) -> FuelCurve:
    """
    Return the curve of a transporter by its mass with trailer, or the flat figure that was measured.

    A measured figure (litres, or kWh, for 100 km) holds for ordinary loads and speeds: nothing is added for either.
    """
    if transporter.litres_per_100km is not None:
        return FuelCurve(a=0, b=transporter.litres_per_100km / 100, c=0, d=0, slowest_kmh=10, fastest_kmh=110)
    total_kg = transporter.gross_kg + transporter.trailer_kg
    if total_kg <= 3500:
        curve = ELECTRIC_VAN if transporter.is_electric else TAG_CURVES["diesel van, 2010 base"]
    else:
        curve = TAG_CURVES["OGV1, 2010 base" if total_kg <= THREE_AXLES_KG else "OGV2, 2010 base"]
        curve = _times(curve, KWH_A_LITRE_OF_DIESEL) if transporter.is_electric else curve
    return replace(curve, full_load_factor=full_load_factor(transporter))


def tank_litres(transporter: Transporter) -> int:
    """Return what its tank holds in litres, or its battery in kWh: as stated, else what is usual for its mass."""
    if transporter.tank_litres is not None:
        return transporter.tank_litres
    total_kg = transporter.gross_kg + transporter.trailer_kg
    litres, kwh = next((litres, kwh) for up_to_kg, litres, kwh in USUAL_TANKS if total_kg <= up_to_kg)
    return kwh if transporter.is_electric else litres


def full_load_factor(transporter: Transporter) -> float:
    """Return consumption with full payload over that when empty."""
    # A small trailer behind a small lorry behaves like the rigid of the same mass; the articulated rows start above it.
    total_kg = transporter.gross_kg + transporter.trailer_kg
    rows = ARTICULATED_LADEN if transporter.trailer_kg and total_kg > 7_500 else RIGID_LADEN
    return next(full / empty for up_to_kg, empty, full in rows if total_kg <= up_to_kg)


def _van(fuel: Fuel) -> FuelCurve:
    if fuel is Fuel.ELECTRIC:
        return ELECTRIC_VAN
    if fuel is Fuel.HYBRID:
        return _times(TAG_CURVES["petrol van, 2010 base"], HYBRID_AGAINST_PETROL)
    return TAG_CURVES[f"{fuel} van, 2010 base"]


def _times(curve: FuelCurve, factor: float) -> FuelCurve:
    return replace(curve, a=curve.a * factor, b=curve.b * factor, c=curve.c * factor, d=curve.d * factor)
