"""A number with its unit, as every page prints it."""

from __future__ import annotations

import math

from browseline.units import BASE, CHOSEN, UNITS, System, plain, shown
from browseline.words import say


def number(value: float | None, unit: str, system: System | None = None) -> str:
    """Return a number with its unit, or "not known"."""
    if value is None:
        return say("why.unknown_value")
    if not math.isfinite(value):
        return say("why.without_end")
    dimension = UNITS[unit].dimension
    if system is not None and dimension in CHOSEN[system] and unit == BASE[dimension]:
        return shown(value, dimension, system)
    return plain(value) if unit == "1" else f"{plain(value)} {unit}"
