"""Rows of the table of yields against what their sources print, and turns of crops; bearing.csv."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from browseline import tables
from browseline.science import bearing
from browseline.units import factor

CASES = list(csv.DictReader(Path(__file__).with_name("bearing.csv").read_text("utf-8").splitlines()))
LB_KG = factor("lb", "kg")


def row(applies_to: str) -> tables.Row:
    return tables.row("yields", "tree_yield", applies_to)


def pods(kg_tree: list[float]) -> tuple[float, float | None]:
    return float(np.mean(kg_tree)), row("locust_honey, pods dry matter, 13-15").value


def bushels(trees: str, bushels: float, lb_bushel: float) -> tuple[float, float | None]:
    return bushels * lb_bushel * LB_KG, row(trees).value


def orchard(end: str, lb_acre: float, trees_acre: float) -> tuple[float, float | None]:
    return lb_acre * LB_KG / trees_acre, getattr(row("walnut_black, nuts hulled dry, 20-80"), end)


RESULT: dict[str, Callable[..., tuple[float, float | None]]] = {
    "three-year mean of honey locust pods": pods, "bushels to kilograms": bushels,
    "orchard yield per tree": orchard,
}  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['id']} {c['source']}")
def test_the_row_is_what_the_source_prints(case: dict[str, str]) -> None:
    """The table's row, and the source's own numbers worked out, both give the printed value."""
    worked, carried = RESULT[case["function"]](**json.loads(case["inputs"]))
    assert worked == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))
    assert carried == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))


def test_turns_leave_the_two_year_mean_and_are_measured_by_the_index() -> None:
    years = np.arange(2026, 2046)
    for depth in (0.5, 0.3, 0.1):
        crop = bearing.alternating(depth, years, np.zeros(20, dtype=int))
        np.testing.assert_allclose((crop[1:] + crop[:-1]) / 2, 1.0)
        assert bearing.alternation_index(crop) == pytest.approx(depth)
    assert np.isnan(bearing.alternation_index(np.zeros((4, 2)))).all()


def test_the_index_of_the_measured_locusts() -> None:
    """johnson2013: 15.8, 4.8, 14.7 kg; 11 / 20.6 and 9.9 / 19.5, mean 0.521: near the model's 0.5."""
    assert bearing.alternation_index(np.array([15.8, 4.8, 14.7])) == pytest.approx(0.521, abs=5e-4)


def test_ages_between_rows_lie_on_the_line_and_a_first_year_bears_nothing() -> None:
    first, last, kg = np.array([0.0, 4.0, 10.0]), np.array([3.0, 6.0, 12.0]), np.array([0.0, 1.0, 4.0])
    ages = np.array([-1.0, 0.0, 3.9, 4.0, 6.0, 8.0, 10.0, 12.0, 50.0])
    expected = [0.0, 0.0, 0.0, 1.0, 1.0, 2.5, 4.0, 4.0, 4.0]
    np.testing.assert_allclose(bearing.by_age(ages, first, last, kg), expected)


def test_frost_on_the_day_of_bloom_counts() -> None:
    left = bearing.left_by_frost(np.array([130.0, 131.0, np.nan]), np.array(131.0), 0.22)
    assert left.tolist() == [1.0, 0.22, 1.0]
