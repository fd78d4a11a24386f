"""A number with its unit, as every page prints it."""

from __future__ import annotations

import math
import re

from browseline.units import UNITS, System, chosen, coined, plain
from browseline.words import say

FIGURES = 2
SMALL, TEN, CENTS_BELOW = 0.1, 10.0, 100.0
"""Sizes below which two decimals would leave one figure or none, one decimal too few, cents count."""
TENTHS = re.compile(r"\.\d$")
"""Money with one decimal: people write both or none."""


def number(value: float | None, unit: str, system: System | None = None) -> str:
    """Return a number with its unit, or "not known"."""
    if value is None:
        return say("why.unknown_value")
    if not math.isfinite(value):
        return say("why.without_end")
    if system is not None:
        value, unit = chosen(value, unit, system)
    dimension = UNITS[unit].dimension
    text = plain(value, _digits(abs(value), unit, dimension))
    if dimension.startswith("money") and TENTHS.search(text):
        text += "0"
    return text if unit == "1" else coined(text, unit)


def _digits(size: float, unit: str, dimension: str) -> int | None:
    """Return the decimals of a number: two figures of a small one, so that 0.004 is not told as nothing.

    A price shows its cents and a ratio two decimals, as the pages print them; None leaves it to ``plain``.
    """
    if 0 < size < SMALL:
        return FIGURES - 1 - math.floor(math.log10(size))
    fine = (dimension.startswith("money") and size < CENTS_BELOW) or (unit == "1" and size < TEN)
    return FIGURES if fine else None
