"""Every term of the worked animals of ipcc2019_v4_ch10 (W1-W6) and of three default dairy cows (P1-P3).

The terms stand in worked_animals.csv; the inputs, in words there, are the same numbers here.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browseline.science import methane
from browseline.science.animal_energy import Animal, energies

ROWS = list(csv.DictReader(Path(__file__).with_name("worked_animals.csv").read_text("utf-8").splitlines()))
EWE: Mapping[str, Any] = {
    "kind": "sheep", "weight_kg": 70, "cfi": 0.217, "ca": 0.0107, "weaning_gain_kg": 20, "ev_milk_mj_kg": 4.6,
    "c_pregnancy": 0.077, "wool_kg_yr": 4, "ev_wool_mj_kg": 24, "digestible_pct": 65, "lost_pct": 6.7,
}  # fmt: skip
COW: Mapping[str, Any] = {"kind": "cattle", "cfi": 0.386, "fat_pct": 4.0, "c_pregnancy": 0.1}
ANIMALS: Mapping[str, Mapping[str, Any]] = {
    "W1": EWE,
    "W1b": {**EWE, "lost_pct": 6.5},
    "W2": {**COW, "weight_kg": 500, "ca": 0.17, "milk_kg_d": 4, "share_pregnant": 0.85, "digestible_pct": 60,
           "lost_pct": 7.0},
    "W3": {"kind": "cattle", "weight_kg": 250, "mature_kg": 600, "gain_kg_d": 0.7, "cfi": 0.322, "ca": 0.17,
           "digestible_pct": 65, "lost_pct": 6.3},
    "W4": {"kind": "goat", "weight_kg": 50, "cfi": 0.315, "ca": 0.019, "milk_kg_d": 1, "ev_milk_mj_kg": 3.0,
           "c_pregnancy": 0.126, "digestible_pct": 65, "lost_pct": 5.5},
    "W5": {"kind": "sheep", "weight_kg": 35, "cfi": 0.236, "ca": 0.0107, "start_kg": 25, "end_kg": 45,
           "growth_a": 2.1, "growth_b": 0.45, "wool_kg_yr": 2.5, "ev_wool_mj_kg": 24, "digestible_pct": 65,
           "lost_pct": 6.7},
    "W6": {"kind": "cattle", "weight_kg": 800, "cfi": 0.37, "ca": 0.17, "digestible_pct": 60,
           "lost_pct": 7.0},
    "P1": {**COW, "weight_kg": 600, "ca": 0, "milk_kg_d": 23.0, "share_pregnant": 0.9, "digestible_pct": 75,
           "lost_pct": 6.5},
    "P2": {**COW, "weight_kg": 600, "ca": 0, "milk_kg_d": 16.4, "share_pregnant": 0.9, "digestible_pct": 70,
           "lost_pct": 6.5},
    "P3": {**COW, "weight_kg": 275, "ca": 0, "milk_kg_d": 2.5, "share_pregnant": 0.5, "digestible_pct": 55,
           "lost_pct": 6.5},
}  # fmt: skip


def terms(said: Mapping[str, Any]) -> dict[str, Any]:
    """Return every term of an animal by the name that the sheet gives it."""
    inputs = dict(said)
    lost, digestible = np.array(inputs.pop("lost_pct")), np.array(inputs["digestible_pct"])
    found = energies(Animal(**inputs))
    solids = methane.solids_kg_d(found.gross, digestible, 0.04, 0.08)
    return {
        "Cfi": inputs["cfi"], "NEm": found.maintenance, "NEa": found.activity, "NEl": found.milk,
        "NEp": found.pregnancy, "NEwork": found.work, "NEg": found.gain, "NEwool": found.wool,
        "REM": methane.maintenance_ratio(digestible), "REG": methane.growth_ratio(digestible),
        "GE": found.gross, "DMI": methane.intake_kg_dm_d(found.gross),
        "EF": methane.enteric_kg_ch4_yr(found.gross, lost), "VS": solids,
        "pasture CH4": methane.dung_kg_ch4(methane.DAYS * solids, 0.19, 0.47, 0.67),
    }  # fmt: skip


def half_a_digit(text: str) -> float:
    decimals = len(text.partition(".")[2])
    return 0.51 * 10.0**-decimals


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['case']} {r['quantity']} {r['source']}")
def test_every_term_of_a_worked_animal(row: dict[str, str]) -> None:
    found = float(terms(ANIMALS[row["case"]])[row["quantity"]])
    assert found == pytest.approx(float(row["expected"]), abs=max(half_a_digit(row["expected"]), 1e-5))


@pytest.mark.parametrize(("case", "printed"), [("P1", 128), ("P2", 117), ("P3", 58)])
def test_printed_default_factors(case: str, printed: int) -> None:
    """ipcc2006_v4_ch10, Table 10.11: North America, Western Europe, Indian Subcontinent."""
    assert round(float(terms(ANIMALS[case])["EF"])) == printed


def test_members_are_columns() -> None:
    weights = np.array([60.0, 70.0, 80.0])
    together = energies(Animal(**{k: v for k, v in {**EWE, "weight_kg": weights}.items() if k != "lost_pct"}))
    for n, weight in enumerate(weights):
        alone = terms({**EWE, "weight_kg": weight})
        assert together.gross[n] == pytest.approx(float(alone["GE"]))
