"""Files are written whole or not at all: into a temporary neighbour first, then put in place."""

import os
import tempfile
from pathlib import Path


def write_whole(path: Path, content: bytes | str) -> Path:
    """Write ``content`` to ``path``, which either keeps what it held or holds all of it; return ``path``."""
    path.parent.mkdir(parents=True, exist_ok=True)
    raw = content.encode() if isinstance(content, str) else content
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
    return path
