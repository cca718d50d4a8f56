"""Files written whole or not at all, and what is said when the disk or the system refuses."""

import errno
import os

import pytest

from cli.atomic import CannotWrite, write_whole
from cli.told_plainly import told_plainly


def refuses(number):
    def fsync(_handle):
        raise OSError(number, os.strerror(number))

    return fsync


@pytest.mark.parametrize(("number", "says"), [
    (errno.ENOSPC, r"\(the disk is full\).*Make room"), (errno.EDQUOT, "the disk is full"), (errno.EACCES, "permission denied.*yours to write in"),
])
def test_what_the_disk_refuses_is_one_sentence_and_the_old_file_stays(tmp_path, monkeypatch, capsys, number, says):
    path = write_whole(tmp_path / "plan.json", "old")
    monkeypatch.setattr("cli.atomic.os.fsync", refuses(number))
    with pytest.raises(CannotWrite, match=says):
        write_whole(path, "new")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path], "nothing half written is left"
    with pytest.raises(SystemExit) as ended, told_plainly():
        write_whole(path, "new")
    assert ended.value.code == 1
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_a_folder_that_is_a_file_is_told(tmp_path):
    (tmp_path / "out").write_text("")
    with pytest.raises(CannotWrite, match="cannot be written"):
        write_whole(tmp_path / "out" / "plan.json", "new")


def test_a_fault_of_ours_is_told_even_when_its_log_cannot_be_kept(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "gone"))
    with pytest.raises(SystemExit) as ended, told_plainly():
        raise KeyError("x")
    assert ended.value.code == 3
    assert "could not be kept" in capsys.readouterr().err
