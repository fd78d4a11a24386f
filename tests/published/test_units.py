"""Every conversion factor beside a general library of units (pint)."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from browseline.units import UNITS, convert, parse

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()
# The acre of 43,560 square feet; the library's own is the US survey acre, 4 parts in a million larger.
REGISTRY.define("international_acre = 43560 * foot ** 2")
SPELLED = {
    "cm": "cm",
    "mm": "mm",
    "m": "m",
    "km": "km",
    "kg": "kg",
    "g": "g",
    "m/s": "m/s",
    "in": "inch",
    "ft": "foot",
    "yd": "yard",
    "mi": "mile",
    "ac": "international_acre",
    "ha": "hectare",
    "m2": "m**2",
    "ft2": "foot**2",
    "ft3": "foot**3",
    "lb": "pound",
    "oz": "ounce",
    "t": "metric_ton",
    "L": "liter",
    "mL": "milliliter",
    "gal": "gallon",
    "m3": "m**3",
    "d": "day",
    "h": "hour",
    "min": "minute",
    "yr": "year",
    "mph": "mile/hour",
    "km/h": "km/hour",
    "kg/ha": "kg/hectare",
    "t/ha": "metric_ton/hectare",
    "lb/ac": "pound/international_acre",
    "kg/ha/cm": "kg/hectare/cm",
    "lb/ac/in": "pound/international_acre/inch",
    "kg/ha/d": "kg/hectare/day",
    "lb/ac/d": "pound/international_acre/day",
    "cm/d": "cm/day",
    "mm/d": "mm/day",
    "in/d": "inch/day",
    "kg/d": "kg/day",
    "lb/d": "pound/day",
    "g/d": "g/day",
    "L/d": "liter/day",
    "gal/d": "gallon/day",
    "trees/ha": "1/hectare",
    "trees/ac": "1/international_acre",
    "%": "percent",
    "1": "dimensionless",
    "kV": "kilovolt",
    "V": "volt",
    "J": "joule",
    "MJ": "megajoule",
}
PAIRS = [
    (a, b)
    for a in SPELLED
    for b in SPELLED
    if a < b and a in UNITS and b in UNITS and UNITS[a].dimension == UNITS[b].dimension
]


@pytest.mark.parametrize(("old", "new"), PAIRS)
def test_a_factor_is_that_of_a_general_library(old: str, new: str) -> None:
    there = REGISTRY.Quantity(1.0, SPELLED[old]).to(SPELLED[new]).magnitude
    assert float(convert(Fraction(1), old, new)) == pytest.approx(there, rel=1e-9)


@pytest.mark.parametrize("fahrenheit", [-40, 0, 32, 65, 98.6, 212])
def test_temperatures_are_those_of_a_general_library(fahrenheit: float) -> None:
    there = REGISTRY.Quantity(fahrenheit, "degF").to("degC").magnitude
    assert float(convert(Fraction(fahrenheit), "F", "C")) == pytest.approx(there, abs=1e-9)


def test_every_unit_that_people_type_was_compared() -> None:
    # bales, head, money, weeks and months are counts or conventions of ours
    compared = {name for pair in PAIRS for name in pair} | {"C", "F"}
    typed = {
        "length",
        "area",
        "mass",
        "herbage mass",
        "herbage density",
        "herbage growth",
        "height growth",
        "intake",
        "volume",
        "water use",
        "speed",
        "stocking",
        "share",
        "temperature",
    }
    missing = {name for name, unit in UNITS.items() if unit.dimension in typed and name not in compared}
    assert not missing


def test_days_are_a_count_or_a_time_by_what_is_asked_for() -> None:
    assert parse("5 days", "time").to("h") == 120
    assert parse("2 Days", "time").to("d") == 2
    assert parse("5 days", "count").unit == "days"
