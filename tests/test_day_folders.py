"""Day folders over real postcodes: read without fault, and the same from the same seed."""

from cli.geography import open_day
from planner.model.moves import MoveKind
from tests.bench.day_folders import write_folder
from tests.bench.invented_days import Shape


def texts(folder, seed):
    write_folder(folder, Shape(moves=40, compounds=2), seed)
    return {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}


def test_a_folder_has_as_many_moves_as_asked_for_and_no_fault(tmp_path):
    write_folder(tmp_path, Shape(moves=40, compounds=2), 3)
    day = open_day(tmp_path)
    assert len(day.moves) == 40
    assert {move.kind for move in day.moves} == {MoveKind.DELIVERY, MoveKind.RETURN, MoveKind.PART_EXCHANGE}
    assert not day.held


def test_a_seed_gives_one_folder(tmp_path):
    assert texts(tmp_path / "one", 5) == texts(tmp_path / "again", 5) != texts(tmp_path / "other", 6)
