"""Runoff by curve number against the cases of runoff.csv."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browseline import tables
from browseline.science import water
from browseline.units import factor

CASES = list(csv.DictReader(Path(__file__).with_name("runoff.csv").read_text("utf-8").splitlines()))
AVERAGE = tables.applies("soil", "curve_number_dry")

RESULT: dict[str, Callable[..., Any]] = {
    "storm runoff by curve number": lambda rain_in, cn: (
        water.runoff_mm(rain_in * factor("in", "mm"), float(cn)) * factor("mm", "in")
    ),
    "curve number of half woods, half pasture": lambda cn_woods, cn_pasture, share_woods: (
        water.mixed_curve_number(cn_woods, cn_pasture, share_woods)
    ),
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['id']} {c['source']}")
def test_against_the_worked_case(case: dict[str, str]) -> None:
    result = RESULT[case["function"]](**json.loads(case["inputs"]))
    assert float(result) == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))


def moisture(number: float) -> tuple[float, float, float]:
    """Return dry, average and wet curve number from the table."""
    order = sorted(AVERAGE, key=float)
    dry, wet = (
        np.array([tables.row("soil", key, at).middle() for at in order])
        for key in ("curve_number_dry", "curve_number_wet")
    )
    return water.curve_numbers_by_moisture(number, np.array([float(at) for at in order]), dry, wet)


def test_moisture_table_is_met_at_its_rows_and_halved_between() -> None:
    # scs_neh4_1985, Table 10.1: 80 -> 63, 91; 70 -> 51, 85
    assert moisture(80.0) == (63.0, 80.0, 91.0)
    assert moisture(75.0) == (57.0, 75.0, 88.0)
    assert moisture(15.0) == (7.5, 15.0, 25.0)


def test_the_soil_store_chooses_the_class() -> None:
    below = tables.row("soil", "moisture_dry_below", "soil store").middle()
    above = tables.row("soil", "moisture_wet_above", "soil store").middle()
    chosen = [water.curve_number_today(w, (63.0, 80.0, 91.0), below, above) for w in (0.2, 0.35, 0.8, 0.9)]
    assert chosen == [63.0, 80.0, 80.0, 91.0]


def test_retention_of_the_storm() -> None:
    # tr55, eq. 2-4: 1000 / 75 - 10 = 3.33 in
    assert water.retention_mm(75.0) * factor("mm", "in") == pytest.approx(3.33, abs=0.005)
