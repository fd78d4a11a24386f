"""Unit words, every conversion factor, and numbers as people typed them.

The list of unit words is closed. A typed number keeps its text for ever; conversion always
starts from what was typed, so a hundred switches of unit change nothing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Literal

System = Literal["acres", "hectares"]

_INCH_CM = Fraction("2.54")
_FOOT_M = Fraction("0.3048")
_POUND_KG = Fraction("0.45359237")
_ACRE_HA = Fraction("0.40468564224")
_GALLON_L = Fraction("3.785411784")
_LB_AC = _POUND_KG / _ACRE_HA


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit word: what it measures and how many of the dimension's own unit it holds."""

    word: str
    dimension: str
    factor: Fraction
    offset: Fraction = Fraction(0)


def _units(dimension: str, **factors: Fraction | int | str) -> dict[str, Unit]:
    return {w: Unit(w, dimension, Fraction(f)) for w, f in factors.items()}


def _named(dimension: str, pairs: dict[str, Fraction | int | str]) -> dict[str, Unit]:
    return {w: Unit(w, dimension, Fraction(f)) for w, f in pairs.items()}


UNITS: dict[str, Unit] = {
    **_named(
        "length",
        {
            "cm": 1,
            "mm": Fraction(1, 10),
            "m": 100,
            "km": 100_000,
            "in": _INCH_CM,
            "ft": _FOOT_M * 100,
            "yd": _FOOT_M * 300,
            "mi": _FOOT_M * 528_000,
        },
    ),
    **_named(
        "area",
        {"ha": 1, "m2": Fraction(1, 10_000), "ac": _ACRE_HA, "ft2": _FOOT_M * _FOOT_M / 10_000},
    ),
    **_named("mass", {"kg": 1, "g": Fraction(1, 1000), "t": 1000, "lb": _POUND_KG, "oz": _POUND_KG / 16}),
    **_named("herbage mass", {"kg/ha": 1, "lb/ac": _LB_AC, "t/ha": 1000}),
    **_named("herbage density", {"kg/ha/cm": 1, "lb/ac/in": _LB_AC / _INCH_CM}),
    **_named("herbage growth", {"kg/ha/d": 1, "lb/ac/d": _LB_AC}),
    **_named("height growth", {"cm/d": 1, "mm/d": Fraction(1, 10), "in/d": _INCH_CM}),
    **_named("intake", {"kg/d": 1, "lb/d": _POUND_KG, "g/d": Fraction(1, 1000)}),
    **_named(
        "volume", {"L": 1, "gal": _GALLON_L, "mL": Fraction(1, 1000), "m3": 1000, "ft3": _FOOT_M**3 * 1000}
    ),
    **_named("water use", {"L/d": 1, "gal/d": _GALLON_L}),
    **_named("share", {"1": 1, "%": Fraction(1, 100)}),
    **_named("dose", {"g/kg": 1, "g/lb": 1 / _POUND_KG}),
    **_named(
        "time",
        {
            "d": 1,
            "h": Fraction(1, 24),
            "min": Fraction(1, 1440),
            "week": 7,
            "month": Fraction(1461, 48),
            "yr": Fraction(1461, 4),
        },
    ),
    **_named("speed", {"m/s": 1, "km/h": Fraction(10, 36), "mph": Fraction("0.44704")}),
    **_named("stocking", {"trees/ha": 1, "trees/ac": 1 / _ACRE_HA}),
    "C": Unit("C", "temperature", Fraction(1)),
    "F": Unit("F", "temperature", Fraction(5, 9), Fraction(-160, 9)),
    **_units("pressure", kPa=1),
    **_units("angle", deg=1),
    **_named(
        "count",
        {
            "head": 1,
            "bales": 1,
            "trees": 1,
            "paddocks": 1,
            "days": 1,
            "board feet": 1,
            "cords": 1,
            "posts": 1,
        },
    ),
    **_units("money", USD=1, EUR=1, GBP=1, CAD=1, AUD=1, NZD=1),
    **{
        f"{money}/{of}": Unit(f"{money}/{of}", f"money by {kind}", Fraction(factor))
        for money in ("USD", "EUR", "GBP", "CAD", "AUD", "NZD")
        for of, kind, factor in (
            ("ha", "area", 1),
            ("ac", "area", 1 / _ACRE_HA),
            ("kg", "mass", 1),
            ("lb", "mass", 1 / _POUND_KG),
            ("km", "way", 1),
            ("mi", "way", 1 / (_FOOT_M * 5280 / 1000)),
        )
    },
    **_units("voltage", V=1, kV=1000),
    **_units("energy", J=1, MJ=1_000_000, Mcal=4_184_000, kcal=4184),
    **_named("food energy", {"kcal/kg": 1, "kcal/lb": 1 / _POUND_KG}),
    # gases by mass; carbon and nitrogen in them by their molar masses (12, 14, 28, 44)
    **_named(
        "carbon dioxide",
        {"kg CO2": 1, "t CO2": 1000, "kg C": Fraction(44, 12), "t C": Fraction(44_000, 12)},
    ),
    **_named("methane", {"kg CH4": 1}),
    **_named("nitrous oxide", {"kg N2O": 1, "kg N2O-N": Fraction(44, 28)}),
    **_named("warming", {"kg CO2e": 1, "t CO2e": 1000}),
    **_named("warming equivalent", {"t CO2-we": 1}),
    **_named("work by area", {"h/ha": 1, "h/ac": 1 / _ACRE_HA}),
    # units of coefficients, never typed by a person
    **{
        word: Unit(word, word, Fraction(1))
        for word in (
            "MJ/m2/d",
            "C^-0.5",
            "g/MJ",
            "m2/g",
            "m2 d/MJ",
            "C d",
            "1/d",
            "%/d",
            "mm/yr",
            "1/yr",
            "yr/in",
            "d/deg",
            "d/m",
            "% BW/d",
            "kg/ha/click",
            "min/ewe",
            "min/move",
            "USD/move",
            "USD/d",
            "USD/LU/d",
            "kg/tree/yr",
            "L/tap/yr",
            "h/LU/yr",
            "m3/m3",
            "kg CH4/head/yr",
            "kg N2O-N/kg N",
            "kg N/1000 kg/d",
            "kg VS/1000 kg/d",
            "kg CO2/gal",
            "kg CO2e/kg",
            "kg CO2e/L",
            "m3 CH4/kg VS",
            "kg/m3",
            "MJ/d/kg^0.75",
            "MJ/d/kg",
            "MJ/kg",
            "MJ/kg^2",
            "% of GE",
            "t C/t",
            "t C/ha",
            "gal/ac",
            "GtC/ppm",
        )
    },
}

ALIASES: dict[str, str] = {
    "inch": "in", "inches": "in", '"': "in", "ins": "in", "foot": "ft", "feet": "ft", "'": "ft",
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "centimetres": "cm", "yards": "yd",
    "miles": "mi", "mile": "mi", "acre": "ac", "acres": "ac", "hectare": "ha", "hectares": "ha",
    "lbs": "lb", "pound": "lb", "pounds": "lb", "kilo": "kg", "kilos": "kg", "kgs": "kg", "tonne": "t",
    "tonnes": "t", "day": "d", "days": "d", "hour": "h", "hours": "h", "hr": "h", "hrs": "h",
    "minute": "min", "minutes": "min", "mins": "min", "weeks": "week", "wk": "week", "months": "month",
    "year": "yr", "years": "yr", "litre": "L", "litres": "L", "liter": "L", "liters": "L", "l": "L",
    "gallon": "gal", "gallons": "gal", "percent": "%", "°C": "C", "°F": "F", "degC": "C", "degF": "F",
    "lb/acre": "lb/ac", "lb/ac-in": "lb/ac/in", "lb DM/ac/in": "lb/ac/in", "lb/acre/in": "lb/ac/in",
    "kg DM/ha": "kg/ha", "lb DM/ac": "lb/ac", "lb/acre/d": "lb/ac/d", "in/day": "in/d", "cm/day": "cm/d",
    "lb/day": "lb/d", "kg/day": "kg/d", "gal/day": "gal/d", "lb/ac/day": "lb/ac/d",
    "kg/ha/day": "kg/ha/d", "kg DM/ha/d": "kg/ha/d", "lb DM/d": "lb/d", "kg DM/d": "kg/d",
    "bale": "bales", "$": "USD", "tree": "trees", "ewes": "head",
}  # fmt: skip

_TYPED = re.compile(
    r"^\s*(?P<money>[$€£])?\s*(?P<number>[+-]?(?:\d{1,3}(?:,\d{3})+|\d+)?(?:\.\d+)?)"
    r"(?:\s+(?P<top>\d+)/(?P<bottom>\d+))?\s*(?P<unit>\S.*?)?\s*$"
)
COINS = {"$": "USD", "€": "EUR", "£": "GBP"}
"""Currencies that people write by a sign before the number."""
SIGNS = {unit: sign for sign, unit in COINS.items()}


class NotAQuantity(ValueError):
    """A text is not a number with a unit of the wanted kind; ``reason`` says in what way.

    ``reason`` is one of *empty*, *number*, *unit*, *missing_unit*, *dimension*.
    """

    def __init__(self, reason: str, text: str, wanted: str) -> None:
        self.reason, self.text, self.wanted = reason, text, wanted
        super().__init__(f"{reason}: {text!r} ({wanted})")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number as it was typed, its unit, and its exact value."""

    text: str
    value: Fraction
    unit: str

    @property
    def dimension(self) -> str:
        """Return what the number measures."""
        return UNITS[self.unit].dimension

    def to(self, unit: str) -> float:
        """Return the number in another unit of the same dimension.

        Raises
        ------
        NotAQuantity
            If the units measure different things.
        """
        return float(convert(self.value, self.unit, unit))

    def __str__(self) -> str:
        return self.text


def convert(value: Fraction, old: str, new: str) -> Fraction:
    """Return a value exactly in another unit of the same dimension.

    Raises
    ------
    NotAQuantity
        If a unit is unknown or the units measure different things.
    """
    if old not in UNITS or new not in UNITS:
        raise NotAQuantity("unit", f"{old} -> {new}", new)
    a, b = UNITS[old], UNITS[new]
    if a.dimension != b.dimension:
        raise NotAQuantity("dimension", old, new)
    return (value * a.factor + a.offset - b.offset) / b.factor


@cache
def factor(old: str, new: str) -> float:
    """Return how many of ``new`` one of ``old`` holds (units without an offset only).

    Raises
    ------
    NotAQuantity
        If the units measure different things.
    """
    return float(convert(Fraction(1), old, new) - convert(Fraction(0), old, new))


def unit_word(word: str) -> str | None:
    """Return the word of the closed list that a typed unit stands for, or None."""
    cleaned = " ".join(word.split())
    if cleaned in UNITS:
        return cleaned
    for candidate in (cleaned, cleaned.lower()):
        if candidate in ALIASES:
            return ALIASES[candidate]
        if candidate in UNITS:
            return candidate
    return None


def parse(text: object, dimension: str, default: str | None = None) -> Quantity:
    """Return a typed number with its unit.

    Parameters
    ----------
    text : object
        Such as ``"4.5 in"``, ``"4 1/2 in"``, ``"1,200 lb"``, ``"$8.30"`` or a bare number.
    dimension : str
        What it must measure. Of a rate, "a day" may be left out: 4.4 lb of intake is 4.4 lb/d.
    default : str, optional
        The unit of a bare number. Without it a bare number is refused.

    Raises
    ------
    NotAQuantity
        With the reason, for the caller's finding.
    """
    typed = str(text).strip()
    match = _TYPED.match(typed.replace(MINUS, "-"))
    if not typed:
        raise NotAQuantity("empty", typed, dimension)
    if isinstance(text, bool) or match is None or not any(c.isdigit() for c in match["number"] or ""):
        raise NotAQuantity("number", typed, dimension)
    value = Fraction(match["number"].replace(",", ""))
    if match["top"]:
        if int(match["bottom"]) == 0:
            raise NotAQuantity("number", typed, dimension)
        value += Fraction(int(match["top"]), int(match["bottom"]))
    unit = _unit_of(match["unit"], match["money"], default, typed, dimension)
    return Quantity(typed if match["unit"] or match["money"] else f"{typed} {unit}", value, unit)


# What people leave out because it goes without saying: a mob eats 4.4 lb means a day.
_A_DAY = {
    "intake": "mass",
    "water use": "volume",
    "herbage growth": "herbage mass",
    "height growth": "length",
}


def _unit_of(word: str | None, money: str | None, default: str | None, typed: str, dimension: str) -> str:
    if word is None and money is None:
        if default is None:
            raise NotAQuantity("missing_unit", typed, dimension)
        return default
    coin = COINS[money or "$"]
    unit = coin if word is None else unit_word(f"{coin}{word}" if money and word.startswith("/") else word)
    if unit is None:
        raise NotAQuantity("unit", typed, dimension)
    if UNITS[unit].dimension == _A_DAY.get(dimension) and f"{unit}/d" in UNITS:
        unit = f"{unit}/d"
    wanted = dimension.split("|")
    other = ALIASES.get(" ".join((word or "").lower().split()), unit)
    if UNITS[unit].dimension not in wanted and UNITS[other].dimension in wanted:
        unit = other  # "days" counts days, and is a time where a time is asked for
    if UNITS[unit].dimension not in wanted:
        raise NotAQuantity("dimension", typed, dimension)
    return unit


MINUS = "−"
_BELOW = re.compile(r"(?<![\w.)\]-])-(?=[\d$€£])")

CHOSEN: dict[System, dict[str, str]] = {
    "acres": {
        "length": "in", "distance": "ft", "rain": "in", "area": "ac", "mass": "lb", "herbage mass": "lb/ac",
        "herbage density": "lb/ac/in", "herbage growth": "lb/ac/d", "height growth": "in/d",
        "intake": "lb/d", "volume": "gal", "water use": "gal/d", "temperature": "F", "speed": "mph",
        "stocking": "trees/ac", "way": "mi", "money by mass": "USD/lb", "money by way": "USD/mi",
    },
    "hectares": {
        "length": "cm", "distance": "m", "rain": "mm", "area": "ha", "mass": "kg", "herbage mass": "kg/ha",
        "herbage density": "kg/ha/cm", "herbage growth": "kg/ha/d", "height growth": "cm/d",
        "intake": "kg/d", "volume": "L", "water use": "L/d", "temperature": "C", "speed": "m/s",
        "stocking": "trees/ha", "way": "km", "money by mass": "USD/kg", "money by way": "USD/km",
    },
}  # fmt: skip

BASE: dict[str, str] = {
    "length": "cm", "distance": "m", "rain": "mm", "area": "ha", "mass": "kg", "herbage mass": "kg/ha",
    "herbage density": "kg/ha/cm", "herbage growth": "kg/ha/d", "height growth": "cm/d", "intake": "kg/d",
    "volume": "L", "water use": "L/d", "temperature": "C", "speed": "m/s", "stocking": "trees/ha",
    "way": "km", "money by mass": "USD/kg", "money by way": "USD/km",
}  # fmt: skip


def shown(value: float, use: str, system: System, digits: int | None = None) -> str:
    """Return a number of the dimension's own unit in the words a person chose.

    Parameters
    ----------
    value : float
        In ``BASE[use]``.
    use : str
        A dimension, or *distance*, *rain* or *way* (what animals walk) for lengths of that use.
    digits : int, optional
        Decimals; by default as many as the size deserves.
    """
    unit = CHOSEN[system][use]
    number = float(convert(Fraction(value), BASE[use], unit))
    return f"{plain(number, digits)} {unit}"


def chosen(value: float, unit: str, system: System) -> tuple[float, str]:
    """Return a number with its unit as a person chose to read it; what they chose nothing for stays.

    Parameters
    ----------
    unit : str
        Only a unit of ``BASE`` is told in another: what somebody typed stays as it was typed.
    """
    use = "way" if unit == BASE["way"] else UNITS[unit].dimension
    if BASE.get(use) != unit:
        return value, unit
    other = CHOSEN[system][use]
    return float(convert(Fraction(value), unit, other)), other


def plain(number: float, digits: int | None = None) -> str:
    """Return a number without false precision, with a true minus below nothing: 0.25, 18.7, −1,240."""
    size = abs(number)
    if digits is None:
        digits = 2 if size < 1 else 1 if size < 100 else 0
    text = f"{size:,.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{MINUS}{text}" if number < 0 and text != "0" else text


def coined(number: str, unit: str) -> str:
    """Return a number with its unit, money as people write it: −$8,390, $0.15/kg, 8,390 CAD."""
    coin, by, of = unit.partition("/")
    if coin not in SIGNS:
        return f"{number} {unit}"
    sign = MINUS if number.startswith(MINUS) else ""
    return f"{sign}{SIGNS[coin]}{number.removeprefix(MINUS)}{by}{of}"


def amount_words(value: float, currency: str, digits: int = 0) -> str:
    """Return money in words: −$8,390, or 8,390 CAD."""
    sign = MINUS if round(value, digits) < 0 else ""
    return coined(f"{sign}{abs(value):,.{digits}f}", currency)


def true_minus(text: str) -> str:
    """Return a text in which every number below nothing has a true minus, as people read it.

    A hyphen between two numbers, in a date or in a power of ten stays what it is.
    """
    return _BELOW.sub(MINUS, text)
