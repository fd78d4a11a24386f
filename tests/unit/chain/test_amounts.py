"""Numbers as Why prints them: what is small is not nothing, prices keep their cents."""

from __future__ import annotations

import pytest

from browseline.chain.amounts import number


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        # IPCC 2019: 0.004 of the nitrogen leaves where it lies, 0.014 at the most; "0" would be a lie.
        (0.004, "kg N2O-N/kg N", "0.004 kg N2O-N/kg N"),
        (0.014, "kg N2O-N/kg N", "0.014 kg N2O-N/kg N"),
        (0.0, "kg N2O-N/kg N", "0 kg N2O-N/kg N"),
        (-0.0123, "kg N2O", "−0.012 kg N2O"),
        (0.19, "kg N2O", "0.19 kg N2O"),
        (1.05, "USD", "$1.05"),
        (-3.5, "USD", "−$3.50"),
        (0.1253, "USD/kg", "$0.13/kg"),
        (8390.0, "CAD", "8,390 CAD"),
        (215.4, "USD", "$215"),
        (1.278, "1", "1.28"),
        (62.4, "1", "62.4"),
    ],
)
def test_a_number_with_its_unit(value: float, unit: str, text: str) -> None:
    assert number(value, unit) == text


def test_what_is_not_known_or_without_end_is_said() -> None:
    assert number(None, "1") == "not known"
    assert not any(sign.isdigit() for sign in number(float("inf"), "kg N2O"))


@pytest.mark.parametrize(
    ("value", "unit", "acres", "hectares"),
    [
        # 1 mile = 1.609344 km, 1 lb = 0.45359237 kg (international yard and pound agreement, 1959).
        (6.5, "km", "4 mi", "6.5 km"),
        (0.4, "km", "0.25 mi", "0.4 km"),
        (6.0, "USD/km", "$9.66/mi", "$6/km"),
        (0.15, "USD/kg", "$0.068/lb", "$0.15/kg"),
        (1.0, "USD/kg", "$0.45/lb", "$1/kg"),
        (30.0, "USD/d", "$30/d", "$30/d"),
        (2.5, "cm", "0.98 in", "2.5 cm"),
    ],
)
def test_what_animals_walk_and_prices_by_weight_are_told_in_a_persons_units(
    value: float, unit: str, acres: str, hectares: str
) -> None:
    assert (number(value, unit, "acres"), number(value, unit, "hectares")) == (acres, hectares)
