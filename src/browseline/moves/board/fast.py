"""How the board's loops are compiled: division by zero gives infinity, which spares a check at each."""

from __future__ import annotations

from typing import Any

from browseline.science.compiled import UNCOUNTED, njit

stepped: Any = njit(cache=True, nogil=True, error_model="numpy")
folded: Any = njit(cache=True, nogil=True, error_model="numpy", forceinline=True, **UNCOUNTED)
"""For small steps, a million times a second: written into their caller, since handing a whole record over
costs more than the step itself. They make no array and hand none back."""
