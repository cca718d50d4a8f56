"""The accuracy check: within what was promised against published figures, and its page is whole."""

import numpy as np
import pytest

from maps.roads import built_in
from maps.roads_check import Spread, check_bands, check_pairs, random_points, spreads
from maps.roads_check_page import page
from maps.times_check import check_times


@pytest.fixture(scope="module")
def checked():
    return check_pairs()


@pytest.fixture(scope="module")
def bands():
    return check_bands(150, 5)


def test_published_distances_are_met_within_what_was_promised(checked):
    """Mileages, most from memory: the promise is 4% and 10% at first, then 2.5% and 6%, and no pair more than 35% off."""
    whole = spreads(checked)[0]
    assert whole.count >= 94
    assert whole.median < 0.025
    assert whole.p90 < 0.08
    assert abs(whole.bias) < 0.01
    assert max(abs(each.error) for each in checked) < 0.25


def test_random_points_keep_to_the_published_bands(bands):
    """5,434 published random-point routes of 2015: circuity by straight km, door-to-door mph by road miles."""
    for band in bands:
        if band.pairs > 150:
            assert abs(band.error) < (0.08 if band.what == "circuity" else 0.10), band


def test_random_points_are_as_many_as_asked_and_all_apart():
    lng, _ = random_points(60, 11)
    assert len(lng) == 60
    assert len(np.unique(np.round(lng, 6))) == 60


def test_spreads_are_what_they_say():
    spread = Spread.of("some", [0.1, -0.2, 0.3])
    assert (spread.count, spread.median, spread.bias) == (3, pytest.approx(0.2), pytest.approx(0.1))


def test_the_page_names_the_worst_and_draws_every_class(checked, bands):
    timed = check_times()
    text = page(checked, spreads(checked), timed, bands, built_in())
    for worst in (max(checked, key=lambda each: abs(each.error)), max(timed, key=lambda each: abs(each.error))):
        assert f"{worst.origin}</td>" in text
        assert f"{worst.error:+.1%}" in text
    assert text.count("<circle") == len(checked)
    for name in ("motorway", "dual carriageway", "single carriageway", "minor", "ferry", "OpenStreetMap contributors"):
        assert name in text
    assert "http" not in text
