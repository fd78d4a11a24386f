"""Growth of trees against every worked case of the sheet (D10-D19, D21) and its rows; ids in trees.csv."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from browseline import tables
from browseline.canopy import book
from browseline.science import stands, trees_crown, trees_height, trees_open
from browseline.units import factor

CASES = list(csv.DictReader(Path(__file__).with_name("trees.csv").read_text("utf-8").splitlines()))
CURVES = list(tables.texts("site_index"))
FITS = list(tables.texts("open_grown"))
Stand = list[tuple[float, float]]


def height(si_id: str, site_index_ft: float, age_yr: float, **_: object) -> float:
    curve = book.curve(si_id)
    return float(trees_height.height_ft(curve.form, site_index_ft, age_yr, curve.b))


def per_acre(rule: Callable[[Stand], float]) -> Callable[..., float]:
    return lambda trees_per_acre_at_dbh_in: rule([(n, d) for n, d in trees_per_acre_at_dbh_in])


def small_crown(b0: float, b1: float, dbh_in: float, factor: float, **_: object) -> float:
    """The case gives the factor itself; the product's own must be the one of the table."""
    factors = [book.middle("small_tree_crown", f"{n} in") for n in range(1, 5)]
    assert float(trees_crown.small_tree_factor(dbh_in, factors)) == factor
    stem_cm = np.array([dbh_in * 2.54])
    return float(book.stand_crown_m("walnut_black")(stem_cm)[0] / 0.3048)


RESULT: dict[str, Callable[..., float]] = {
    "height by site index and age": height,
    "height by the fallback curve": lambda a_m, k_per_yr, p, age_yr, **_: float(
        trees_height.chapman_richards_m(age_yr, a_m, k_per_yr, p)
    ),
    "crown competition factor": per_acre(stands.crown_competition_pct),
    "basal area": per_acre(stands.basal_area_ft2_ac),
    "quadratic mean diameter": per_acre(stands.quadratic_mean_in),
    "stand density index": per_acre(stands.density_index),
    "upland stocking": per_acre(stands.upland_stocking_pct),
    "canopy cover, random overlap": per_acre(
        lambda stand: 100 * float(trees_crown.cover_at_random(stands.crown_competition_pct(stand) / 100))
    ),
    "basal area, US units to metric": lambda ft2_acre: ft2_acre * factor("ft2", "m2") / factor("ac", "ha"),
    "dbh growth from the growth factor": lambda growth_factor_yr_in, **_: (
        factor("cm", "in")
        * float(trees_open.factor_stem_cm(1.0, factor("in", "cm") / growth_factor_yr_in, 1.0, 1.0))
    ),
    "dbh growth of the best pasture walnuts": lambda dbh_in, age_yr: dbh_in / age_yr,
    "crown width from dbh": lambda b0, b1, dbh_in, **_: float(trees_crown.crown_width(dbh_in, b0, b1)),
    "crown width below 5 in": small_crown,
    "leaf area density of an ellipsoid crown": lambda half_depth_m, crown_lai, **_: float(
        trees_crown.leaf_density_m2_m3(crown_lai, half_depth_m)
    ),
    "leaf area of an open-grown park tree": lambda crown_height_m, crown_diameter_m, shade_fraction: (
        trees_crown.park_leaf_area_m2(crown_height_m, crown_diameter_m, shade_fraction)
    ),
    "crown leaf area index": lambda leaf_area_m2, crown_diameter_m: (
        leaf_area_m2 / float(trees_crown.footprint_m2(crown_diameter_m))
    ),
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['id']} {c['sheet']} {c['source']}")
def test_against_the_worked_case(case: dict[str, str]) -> None:
    result = RESULT[case["function"]](**json.loads(case["inputs"]))
    assert result == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))


def test_the_product_carries_the_numbers_of_the_cases() -> None:
    """D21 and C385, C407, C408 name constants; the tables hold the same ones."""
    fallback = [book.middle(key, "walnut_black") for key in ("cr_a", "cr_k", "cr_p")]
    assert fallback == [26, 0.038, 1.1]
    assert book.middle("growth_factor", "walnut_black") == 4.5
    assert book.crown_width("hickory_shagbark").width_m(np.array([12 * 2.54]))[0] / 0.3048 == pytest.approx(
        25.068
    )
    assert book.stand_crown_m("walnut_black")(np.array([10 * 2.54]))[0] / 0.3048 == pytest.approx(20.83)


@pytest.mark.parametrize("row", CURVES, ids=lambda r: r["id"])
def test_height_at_the_base_age_is_the_site_index(row: dict[str, str]) -> None:
    """carmean1989 rows were kept where H(base) = S within 2 %; scott_voorhis1986 is not constrained so."""
    curve = book.curve(row["id"])
    base = float(row["base_age_yr"])
    found = float(trees_height.height_ft(curve.form, 60.0, base, curve.b))
    loose = row["form"] == "scott_voorhis"
    assert found == pytest.approx(60, rel=0.35 if loose else 0.021)


@pytest.mark.parametrize("row", CURVES, ids=lambda r: r["id"])
def test_the_inverse_gives_the_site_index_back_at_young_ages_too(row: dict[str, str]) -> None:
    curve = book.curve(row["id"])
    low = 40.0 if row["base_age_yr"] != "20" else 30.0
    sites, ages = np.meshgrid([low, 60.0, 75.0], [8.0, 12.0, 20.0, 25.0])
    tall = trees_height.height_ft(curve.form, sites, ages, curve.b)
    assert trees_height.site_index_ft(curve.form, tall, ages, curve.b) == pytest.approx(sites, abs=1e-6)


@pytest.mark.parametrize("row", FITS, ids=lambda r: r["id"])
def test_fits_of_free_standing_trees_give_their_check_value(row: dict[str, str]) -> None:
    """utd2016_raw: x_check and y_check of every row; y_check has four figures."""
    relation = book.relation_of(row)
    found = float(trees_open.mean_size(relation, float(row["x_check"])))
    assert found == pytest.approx(float(row["y_check"]), rel=5e-4)


SHEET_AT_20 = {
    "maple_silver": 43, "oak_northern_red": 39, "maple_sugar": 39, "mulberry": 38, "pine_slash": 38,
    "sycamore": 36, "pine_loblolly": 35, "oak_white": 35, "locust_black": 32,
    "locust_honey": 31, "walnut_black": 29, "oak_bur": 29, "pecan": 27, "tulip_poplar": 27,
}  # fmt: skip


@pytest.mark.parametrize(("species", "stem_cm"), SHEET_AT_20.items())
def test_stem_at_twenty_years_as_the_sheet_lists_it(species: str, stem_cm: float) -> None:
    """trees.md 1.4: dbh at 20 yr from planting, cities pooled, to the centimetre."""
    pooled = book.nearest(book.fits(species)[book.STEM], ())[1]
    assert float(trees_open.mean_size(pooled.relation, 20.0)) == pytest.approx(stem_cm, abs=0.5)
