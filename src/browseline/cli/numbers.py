"""Figures in words: the value in the units a person chose, its range, and what it is called."""

from __future__ import annotations

import math

from browseline.figures import Figure
from browseline.units import BASE, CHOSEN, UNITS, System, plain, shown
from browseline.words import known, say


def amount(figure: Figure, system: System | None = None) -> str:
    """Return the value of a figure with its unit, or its range where no value is told."""
    if figure.value is not None:
        return number(figure.value, figure.unit, system)
    if figure.low is not None and figure.high is not None:
        low, high = (number(x, figure.unit, system) for x in (figure.low, figure.high))
        return say("cli.why.from_to", low=low, high=high)
    return say("cli.why.in_words" if figure.origins else "cli.why.unknown_value")


def number(value: float | None, unit: str, system: System | None = None) -> str:
    """Return a number with its unit, or "not known"."""
    if value is None:
        return say("cli.why.unknown_value")
    if not math.isfinite(value):
        return say("cli.why.without_end")
    dimension = UNITS[unit].dimension
    if system is not None and dimension in CHOSEN[system] and unit == BASE[dimension]:
        return shown(value, dimension, system)
    return plain(value) if unit == "1" else f"{plain(value)} {unit}"


def name_of(figure: Figure) -> str:
    """Return what a figure is called."""
    key = f"figures.{figure.name}"
    return say(key) if known(key) else figure.name.replace("_", " ")
