"""Numba loaded without scipy's linear algebra, which no kernel here calls and which takes a fifth of a second to load."""

import sys

BLAS = "scipy.linalg.cython_blas"


def load_numba() -> None:
    """Load what numba needs for kernels over arrays; whoever wants scipy's linear algebra later still gets it."""
    if BLAS in sys.modules:
        return
    sys.modules[BLAS] = None  # type: ignore[assignment]  # numba then finds none, and offers no matrix products
    try:
        import numba.np.arraymath  # noqa: F401 - it looks for them only once
    finally:
        del sys.modules[BLAS]
