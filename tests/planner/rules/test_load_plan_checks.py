"""Figures for a loaded deck: forces of the standards, clearance over ramps."""

import pytest

from planner.rules.load_plan_checks import restraint


@pytest.mark.parametrize(("gross_kg", "forward", "basis"), [
    (7500, 14.1, "EN 12195-1"),  # 1,800 x 9.81 x 0.8
    (44000, 14.1, "EN 12195-1"),
    (3500, 17.7, "Safety of loads on vehicles (code of practice)"),  # 1,800 x 9.81 x 1.0; EN 12195-1 does not apply to 3,500 kg or less
])  # fmt: skip
def test_restraint_of_a_car_of_1800_kg(gross_kg, forward, basis):
    """EN 12195-1: 0.8 forward, 0.5 sideways and rearward; code of practice: 1.0, 0.5, 0.5 (from memory)."""
    force = restraint(1800, gross_kg)
    assert round(force.forward_kn, 1) == forward
    assert round(force.sideways_kn, 1) == round(force.rearward_kn, 1) == 8.8  # 1,800 x 9.81 x 0.5
    assert force.basis == basis
