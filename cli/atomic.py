"""Files are written whole or not at all: into a temporary neighbour first, then put in place."""

import errno
import os
import tempfile
from pathlib import Path

from planner.faults import PlannerError

_FULL = (errno.ENOSPC, errno.EDQUOT)


class CannotWrite(PlannerError):
    """A file that the disk or the system refuses to take; what stood there before is unharmed."""

    def __init__(self, path: Path, fault: OSError) -> None:
        self.path = path
        why = "the disk is full" if fault.errno in _FULL else (fault.strerror or str(fault)).lower()
        remedy = "Make room" if fault.errno in _FULL else "Give a folder that is yours to write in"
        super().__init__(
            f"{path}: this file cannot be written ({why}); what was there before is unharmed. {remedy}, then repeat the command."
        )


def write_whole(path: Path, content: bytes | str) -> Path:
    """
    Write ``content`` to ``path``, which either keeps what it held or holds all of it; return ``path``.

    Raises
    ------
    CannotWrite
        If the disk is full or the place is not ours.

    """
    raw = content.encode() if isinstance(content, str) else content
    try:
        _put(path, raw)
    except OSError as fault:
        raise CannotWrite(path, fault) from None
    return path


def _put(path: Path, raw: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
