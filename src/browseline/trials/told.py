"""Numbers of trials in words: an amount with its range, and what one is less than another, all linked."""

from __future__ import annotations

import math

from browseline.chain.why import amount, name_of
from browseline.figures import Figure, Origin
from browseline.units import UNITS, System, amount_words, plain
from browseline.words import linked, say

NEARLY = 1e-9
BY_YEARS = (Origin("derived_here", "the years ahead, member by member", "derived"),)


def amount_of(value: float, unit: str, system: System) -> str:
    """Return a number with its unit in a person's units; money with its sign before it."""
    if UNITS[unit].dimension == "money":
        return amount_words(value, unit)
    return amount(Figure("", value, unit), system)


def told(figure: Figure | None, system: System) -> str:
    """Return an amount with its 80 % range, linked to it; unknown said so."""
    if figure is None or figure.value is None:
        return say("trials.unknown")
    text = amount_of(figure.value, figure.unit, system)
    return linked(f"{text}{_range(figure, system)}", figure)


def _range(figure: Figure, system: System) -> str:
    if figure.low is None or figure.high is None or figure.high - figure.low < NEARLY:
        return ""
    low, high = (amount_of(end, figure.unit, system) for end in (figure.low, figure.high))
    unit = _words_alike(low, high)
    low, high = low.removesuffix(unit), high.removesuffix(unit)
    return f" {say('trials.between', low=low, high=high)}"


def _words_alike(low: str, high: str) -> str:
    """Return the unit that two amounts share, with the blank before it."""
    unit = low.lstrip("−0123456789.,")
    return unit if unit.startswith(" ") and high.endswith(unit) else ""


def told_change(figure: Figure | None, system: System) -> str:
    """Return a difference with its sign and range, linked to it."""
    if figure is None or figure.value is None:
        return say("trials.unknown")
    if abs(figure.value) < NEARLY and not _range(figure, system):
        return say("trials.same")
    sign = "+" if figure.value > 0 else ""
    text = f"{sign}{amount_of(figure.value, figure.unit, system)}{_range(figure, system)}"
    return linked(text, figure)


def span_words(key: str, years: int, members: int) -> str:
    """Return the sentence of how far the years ahead reach, and in how many futures."""
    far = Figure("window_years", float(years), "yr", origins=BY_YEARS, about="ahead")
    many = Figure("ahead_members", float(members), "1", origins=BY_YEARS)
    return say(key, years=linked(f"{years}", far), members=linked(f"{members}", many))


def label(figure: Figure, about: str = "") -> str:
    """Return what a row is called: the name of its figure, and what it is about."""
    of = about or figure.about
    return say("trials.label", name=name_of(figure), about=of) if of else name_of(figure)


def less(before: Figure | None, after: Figure | None) -> Figure | None:
    """Return the second figure less the first; None where one is not known or their units differ."""
    if before is None or after is None or before.value is None or after.value is None:
        return None
    if before.unit != after.unit or not math.isfinite(before.value) or not math.isfinite(after.value):
        return None
    formula = f"{plain(after.value)} − {plain(before.value)}"
    return Figure(
        "difference", after.value - before.value, after.unit, formula=formula, parts=(before, after),
        about=after.name if not after.about else f"{after.name}, {after.about}",
    )  # fmt: skip
