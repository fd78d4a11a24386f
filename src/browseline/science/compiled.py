"""The one way loops are compiled: kept on disk, and free to run beside others.

numba makes its array functions ready when the first loop is called, and on the way asks scipy for a
library of matrix products: an eighth of a new process that answers Today. No loop of ours multiplies
matrices (a test holds them to it), so that library is left out.
"""

from __future__ import annotations

import importlib
import sys
from typing import Any

from numba import njit

__all__ = ["compiled", "njit"]

MATRICES = "scipy.linalg.cython_blas"


def _ready_without_matrices() -> None:
    """Import numba's array functions while scipy's matrix products are out of its sight."""
    if MATRICES in sys.modules:
        return
    sys.modules[MATRICES] = None  # type: ignore[assignment]
    try:
        importlib.import_module("numba.np.arraymath")
    finally:
        del sys.modules[MATRICES]


_ready_without_matrices()

compiled: Any = njit(cache=True, nogil=True)
