"""Trees per acre by spacing against printed tables; each row of the CSV names its own source."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from browseline.farm.map_area import geodesic_area_m2
from browseline.layout.measure import geodesic_m
from browseline.science.spacing import alley_for_passes_m, passes_in, trees_per_ha, trees_per_ha_triangle
from browseline.units import factor

CASES = list(csv.DictReader(Path(__file__).with_name("layout.csv").read_text("utf-8").splitlines()))
FT, ACRE = factor("ft", "m"), factor("trees/ha", "trees/ac")

RESULT: dict[str, Callable[..., float]] = {
    "trees per acre of single rows": lambda in_row_ft, row_ft: (
        trees_per_ha(in_row_ft * FT, row_ft * FT) * ACRE
    ),
    "trees per acre of double rows": lambda in_row_ft, row_ft, alley_ft: (
        trees_per_ha(in_row_ft * FT, alley_ft * FT, 2, row_ft * FT) * ACRE
    ),
    "trees per acre of an equilateral triangle": lambda spacing_ft: (
        trees_per_ha_triangle(spacing_ft * FT) * ACRE
    ),
    "trees per hectare": lambda in_row_m, row_m: trees_per_ha(in_row_m, row_m),
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["id"])
def test_trees_per_area(case: dict[str, str]) -> None:
    found = RESULT[case["function"]](**json.loads(case["inputs"]))
    assert found == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]) + 1e-9)


def test_every_function_has_a_case() -> None:
    assert {case["function"] for case in CASES} == set(RESULT)


def test_triple_rows_by_hand() -> None:
    """Three rows 8 ft apart, trees 8 ft apart, 40 ft alley: 43,560 x 3 / (8 x 56) = 291.7 an acre."""
    assert trees_per_ha(8 * FT, 40 * FT, 3, 8 * FT) * ACRE == pytest.approx(291.7, abs=0.05)


def test_whole_passes_by_hand() -> None:
    """Three passes of 12 ft and 4 ft free on each side make 44 ft."""
    assert alley_for_passes_m(3, 12, 4) == 44
    assert passes_in(44, 12, 4) == 3
    assert passes_in(50, 12, 4) == 3.5
    assert passes_in(6, 12, 4) == 0


def test_antarctica_of_the_planimeter_manual() -> None:
    """The outline printed in GeographicLib's documentation of its polygon tool: 13662703680020.1 m2."""
    ring = (
        (-58, -63.1), (-74, -72.9), (-102, -71.9), (-102, -74.9), (-131, -74.3), (-163, -77.5),
        (163, -77.4), (172, -71.7), (140, -65.9), (113, -65.7), (88, -66.6), (59, -66.9), (25, -69.8),
        (-4, -70.0), (-14, -71.0), (-33, -77.3), (-46, -77.9), (-61, -74.7), (-58, -63.1),
    )  # fmt: skip
    perimeter = geodesic_m([ring])
    assert abs(geodesic_area_m2([ring])) == pytest.approx(13662703680020.1, rel=1e-9)
    assert perimeter == pytest.approx(16831067.893, abs=0.01)
