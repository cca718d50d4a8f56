"""
Hospital miles: road distances between hospitals of England and Wales, as another engine routed them.

Source: the table of distances between stroke units in the public repository samuel-book/stroke_unit_demographics (Routino on
OpenStreetMap, quickest ways), every third of 1,482 pairs.  That engine readily takes motorways: where two ways take nearly
as long its own is the longer one, so that ours lie below theirs far more often than above.
"""

import csv
from pathlib import Path

import numpy as np

from maps.told_pairs import beside
from planner.units import METRES_A_MILE


def test_roads_between_hospitals_are_as_long_as_another_engine_has_them():
    rows = list(csv.DictReader(Path(__file__).with_name("hospital_miles.csv").read_text(encoding="utf-8").splitlines()))
    errors = np.array([metres / METRES_A_MILE / float(row["miles"]) - 1 for row, metres, _ in beside(rows)])
    assert len(errors) == 494
    assert np.median(np.abs(errors)) < 0.025
    assert np.percentile(np.abs(errors), 90) < 0.10
    assert abs(np.median(errors)) < 0.01
    # a road that lacked would make ours the longer
    assert np.percentile(errors, 90) < 0.035
    assert max(np.abs(errors)) < 0.41
