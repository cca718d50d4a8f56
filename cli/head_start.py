"""A head start: a second process compiles the search while this one reads the day, which counts on a fresh machine."""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def head_start() -> Iterator[None]:
    """Compile the search beside what is done inside, and wait for it at the end; its failure is not ours."""
    command = [sys.executable, "-m", "planner.search.waking"]
    beside = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # noqa: S603 - our own module
    try:
        yield
    except BaseException:
        beside.kill()
        raise
    finally:
        beside.wait()
