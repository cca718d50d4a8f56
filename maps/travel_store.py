"""
Keeps what is slow to work out between runs, by its content or by a name, in the user's cache folder.

``HOMELEG_CACHE`` names another folder; an empty value switches the store off.  A store that cannot be read or written is
no fault: the thing is worked out again.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np
import numpy.typing as npt

Held = TypeVar("Held", bound=npt.NDArray[Any])
KEEP_BYTES = 1_500_000_000  # the oldest files go first


def folder() -> Path | None:
    """Return where the store is, None when it is switched off."""
    named = os.environ.get("HOMELEG_CACHE")
    if named is not None:
        return Path(named) if named else None
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "homeleg"


def fingerprint(*parts: npt.NDArray[np.generic]) -> str:
    """Return a name for the content of some arrays."""
    digest = hashlib.blake2b(digest_size=16)
    for part in parts:
        digest.update(str((part.dtype, part.shape)).encode())
        digest.update(np.ascontiguousarray(part).data)
    return digest.hexdigest()


@lru_cache(maxsize=1)
def as_installed() -> str:
    """
    Return a name for this room as it is installed: its code and its data, by the names, sizes and times of the files.

    For what hangs on nothing else; quicker than looking at the content, and another name at once when anything is changed.
    """
    digest = hashlib.blake2b(digest_size=16)
    for part in (".", "data"):
        for path in sorted(Path(str(files(__package__) / part)).iterdir()):
            if path.is_file():
                told = path.stat()
                digest.update(f"{path} {told.st_size} {told.st_mtime_ns}".encode())
    return digest.hexdigest()


def kept(name: str, make: Callable[[], Held]) -> Held:
    """Return the array kept under a name, or make it and keep it; read from disk as far as it is looked at."""
    place = folder()
    if place is None:
        return make()
    path = place / f"{name}.npy"
    try:
        held = cast("Held", np.asarray(np.load(path, allow_pickle=False, mmap_mode="c")))
        os.utime(path)
    except (OSError, ValueError, EOFError):
        held = make()
        _write(path, held)
    return held


def _write(path: Path, held: npt.NDArray[Any]) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                np.save(file, held, allow_pickle=False)
            Path(name).replace(path)
        finally:
            Path(name).unlink(missing_ok=True)  # a full disk is not to stay full
        room = KEEP_BYTES
        for each in sorted(path.parent.glob("*.npy"), key=lambda each: -each.stat().st_mtime):
            room -= each.stat().st_size
            if room < 0:
                each.unlink(missing_ok=True)
    except OSError:
        return
