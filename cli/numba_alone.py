"""Numba loaded without what no kernel here needs: scipy's linear algebra, a fifth of a second, and coverage's support."""

import sys

NEEDLESS = ("scipy.linalg.cython_blas", "coverage")


def load_numba() -> None:
    """Load what numba needs for kernels over arrays; whoever wants the rest later still gets it."""
    left_out = [name for name in NEEDLESS if name not in sys.modules]
    if NEEDLESS[0] not in left_out:
        return
    for name in left_out:
        sys.modules[name] = None  # type: ignore[assignment]  # numba then finds none, and offers no matrix products
    try:
        import numba.np.arraymath  # noqa: F401 - it looks for them only once
    finally:
        for name in left_out:
            del sys.modules[name]
