"""Near points against the k-d tree of SciPy, inside and far outside the points."""

import numpy as np
import pytest
from scipy.spatial import cKDTree

from maps.near_points import NearPoints
from maps.roads import built_in
from maps.travel_joins import edge_points


@pytest.mark.parametrize("count", [1, 7, 64])
@pytest.mark.parametrize("square", [0.5, 3.0, 40.0])
def test_the_nearest_are_those_of_a_tree(count, square):
    rng = np.random.default_rng(count)
    points, asked = rng.uniform(0, 50, (500, 2)), rng.uniform(-60, 110, (300, 2))
    away, rows = NearPoints.of(points, square).nearest(asked, count)
    expected, known = cKDTree(points).query(asked, k=[*range(1, count + 1)])
    assert np.allclose(away, expected, atol=1e-9)
    assert np.array_equal(rows, known)


def test_equally_near_points_come_by_row():
    away, rows = NearPoints.of([[0, 0], [2, 0], [0, 0]], 1.0).nearest([[1.0, 0.0], [0.0, 0.0]], 3)
    assert rows.tolist() == [[0, 1, 2], [0, 2, 1]]
    assert away[1].tolist() == [0, 0, 2]


def test_fewer_points_than_asked_for_are_all_given():
    assert NearPoints.of([[5.0, 5.0]], 1.0).nearest([[0, 0]], 9)[1].tolist() == [[0]]


def test_the_roads_near_random_doors_are_those_of_a_tree():
    grid = edge_points(built_in()).near
    asked = np.random.default_rng(3).uniform([100_000, 50_000], [650_000, 900_000], (200, 2))
    away, rows = grid.nearest(asked, 64)
    expected, known = cKDTree(grid.points).query(asked, k=64)
    assert np.allclose(away, expected, atol=1e-6)
    close = np.diff(expected, axis=1) < 1e-6
    tied = np.pad(close, ((0, 0), (1, 0))) | np.pad(close, ((0, 0), (0, 1)))
    tied[:, -1] = True  # the last may be as far as one that was left out
    assert (rows == known)[~tied].all()
    assert tied.mean() < 0.1
