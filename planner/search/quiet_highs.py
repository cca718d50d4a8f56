"""HiGHS without its greeting: the library writes a line to standard output when it is made, and the core says nothing."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

#: HiGHS takes this for no bound.
UNBOUND = 1e30

def quiet_highs(**options: object) -> Any:
    """Return a new, silent HiGHS model on one thread with a fixed seed; ``options`` are HiGHS' own."""
    import highspy

    with _standard_output_away():
        model: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    for option, value in {"output_flag": False, "threads": 1, "random_seed": 1, **options}.items():
        model.setOptionValue(option, value)
    return model


@contextmanager
def _standard_output_away() -> Iterator[None]:
    """Send what compiled code writes to standard output nowhere for a moment."""
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
