"""What is kept between runs: the same again, anew when anything changed, and never in the way."""

import numpy as np
import pytest

from maps import travel_store
from maps.near_points import NearPoints
from maps.roads import built_in, name_of
from maps.travel import rungs_of
from maps.travel_arcs import arcs_of, open_ms
from maps.travel_ladder import weigh
from planner.model.crews import VehicleClass


@pytest.fixture
def store(tmp_path, monkeypatch):
    monkeypatch.setenv("HOMELEG_CACHE", str(tmp_path))
    return tmp_path


def test_what_was_kept_comes_back_and_may_be_written_over(store):
    made = []

    def make():
        made.append(1)
        return np.arange(5)

    for _ in range(2):
        held = travel_store.kept("five", make)
        assert held.tolist() == [0, 1, 2, 3, 4]
        held[0] = 9  # a compiled function takes only arrays that it could write to
    assert len(made) == 1
    assert np.load(store / "five.npy").tolist() == [0, 1, 2, 3, 4]


def test_a_damaged_file_is_made_anew(store):
    (store / "five.npy").write_bytes(b"no array")
    assert travel_store.kept("five", lambda: np.arange(5)).tolist() == [0, 1, 2, 3, 4]
    assert np.load(store / "five.npy").tolist() == [0, 1, 2, 3, 4]


def test_the_oldest_go_when_there_is_too_much(store, monkeypatch):
    monkeypatch.setattr(travel_store, "KEEP_BYTES", 2500)
    for name in ("one", "two", "three"):
        travel_store.kept(name, lambda: np.zeros(100))
        (store / f"{name}.npy").touch()
    assert sorted(path.stem for path in store.glob("*.npy")) == ["three", "two"]


def test_the_name_of_the_room_changes_with_a_file_of_it(monkeypatch, tmp_path):
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "speeds.toml").write_text("a = 1")
    monkeypatch.setattr(travel_store, "files", lambda _: tmp_path)
    names = []
    for text in ("a = 1", "a = 12"):
        (tmp_path / "data" / "speeds.toml").write_text(text)
        travel_store.as_installed.cache_clear()
        names.append(travel_store.as_installed())
    travel_store.as_installed.cache_clear()
    assert names[0] != names[1]


def test_kept_by_name_is_what_is_worked_out():
    network = built_in()
    assert name_of(network)
    ladder, rungs = rungs_of(network, VehicleClass.GOODS_7500)
    arcs = arcs_of(network, VehicleClass.GOODS_7500)
    true = weigh(ladder, arcs)
    for kept, worked_out in ((rungs.up, true.up), (rungs.down, true.down)):
        assert all((one == other).all() for one, other in zip(kept.arrays, worked_out.arrays, strict=True))
    assert (open_ms(network, VehicleClass.GOODS_7500) == arcs.edge_ms).all()


def test_a_grid_told_as_a_row_is_the_same_grid():
    points = np.random.default_rng(1).uniform(0, 9000, (500, 2))
    grid = NearPoints.of(points, 700)
    again, asked = NearPoints.from_row(grid.points, grid.as_row()), [[4000.0, 4000.0], [-50.0, 9999.0]]
    for one, other in zip(grid.nearest(asked, 5), again.nearest(asked, 5), strict=True):
        assert (one == other).all()


def test_a_full_disk_is_not_filled_further(store, monkeypatch):
    def full(file, *_, **__):
        file.write(b"half of it")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(travel_store.np, "save", full)
    assert travel_store.kept("five", lambda: np.arange(5)).tolist() == [0, 1, 2, 3, 4]
    assert list(store.iterdir()) == []
