"""Locks: one process at a time reads and changes a file; the lock dies with the process that holds it."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cli.atomic import CannotWrite
from planner.faults import PlannerError

PATIENCE_S = 15.0
EVERY_S = 0.05


class Busy(PlannerError):
    """Somebody else has been changing a file for too long."""

    def __init__(self, path: Path) -> None:
        self.path = path
        super().__init__(f"{path} is being changed by somebody else. Try again in a moment.")


@contextmanager
def locked(path: Path, *, patience_s: float = PATIENCE_S) -> Iterator[None]:
    """
    Hold the lock of ``path``, which need not exist yet, while the block runs.

    Raises
    ------
    Busy
        If it is not to be had in ``patience_s`` seconds.
    CannotWrite
        If the folder takes no lock.

    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path.with_name(f".{path.name}.lock"), os.O_RDWR | os.O_CREAT, 0o644)
    except OSError as fault:
        raise CannotWrite(path, fault) from fault
    try:
        until = time.monotonic() + patience_s
        while not _taken(handle):
            if time.monotonic() > until:
                raise Busy(path)
            time.sleep(EVERY_S)
        yield
    finally:
        os.close(handle)  # the lock goes with it


def _taken(handle: int) -> bool:
    """Return whether the lock could be taken at once."""
    try:
        if os.name == "nt":
            import msvcrt

            getattr(msvcrt, "locking")(handle, getattr(msvcrt, "LK_NBLCK"), 1)  # noqa: B009 - absent from other systems' stubs
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
