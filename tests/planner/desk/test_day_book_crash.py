"""Processes killed at random moments, and two that write at once: what was reported is there, nothing is half done or lost."""

import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from planner.desk.day_book import proof
from planner.desk.day_book.book import open_book

ROOT = Path(__file__).parents[3]
WRITER = Path(__file__).with_name("book_writer.py")


def desk(where, name, seconds):
    return subprocess.Popen([sys.executable, str(WRITER), where, name, str(seconds)], cwd=ROOT, env={"PYTHONPATH": str(ROOT), "PATH": ""},
                            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def told(out):
    """Return how many changes a desk reported as done: those lines that came whole."""
    return sum(line.endswith("\n") for line in out.splitlines(keepends=True))


@pytest.mark.slow
def test_a_desk_killed_at_any_moment_loses_nothing_it_reported_and_leaves_nothing_half_done(where):
    chance = random.Random(7)
    open_book(where, may_make=True).close()
    reported = {}
    for number in range(4):
        name = f"desk{number}"
        process = desk(where, name, 60)
        assert process.stdout
        first = process.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.3))
        process.kill()  # SIGKILL: no handler runs
        out, _ = process.communicate()
        assert process.returncode == -9
        reported[name] = told(first + out)
    with open_book(where) as book, book.reading() as reader:
        parts = [held.subject for held in reader.now(thing="part")]
        for name, count in reported.items():
            own = sorted({int(part.split("-")[1]) for part in parts if part.startswith(f"{name}-")})
            assert len(own) in (count, count + 1), "at most the one change that was committed and not yet reported"
            assert own == list(range(len(own)))
            assert sum(part.startswith(f"{name}-") for part in parts) == 3 * len(own), "each change whole"
        assert reader.value("counter", "shared")["n"] == len(parts) // 3
        assert list(proof.faults(reader)) == []


@pytest.mark.slow
def test_two_desks_at_once_lose_no_change_and_see_no_lock(where):
    open_book(where, may_make=True).close()
    both = [desk(where, name, 1.0) for name in ("nell", "omar")]
    ended = [process.communicate() for process in both]
    assert [(process.returncode, said[1]) for process, said in zip(both, ended, strict=True)] == [(0, ""), (0, "")]
    done = sum(told(out) for out, _ in ended)
    with open_book(where) as book, book.reading() as reader:
        assert reader.value("counter", "shared") == {"n": done}
        assert len(reader.now(thing="part")) == 3 * done
        assert list(proof.faults(reader)) == []
    assert done >= 2
