"""The national grid against the Ordnance Survey's published worked example and against pyproj."""

import numpy as np
import pytest

from maps.national_grid import from_lng_lat, project, to_lng_lat, unproject


def dms(degrees, minutes, seconds):
    return degrees + minutes / 60 + seconds / 3600


def test_worked_example_of_the_ordnance_survey():
    """A guide to coordinate systems in Great Britain, annex C: Caister water tower, 52 39 27.2531 N 1 43 4.5177 E (OSGB36)."""
    lng, lat = dms(1, 43, 4.5177), dms(52, 39, 27.2531)
    easting, northing = project(np.array([lng]), np.array([lat]))
    assert float(easting[0]) == pytest.approx(651409.903, abs=0.002)
    assert float(northing[0]) == pytest.approx(313177.270, abs=0.002)
    back_lng, back_lat = unproject(np.array([651409.903]), np.array([313177.270]))
    assert float(back_lng[0]) == pytest.approx(lng, abs=1e-8)
    assert float(back_lat[0]) == pytest.approx(lat, abs=1e-8)


def test_within_five_metres_of_pyproj_all_over_the_country():
    pyproj = pytest.importorskip("pyproj")
    rng = np.random.default_rng(7)
    easting, northing = rng.uniform(80_000, 650_000, 2000), rng.uniform(10_000, 1_200_000, 2000)
    theirs = pyproj.Transformer.from_crs(27700, 4326, always_xy=True, only_best=False, allow_ballpark=True)
    lng, lat = to_lng_lat(easting, northing)
    their_lng, their_lat = theirs.transform(easting, northing)
    apart = np.hypot((lng - their_lng) * 111_320 * np.cos(np.radians(lat)), (lat - their_lat) * 111_320)
    assert apart.max() < 5
    east, north = from_lng_lat(lng, lat)
    assert np.hypot(east - easting, north - northing).max() < 0.02
