"""Hill roads: 56 mileages of the Highlands, the Borders, the Pennines, Wales and the moors of the west, from memory."""

import csv
from pathlib import Path

import numpy as np

from maps.told_pairs import beside


def test_hill_roads_are_as_long_as_they_are_remembered():
    """Good to some 3% themselves; they were written down after the roads were built, and bends of links set by some of them."""
    rows = list(csv.DictReader(Path(__file__).with_name("hill_roads.csv").read_text(encoding="utf-8").splitlines()))
    errors = [metres / 1609.344 / float(row["miles"]) - 1 for row, metres, _ in beside(rows)]
    assert len(errors) == 56
    assert np.median(np.abs(errors)) < 0.04
    assert np.percentile(np.abs(errors), 90) < 0.065
    assert abs(np.median(errors)) < 0.02
    assert max(np.abs(errors)) < 0.1
