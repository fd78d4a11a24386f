"""Indices of heat and energy in cold, beside the worked cases of the reference shelf."""

import csv
from pathlib import Path

import numpy as np
import pytest

from browseline.science.heat import cold_energy_pct, humidity_pct, thi, thi_first_form

HERE = Path(__file__).parent


def rows(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((HERE / name).read_text("utf-8").splitlines()))


@pytest.mark.parametrize("case", rows("heat.csv"), ids=lambda c: c["id"])
def test_index_of_heat(case: dict[str, str]) -> None:
    form = thi if case["function"] == "second" else thi_first_form
    found = form(np.array(float(case["temp_c"])), np.array(float(case["rh_pct"])))
    assert float(found) == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))


def test_the_two_forms_differ_by_no_more_than_is_said() -> None:
    """Conflict K08: at most 0.32 between 15 and 45 C. That holds from 9 % humidity; dry air adds 0.03."""
    temp, humid = np.meshgrid(np.linspace(15, 45, 61), np.linspace(9, 100, 92))
    assert np.max(np.abs(thi(temp, humid) - thi_first_form(temp, humid))) <= 0.32
    assert abs(thi(np.array(45.0), np.array(0.0)) - thi_first_form(np.array(45.0), np.array(0.0))) < 0.36


@pytest.mark.parametrize("case", rows("cold.csv"), ids=lambda c: c["id"])
def test_energy_in_cold(case: dict[str, str]) -> None:
    found = cold_energy_pct(*(float(case[k]) for k in ("lower_critical_f", "effective_f", "pct_per_f")))
    assert found == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))
    assert cold_energy_pct(32, 40, 1) == 0


def test_humidity_from_a_dew_point() -> None:
    """FAO-56 Example 4 in vapour pressure: 19.5 C dew point in air of 24.5 C is 2.267 ÷ 3.075 kPa."""
    found = humidity_pct(np.array([24.5, 19.5]), np.array([19.5, 25.0]))
    assert found[0] == pytest.approx(100 * 2.267 / 3.075, rel=0.01)
    assert found[1] == 100
