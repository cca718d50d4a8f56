"""Classes of charges on the tariff map, and what the map is drawn with."""

from datetime import date
from itertools import combinations, pairwise

import numpy as np
import pytest

from maps.tariff_map import LIGHT_TO_DARK, Cell, _edges, charge_map, day_map


def squares(charges, edges):
    """How far charges are from the mean of their class, squared and summed."""
    found = 0.0
    for low, high in edges:
        own = np.array([charge for charge in charges if low <= charge <= high], float)
        found += float(((own - own.mean()) ** 2).sum())
    return found


@pytest.mark.parametrize("seed", range(8))
def test_no_other_classes_are_nearer_together(seed):
    """Every way to part the charges into as many classes is tried."""
    rng = np.random.default_rng(seed)
    charges = (rng.choice([0, 99, 149, 210, 233, 260, 290, 300, 349, 400, 410], 40, p=None) * 100).tolist()
    found, values = _edges(charges), sorted(set(charges))
    assert len(found) == min(len(LIGHT_TO_DARK), len(values))
    ways = []
    for cuts in combinations(range(1, len(values)), len(found) - 1):
        ends = (0, *cuts, len(values))
        ways.append(squares(charges, [(values[start], values[end - 1]) for start, end in pairwise(ends)]))
    assert squares(charges, found) == pytest.approx(min(ways))


def test_the_bands_of_a_tariff_stand_apart():
    """Free, 99 and 149 pounds are what most cells pay; one class for all of them told nobody anything."""
    charges = [0] * 5 + [9900] * 80 + [14900] * 190 + list(range(23200, 34900, 100)) + [34900] * 40
    assert _edges(charges)[:3] == [(0, 0), (9900, 9900), (14900, 14900)]
    assert _edges([]) == []
    assert _edges([9900] * 3) == [(9900, 9900)]


def test_the_key_counts_every_cell():
    cells = [
        Cell(lng=-1.5 + 0.4 * number, lat=53.0, charge_pence=charge, day=on)
        for number, (charge, on) in enumerate([(0, date(2026, 11, 27)), (9900, date(2026, 11, 28)), (9900, None), (None, None)])
    ]
    drawn = charge_map(cells)
    assert all(said in drawn for said in ("free (1)", "£99 (2)", "by arrangement (1)"))
    assert all(said in day_map(cells) for said in ("Friday 27 November (1)", "Saturday 28 November (1)", "no day is promised (2)"))
