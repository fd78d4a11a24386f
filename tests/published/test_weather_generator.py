"""The generator's matrices and rain against the cases of weather_generator.csv."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browseline import tables
from browseline.science import generator

CASES = list(
    csv.DictReader(Path(__file__).with_name("weather_generator.csv").read_text("utf-8").splitlines())
)
NAMES = ("tmax", "tmin", "rs")


def row(key: str, applies_to: str = "wet days") -> float:
    """Return the number of a coefficient."""
    return tables.row("weather", key, applies_to).middle()


def element(which: int) -> Callable[..., float]:
    """Return one element of A (0) or B (1) from the lag correlations."""

    def of(row: str, column: str, m0: list[list[float]], m1: list[list[float]]) -> float:
        matrix = generator.day_to_day(np.array(m0), np.array(m1))[which]
        return float(matrix[NAMES.index(row), NAMES.index(column)])

    return of


def gamma_of(which: int) -> Callable[..., float]:
    """Return shape (0) or scale (1) of wet-day rain, without a threshold as Geng has it."""

    def of(mean_wet_mm: float) -> float:
        pair = generator.amount_shape_scale(
            np.array([mean_wet_mm]), np.zeros(1), row("gen_scale_intercept"), row("gen_scale_slope"),
            row("gen_exponential_below"),
        )  # fmt: skip
        return float(pair[which][0])

    return of


def settled(wet_share: float) -> float:
    """Return the share to which the chain of a steady climate settles."""
    share = np.array([wet_share])
    chances = generator.wet_chances(share, share, row("gen_persistence"))
    return float(generator.stationary_wet_share(*chances)[0])


RESULT: dict[str, Callable[..., Any]] = {
    "one element of matrix A from the lag correlations": element(0),
    "one element of matrix B from the lag correlations": element(1),
    "mean rain of a wet day": lambda month_rain_mm, wet_days: generator.wet_day_rain_mm(
        np.array([float(month_rain_mm)]), np.array([float(wet_days)])
    )[0],
    "gamma scale of wet-day rain": gamma_of(1),
    "gamma shape of wet-day rain": gamma_of(0),
    "stationary share of wet days": settled,
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['id']} {c['source']}")
def test_against_the_worked_case(case: dict[str, str]) -> None:
    result = RESULT[case["function"]](**json.loads(case["inputs"]))
    assert float(result) == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))


def test_tables_hold_the_matrices_that_the_cases_check() -> None:
    # richardson_wright1984, A and B matrices
    for case in CASES:
        if "matrix" in case["function"]:
            inputs = json.loads(case["inputs"])
            key = "gen_a" if "matrix A" in case["function"] else "gen_b"
            assert row(key, f"{inputs['row']},{inputs['column']}") == float(case["expected"])


def test_chances_of_a_steady_climate_are_gengs() -> None:
    # geng1986: 0.75 f after a dry day, 0.25 more after a wet one
    share = np.array([0.1, 0.3, 0.6])
    after_dry, after_wet = generator.wet_chances(share, share, row("gen_persistence"))
    assert after_dry == pytest.approx(0.75 * share)
    assert after_wet == pytest.approx(0.25 + 0.75 * share)
