"""Layout: a farm's map and planting rules to trees, rows, alleys, ground, fences and findings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from browseline.layout.form import (
    Crowns,
    KeptOff,
    LaidPaddock,
    LaidPlanting,
    LaidRow,
    Layout,
    LayoutFinding,
    Trees,
)

if TYPE_CHECKING:
    from browseline.layout.lay import lay_out as lay_out

__all__ = [
    "Crowns",
    "KeptOff",
    "LaidPaddock",
    "LaidPlanting",
    "LaidRow",
    "Layout",
    "LayoutFinding",
    "Trees",
    "lay_out",
]


def __getattr__(name: str) -> Any:
    """Return ``lay_out`` when it is asked for: it needs numpy, which most commands do without."""
    if name == "lay_out":
        from browseline.layout.lay import lay_out

        return lay_out
    raise AttributeError(name)
