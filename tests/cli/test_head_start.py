"""What compiles beside does not outlive what it stands beside, and does not hold it up."""

import sys
import time

import pytest

from cli import head_start as beside


@pytest.fixture
def slow_module(tmp_path, monkeypatch):
    """A module that takes a minute, then leaves a file."""
    done = tmp_path / "done"
    (tmp_path / "slow_to_wake.py").write_text(f"import pathlib, time\ntime.sleep(60)\npathlib.Path({str(done)!r}).touch()\n", encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    return "slow_to_wake"


def test_a_late_start_ends_with_what_it_stands_beside(slow_module):
    began = time.monotonic()
    with beside._beside(slow_module) as process:
        assert process.poll() is None
    assert process.poll() is not None
    assert time.monotonic() - began < 20


def test_a_fault_inside_ends_the_process_and_is_told(slow_module):
    with pytest.raises(RuntimeError, match="no such day"), beside._beside(slow_module) as process:
        raise RuntimeError("no such day")
    assert process.poll() is not None


def test_what_wakes_are_modules_that_run(monkeypatch):
    """Both commands name modules of ours that end well; a name that is gone would go unnoticed otherwise."""
    started = []
    monkeypatch.setattr(beside.subprocess, "Popen", lambda command, **_: started.append(command) or pytest.fail("not started here"))
    for start in (beside.head_start, beside.late_start):
        with pytest.raises(pytest.fail.Exception), start():
            pass
    assert [command[:2] for command in started] == [[sys.executable, "-m"]] * 2
    for command in started:
        assert hasattr(__import__(command[2], fromlist=["wake"]), "wake")
