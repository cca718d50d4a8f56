"""
Town pairs: mileages and drive times of some 380 pairs, most of small towns, from memory, in four lists.

Each list was written before the network's answer to it was seen, and measured once before it was looked at; all
have been used since.  Whole miles of ten are good to a twentieth, minutes to a tenth.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from maps.told_pairs import beside
from planner.units import METRES_A_MILE


@pytest.fixture(scope="module")
def pairs():
    rows = list(csv.DictReader(Path(__file__).with_name("town_pairs.csv").read_text(encoding="utf-8").splitlines()))
    return beside([row | {"from": f"{row['from']} {row['from_lat']}", "to": f"{row['to']} {row['to_lat']}"} for row in rows])


def test_mileages_are_met_as_well_as_they_are_remembered(pairs):
    errors = np.array([metres / METRES_A_MILE / float(row["miles"]) - 1 for row, metres, _ in pairs])
    assert len(errors) > 370
    assert np.median(np.abs(errors)) < 0.033
    assert np.percentile(np.abs(errors), 90) < 0.105
    assert abs(np.median(errors)) < 0.015
    assert max(np.abs(errors)) < 0.26


def test_drive_times_are_met_as_well_as_they_are_remembered(pairs):
    errors = np.array([seconds / 60 / float(row["minutes"]) - 1 for row, _, seconds in pairs])
    assert np.median(np.abs(errors)) < 0.065
    assert np.percentile(np.abs(errors), 90) < 0.15
    assert abs(np.median(errors)) < 0.02


def test_no_pair_lacks_a_road(pairs):
    assert min(metres for _, metres, _ in pairs) > 0
