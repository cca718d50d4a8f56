"""
Keeps what is slow to work out between runs, by its content, in the user's cache folder.

``HOMELEG_CACHE`` names another folder; an empty value switches the store off.  A store that cannot be read or written is
no fault: the thing is worked out again.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt

KEEP = 16  # files; the oldest go first


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


def kept(name: str, make: Callable[[], npt.NDArray[np.int64]]) -> npt.NDArray[np.int64]:
    """Return the array kept under a name, or make it and keep it."""
    place = folder()
    if place is None:
        return make()
    path = place / f"{name}.npy"
    try:
        held: npt.NDArray[np.int64] = np.load(path, allow_pickle=False)
        os.utime(path)
    except (OSError, ValueError, EOFError):
        held = make()
        _write(path, held)
    return held


def _write(path: Path, held: npt.NDArray[np.int64]) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
        with os.fdopen(handle, "wb") as file:
            np.save(file, held, allow_pickle=False)
        Path(name).replace(path)
        old = sorted(path.parent.glob("*.npy"), key=lambda each: each.stat().st_mtime)
        for each in old[:-KEEP]:
            each.unlink(missing_ok=True)
    except OSError:
        return
