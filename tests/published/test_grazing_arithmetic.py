"""Grazing arithmetic against printed worked plans; each row of the CSV names its own source."""

import csv
import json
import math
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import ArrayLike

from browseline import units
from browseline.science import forage, grazing, stocking
from browseline.science.forage import Array

CASES = list(
    csv.DictReader(Path(__file__).with_name("grazing_arithmetic.csv").read_text("utf-8").splitlines())
)


def factor(top: str, bottom: str) -> float:
    """Return how many of the second unit one of the first holds."""
    return float(units.UNITS[top].factor / units.UNITS[bottom].factor)


def herd(pairs: int, aue_pair: float, bulls: int, aue_bull: float) -> float:
    """Return the animal units of pairs and bulls."""
    return stocking.animal_units([pairs, bulls], [aue_pair, aue_bull])


def metabolic(weight_lb: float) -> Array:
    """Return animal units by metabolic weight, 1000 lb being one unit."""
    return stocking.animal_units_by_weight(weight_lb, 1000, power=0.75)


RESULT: dict[str, Callable[..., ArrayLike]] = {
    "animal units of a herd": herd,
    "paddocks from rest and stay": stocking.paddocks_needed,
    "paddocks from rest and stay, rounded up": lambda **k: math.ceil(stocking.paddocks_needed(**k)),
    "area of a paddock": lambda area_acre, paddocks: area_acre / paddocks,
    "available forage above the stop height": lambda start_in, stop_in, lb_acre_in: stocking.available_kg_ha(
        start_in, stop_in, lb_acre_in
    ),
    "paddock area per animal unit": lambda lb_au_d, stay_d, utilisation_pct, lb_acre: stocking.area_ha(
        lb_au_d, stay_d, lb_acre, utilisation_pct / 100
    ),
    "daily demand of a mob": lambda head, weight_lb, intake_pct_bw: stocking.demand_kg_d(
        head, weight_lb, intake_pct_bw / 100
    ),
    "forage on offer per day": lambda demand_lb_d, efficiency_pct: stocking.offer_kg_d(
        demand_lb_d, efficiency_pct / 100
    ),
    "forage needed for a stay": lambda offer_lb_d, stay_d: offer_lb_d * stay_d,
    "mean cover": lambda total_kg, area_ha: stocking.mean_cover_kg_ha([total_kg / area_ha], [area_ha]),
    "growth per day between two masses": lambda mass_after_kg_ha, mass_before_kg_ha, days: (
        stocking.rate_between_kg_ha_d(mass_after_kg_ha, mass_before_kg_ha, days)
    ),
    "yearly forage of a ewe": lambda weight_lb, intake_pct_bw: (
        365 * stocking.demand_kg_d(1, weight_lb, intake_pct_bw / 100)
    ),
    "animal units of a ewe": lambda lb_yr, lb_yr_au: stocking.animal_units_by_weight(lb_yr, lb_yr_au),
    "animal units by weight": lambda weight_lb: stocking.animal_units_by_weight(weight_lb, 1000),
    "animal units by metabolic weight": metabolic,
    "forage of an animal unit month": lambda lb_d, days: lb_d * days,
    "dry matter to as-fed mass": lambda dm_lb, moisture_pct: stocking.as_fed_kg(dm_lb, moisture_pct / 100),
    "lb per acre-inch to kg per hectare-centimetre": lambda lb_acre_in: (
        lb_acre_in * factor("lb/ac/in", "kg/ha/cm")
    ),
    "kg per hectare to lb per acre": lambda kg_ha: kg_ha * factor("kg/ha", "lb/ac"),
    "earliest return after a stay, least rest": lambda stay_d, rest_d, groups: stocking.paddocks_needed(
        rest_d, stay_d, groups
    ),
    "share of the farm resting": lambda groups, paddocks: stocking.resting_frac(groups, paddocks),
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['id']} {c['source']}")
def test_against_the_worked_plan(case: dict[str, str]) -> None:
    result = RESULT[case["function"]](**json.loads(case["inputs"]))
    slack = max(float(case["tolerance"]), 1e-12)
    assert float(np.asarray(result)) == pytest.approx(float(case["expected"]), abs=slack)


def test_days_of_grass_ahead_with_and_without_growth() -> None:
    # forage.md section 5: 3.0 ac, 8 in, 4.4 lb x 60, stop 4 in, 275 lb/ac/in, 70 % eaten: 8.75 d
    still = stocking.grass_ahead_d([3.0], [8.0], [4.0], [275.0], [0.7], 60 * 4.4)
    growing = stocking.grass_ahead_d([3.0], [8.0], [4.0], [275.0], [0.7], 60 * 4.4, [61.0])
    assert still == pytest.approx(8.75, abs=1e-12)
    # two paddocks, 2310 lb within reach, 264 lb a day eaten of which 128.1 lb regrow
    assert growing == pytest.approx(float(Fraction(2310) / (264 - Fraction("128.1"))), abs=1e-9)
    assert math.isinf(stocking.grass_ahead_d([3.0], [8.0], [4.0], [275.0], [0.7], 60 * 4.4, [126.0]))


def test_the_compiled_days_end_where_the_stick_says() -> None:
    # forage.md section 5, the same paddock walked day by day without growth: 8.75 d
    cool = forage.Group(3.0, 0.6, 5.0, 0.0445, 4.0, 13.0, 20.0, 35.0, 0.033, 0.68, 0.6, 6000.0)
    leaf = grazing.leaf_of([cool], 250.0, 1000.0)
    length, lb_ac, acre = 12, float(units.UNITS["lb/ac"].factor), float(units.UNITS["ac"].factor)
    land = grazing.Paddocks(np.zeros(1, np.int64), np.ones((1, 1)), np.array([3.0 * acre]), np.zeros(1))
    flat = np.zeros((length, 1))
    days = grazing.Days(np.zeros((1, 1, length, 1)), np.zeros((1, 1, length)), flat, flat + np.inf)
    stays = grazing.stays_of(length, [0], [0], [0.0], [float(length)], [0.7])
    demand = np.full((1, length, 1), 60 * 4.4 * float(units.UNITS["lb"].factor))
    out = grazing.run([[8 * 275 * lb_ac]], [[0.5]], demand, land, days, stays, leaf)
    assert grazing.crossing_d(out.mass_kg_ha[0, :, 0], 4 * 275 * lb_ac) == pytest.approx(8.75, abs=1e-9)
    wanted = np.full(length, float(demand[0, 0, 0]) / 0.7 / (3.0 * acre))
    alone = grazing.one_paddock(
        8 * 275 * lb_ac, wanted, 0.0, flat[:, 0] + np.inf, flat[:, 0], 0.5, np.zeros((length, 1)),
        np.zeros(length), np.ones(1), leaf,
    )  # fmt: skip
    assert alone.mass_kg_ha == pytest.approx(out.mass_kg_ha[0, :, 0], abs=1e-9)
