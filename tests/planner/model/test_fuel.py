"""Fuel curves against published figures: TAG unit A1.3 (data book, tables A1.3.8 and A1.3.11) and the 2025 load rows."""

from dataclasses import replace

import pytest

from planner.model.cars import Car, Fuel, Registration
from planner.model.crews import Transporter, TransporterId, VehicleClass
from planner.model.fuel import (
    ARTICULATED_LADEN,
    ELECTRIC_VAN,
    RIGID_LADEN,
    TAG_CURVES,
    curve_of_car,
    curve_of_class,
    curve_of_transporter,
)
from planner.model.places import PlaceId
from planner.model.rates import FuelCurve

# Litres a kilometre at 20, 40, 60, 80 and 100 km/h, worked from the published coefficients by other hands.
ORACLE = {
    "petrol car, May 2023": (0.099660, 0.075175, 0.064019, 0.060544, 0.063618),
    "diesel car, May 2023": (0.081991, 0.062935, 0.056101, 0.055465, 0.059823),
    "petrol car, 2010 base": (0.099323, 0.072651, 0.066594, 0.067160, 0.071550),
    "diesel car, 2010 base": (0.076828, 0.058281, 0.051654, 0.050795, 0.054474),
    "petrol van, 2010 base": (0.134915, 0.091962, 0.084495, 0.088128, 0.097984),
    "diesel van, 2010 base": (0.101791, 0.071477, 0.070584, 0.081649, 0.101180),
    "OGV1, 2010 base": (0.264910, 0.191339, 0.168524, 0.178571, 0.217903),
    "OGV2, 2010 base": (0.555153, 0.400919, 0.339216, 0.336667, 0.386596),
}
CELLS = [(row, v, litres) for row, values in ORACLE.items() for v, litres in zip((20, 40, 60, 80, 100), values, strict=True)]


@pytest.mark.parametrize(("row", "kmh", "litres"), CELLS)
def test_curves_give_the_forty_published_values(row, kmh, litres):
    assert TAG_CURVES[row].per_km(kmh) == pytest.approx(litres, abs=1e-6)


def test_two_hundred_miles_at_80_kmh():
    """Derived from the same rows: 321.8688 km in a petrol car 19.4871 litres, in a diesel van 26.2802."""
    assert 321.8688 * TAG_CURVES["petrol car, May 2023"].per_km(80) == pytest.approx(19.4871, abs=1e-3)
    assert 321.8688 * TAG_CURVES["diesel van, 2010 base"].per_km(80) == pytest.approx(26.2802, abs=1e-3)


@pytest.mark.parametrize(
    ("row", "pence", "a_litre"),
    [
        ("petrol car, May 2023", (46.5445617051, 9.8914743574, -0.1126756231, 0.0007462416), 103.0),
        ("diesel car, May 2023", (51.1465198535, 7.3331460950, -0.0705469083, 0.0005559132), 106.1),
    ],
)
def test_pence_a_km_over_litres_a_km_is_one_price_of_a_litre(row, pence, a_litre):
    """TAG table A1.3.13 (2015) prices the same curves: each coefficient over ours is the same pence a litre."""
    curve = TAG_CURVES[row]
    for theirs, ours in zip(pence, (curve.a, curve.b, curve.c, curve.d), strict=True):
        assert theirs / ours == pytest.approx(a_litre, abs=0.15)


@pytest.mark.parametrize(("row", "curve"), [*TAG_CURVES.items(), ("electric van", ELECTRIC_VAN)])
def test_consumption_is_always_positive(row, curve):
    assert all(curve.per_km(kmh) > 0 for kmh in range(1, 200)), row


def test_the_misprinted_van_row_would_be_caught():
    """A row printed with a typing error (0.40392, 0.15318, -0.00467, 0.000033) gives negative litres near 70 km/h."""
    misprint = FuelCurve(a=0.40392, b=0.15318, c=-0.00467, d=0.000033, slowest_kmh=10, fastest_kmh=130)
    assert min(misprint.per_km(kmh) for kmh in range(10, 131)) < 0


@pytest.mark.parametrize("row", ["petrol car, May 2023", "diesel car, May 2023", "petrol car, 2010 base", "diesel car, 2010 base"])
def test_cars_use_least_between_60_and_90_kmh(row):
    assert 60 <= min(range(10, 131), key=TAG_CURVES[row].per_km) <= 90


def test_speed_is_held_within_the_range_of_the_fit():
    """Ranges used with these curves: cars 10-130 km/h, diesel vans 10-110."""
    car, van = TAG_CURVES["petrol car, May 2023"], TAG_CURVES["diesel van, 2010 base"]
    assert car.per_km(3) == car.per_km(10)
    assert car.per_km(190) == car.per_km(130)
    assert van.per_km(125) == van.per_km(110)


@pytest.mark.parametrize(
    ("empty", "half", "full", "row"),
    [
        (0.46138, 0.50103, 0.54068, RIGID_LADEN[0]),
        (0.55061, 0.62832, 0.70603, RIGID_LADEN[1]),
        (0.77400, 0.94152, 1.10905, RIGID_LADEN[2]),
        (0.62775, 0.78163, 0.93552, ARTICULATED_LADEN[0]),
        (0.64734, 0.85827, 1.06921, ARTICULATED_LADEN[1]),
    ],
)
def test_half_a_load_burns_the_mean_of_none_and_full(empty, half, full, row):
    """UK Government greenhouse gas conversion factors 2025, HGV diesel a km at 0%, 50%, 100% laden."""
    assert row[1:] == (empty, full)
    assert (empty + full) / 2 == pytest.approx(half, abs=1e-5)


def transporter(**changes: object) -> Transporter:
    return replace(
        Transporter(transporter_id=TransporterId("T"), name="T", registration="T", base=PlaceId("P"), deck="d", gross_kg=7500,
                    payload_kg=3000, slots=2), **changes,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("gross_kg", "trailer_kg", "row", "factor"),
    [
        (3500, 0, "diesel van, 2010 base", 0.54068 / 0.46138),
        (7500, 0, "OGV1, 2010 base", 0.54068 / 0.46138),
        (3500, 3500, "OGV1, 2010 base", 0.54068 / 0.46138),
        (12_000, 0, "OGV1, 2010 base", 0.70603 / 0.55061),
        (18_000, 0, "OGV1, 2010 base", 1.10905 / 0.77400),
        (26_000, 0, "OGV1, 2010 base", 1.10905 / 0.77400),
        (18_000, 14_000, "OGV2, 2010 base", 0.93552 / 0.62775),
        (20_000, 20_000, "OGV2, 2010 base", 1.06921 / 0.64734),
    ],
)
def test_transporters_find_their_row_by_mass(gross_kg, trailer_kg, row, factor):
    curve = curve_of_transporter(transporter(gross_kg=gross_kg, trailer_kg=trailer_kg))
    assert curve.per_km(70) == TAG_CURVES[row].per_km(70)
    assert curve.full_load_factor == pytest.approx(factor)


def test_each_class_has_a_diesel_row():
    """The oracle's values at 80 km/h."""
    found = [curve_of_class(vehicle_class).per_km(80) for vehicle_class in VehicleClass]
    assert found == pytest.approx([0.055465, 0.081649, 0.178571, 0.336667], abs=1e-6)


def test_a_measured_figure_replaces_curve_and_load():
    curve = curve_of_transporter(transporter(litres_per_100km=21.5))
    assert (curve.per_km(20), curve.per_km(90), curve.full_load_factor) == (0.215, 0.215, 1.0)


def test_an_electric_van_takes_its_kwh_and_an_electric_lorry_four_for_a_litre():
    assert curve_of_transporter(transporter(gross_kg=3500, is_electric=True)).per_km(50) == 0.33636
    lorry = curve_of_transporter(transporter(is_electric=True))
    assert lorry.per_km(80) == pytest.approx(4 * 0.178571, abs=1e-5)


def test_sold_cars_find_their_row_by_fuel_and_kind():
    car = Car(registration=Registration("AB12CDE"), make_model="Ardent", mass_kg=1300, length_mm=4300, height_mm=1500)
    rows = {
        (Fuel.PETROL, False): 0.060544, (Fuel.DIESEL, False): 0.055465, (Fuel.ELECTRIC, False): 0.220656,
        (Fuel.PETROL, True): 0.088128, (Fuel.DIESEL, True): 0.081649, (Fuel.ELECTRIC, True): 0.33636,
        # The average car's 2025 factors: hybrid 0.12825 and petrol 0.16272 kg CO2e a km.
        (Fuel.HYBRID, False): 0.060544 * 0.12825 / 0.16272, (Fuel.HYBRID, True): 0.088128 * 0.12825 / 0.16272,
    }  # fmt: skip
    for (fuel, is_van), litres in rows.items():
        assert curve_of_car(replace(car, fuel=fuel, is_van=is_van)).per_km(80) == pytest.approx(litres, abs=1e-6)
