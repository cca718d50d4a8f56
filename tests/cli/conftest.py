"""What tests of several commands share."""

import sys
from types import SimpleNamespace

import pytest

from cli.app import main


@pytest.fixture
def run(capsys, monkeypatch):
    """Run a command in this process, as the shell would: exit code, what was printed, what was said of faults in one line."""

    def run(*words: str):
        monkeypatch.setattr(sys, "argv", ["homeleg", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        printed = capsys.readouterr()
        return SimpleNamespace(returncode=ended.value.code or 0, stdout=printed.out, stderr=" ".join(printed.err.split()))

    return run
