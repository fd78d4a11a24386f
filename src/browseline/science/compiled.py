"""The one way loops are compiled: kept on disk, and free to run beside others.

numba makes its array functions ready when the first loop is called, and on the way asks scipy for a
library of matrix products: an eighth of a new process that answers Today. No loop of ours multiplies
matrices (a test holds them to it), so that library is left out. Neither does one call foreign functions of C,
is numba told anything by a file of its own, nor are compiled lines counted: what numba would load for these
where it is installed is a twentieth of a new process.
"""

from __future__ import annotations

import importlib
import sys
from typing import Any

__all__ = ["UNCOUNTED", "bare", "compiled", "njit"]

MATRICES = "scipy.linalg.cython_blas"
ASIDE = (MATRICES, "cffi", "yaml", "coverage")
"""What numba looks for and no loop of ours needs."""
FIRST = ("numba", "numba.core.typing.cffi_utils", "numba.np.arraymath")
"""What of numba would look for it."""


def _ready_without(aside: tuple[str, ...]) -> None:
    """Import what of numba would look for some modules while those that are not loaded are out of sight."""
    hidden = [name for name in aside if name not in sys.modules]
    sys.modules.update(dict.fromkeys(hidden))  # type: ignore[arg-type]
    try:
        for name in FIRST:
            importlib.import_module(name)
    finally:
        for name in hidden:
            del sys.modules[name]


_ready_without(ASIDE)
from numba import njit  # noqa: E402 (after what it would look for is put aside)

compiled: Any = njit(cache=True, nogil=True)
UNCOUNTED: Any = {"_nrt": False}
"""For a loop that makes no array and hands none back: its caller owns them all, nobody counts their holders.

Each count locks a place in memory that all threads share; of records of many arrays it took four fifths of a
beam's time and two thirds of small changes'.
"""
bare: Any = njit(cache=True, nogil=True, **UNCOUNTED)
