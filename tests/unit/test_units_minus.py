"""One minus for people: what is told, and what is typed back."""

from __future__ import annotations

import pytest

from browseline.units import MINUS, parse, plain, shown, true_minus


@pytest.mark.parametrize(
    ("number", "digits", "told"),
    [
        (-8390.2, None, "−8,390"),
        (-12.34, None, "−12.3"),
        (-0.25, None, "−0.25"),
        (-0.001, None, "0"),
        (3.0, 1, "3"),
    ],
)
def test_a_number_below_nothing_has_a_true_minus(number: float, digits: int | None, told: str) -> None:
    assert plain(number, digits) == told


def test_a_mass_below_nothing_too() -> None:
    assert shown(-453.59237, "mass", "acres", 0) == f"{MINUS}1,000 lb"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("-3 × 4 kg", "−3 × 4 kg"), ("5 − (-2 + 3)", "5 − (−2 + 3)"), ("$-3", "$−3"), ("+4 %", "+4 %"),
        ("3-9 % a year", "3-9 % a year"), ("2026-05-04", "2026-05-04"), ("4e-05 t", "4e-05 t"),
        ("10-12-10", "10-12-10"), ("rye-grass -", "rye-grass -"),
    ],
)  # fmt: skip
def test_only_what_is_below_nothing_changes(text: str, told: str) -> None:
    assert true_minus(text) == told


def test_what_is_printed_can_be_typed_again() -> None:
    assert parse("−3 C", "temperature").value == parse("-3 C", "temperature").value == -3
