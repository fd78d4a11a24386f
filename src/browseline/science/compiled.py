"""The one way loops are compiled: kept on disk, and free to run beside others."""

from __future__ import annotations

from typing import Any

from numba import njit

compiled: Any = njit(cache=True, nogil=True)
