"""Head starts: a second process compiles what comes next while this one does something else, which counts on a fresh machine."""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def head_start() -> Iterator[None]:
    """Compile the search beside what is done inside, and wait for it at the end; its failure is not ours."""
    with _beside("planner.search.waking") as process:
        yield
        process.wait()


@contextmanager
def late_start() -> Iterator[None]:
    """Compile what only large decks need beside what is done inside, and wait for it: a quote that has to takes seconds."""
    with _beside("planner.rules.load_plan_waking") as process:
        yield
        process.wait()


@contextmanager
def _beside(module: str) -> Iterator[subprocess.Popen[bytes]]:
    """Run one of our modules beside what is done inside; it does not outlive that."""
    command = [sys.executable, "-m", module]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # noqa: S603 - our own module
    try:
        yield process
    finally:
        process.kill()
        process.wait()
