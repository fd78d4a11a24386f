"""Single equations against a printed value, each with its source beside it.

Where a value is recalled, not read, the case says so. What needs many equations at once stands in the tables.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from browseline.science import animals, carbon, crop, finance, methane, nitrogen, warming, wood, worms
from browseline.units import factor

STEMS = "4.8 5.1 5.5 5.9 6.2 4.4 5.0 5.7 6.0 6.6 3.9 5.3 5.6 6.1 4.6 5.2 5.8 6.4 4.1 5.4"
"""Twenty stems measured out of 294 (scenario P13). [in]"""


def a(*values: float) -> NDArray[np.float64]:
    """Return numbers as an array; a single one without a length."""
    return np.array(values if len(values) > 1 else values[0], dtype=float)


def stems_kg() -> NDArray[np.float64]:
    """Return dry matter above ground of the twenty, chojnacky2014 Table 5, deciduous Fagaceae. [kg]"""
    return wood.aboveground_kg(a(*map(float, STEMS.split())) * factor("in", "cm"), -2.0705, 2.4410)


def test_gross_energy_of_the_steer() -> None:
    """Case W3, checks C028-C031: 20.24468 + 3.44160 kept, 7.72203 grown, 65 % digestible."""
    kept = 20.24468 + 0.17 * 20.24468
    assert methane.gross_energy_mj_d(a(kept), a(7.72203), a(65.0)) == pytest.approx(109.43176, abs=5e-5)


def test_cold_winter_raises_maintenance() -> None:
    """ipcc2006_v4_ch10, Eq 10.2: 0.0048 MJ/d/kg^0.75 for each degree below 20 C, none above."""
    assert methane.cold_cfi(a(0.322), a(20.0, 25.0, 10.0)) == pytest.approx([0.322, 0.322, 0.370], abs=1e-12)


def test_nitrogen_in_milk() -> None:
    """6.38 kg of milk protein hold a kilogram of nitrogen (factor of Eq 10.33; the food trade's own)."""
    assert nitrogen.kept_in_milk_kg_n_d(a(31.9), a(2.0)) == pytest.approx(0.1, abs=1e-12)


def test_nitrous_oxide_of_a_hectare_of_maize() -> None:
    """Checks C155-C159: 162.5 kg N spread, 86.6 kg in residues; 5.228 kg N2O in all."""
    ways = crop.crop_kg_n2o_ha(*map(a, (162.5, 86.6, 0.01, 0.11, 0.01, 0.24, 0.011)))
    assert ways == pytest.approx([2.554, 1.361, 0.281, 1.033], abs=1e-3)
    assert ways.sum() == pytest.approx(5.228, abs=2e-3)


def test_a_row_of_oaks() -> None:
    """Scenario P13: 77.0 kg a tree, standard error 5.4, 58.2 t of carbon dioxide, 51.2 to 65.2 (90 %)."""
    kg = stems_kg()
    each_t = carbon.tree_kg_co2(kg, a(0.46), a(0.48)) * 294 / 1000
    error, t = wood.sampling_error(kg, 294), wood.student_factor(20, 0.9)
    assert kg.mean() == pytest.approx(77.0, abs=0.05)
    assert error == pytest.approx(5.4, abs=0.05)
    assert each_t.mean() == pytest.approx(58.2, abs=0.05)
    half = t * error / kg.mean() * each_t.mean()
    assert (each_t.mean() - half, each_t.mean() + half) == pytest.approx((51.2, 65.2), abs=0.1)


def test_student_factor_is_that_of_printed_tables() -> None:
    """Two-sided 90, 95 and 99 % for 4, 9 and 19 degrees of freedom: any table of the distribution."""
    printed = [(5, 0.9, 2.132), (10, 0.95, 2.262), (20, 0.9, 1.729), (20, 0.99, 2.861)]
    assert [wood.student_factor(n, share) for n, share, _ in printed] == pytest.approx(
        [t for _, _, t in printed], abs=5e-4
    )


def test_one_tree_lies_within_its_equation() -> None:
    """jenkins2003 Table 4, mixed hardwood: 0.360 on the logarithm; scipy's lognormal holds 90 % between."""
    low, high = wood.equation_range(0.360, 0.9)
    spread = stats.lognorm(0.360)
    assert (spread.cdf(low), spread.cdf(high)) == pytest.approx((0.05, 0.95), abs=1e-9)


def test_breast_height_of_a_woodland_tree() -> None:
    """chojnacky2014: ln dbh = -0.35031 + 1.03991 ln drc, turned back into the collar."""
    stem = wood.breast_height_cm(a(10.0, 25.0, 60.0))
    assert np.exp((np.log(stem) + 0.35031) / 1.03991) == pytest.approx([10.0, 25.0, 60.0])
    assert stem[0] == pytest.approx(7.723, abs=5e-4)


def test_products_without_more_wood_decay() -> None:
    """Checks C169: 10 t of carbon in sawn wood, half gone after 35 years, is 8.203 t after ten."""
    left = carbon.products_stock(np.zeros(10), 35.0, 10.0)
    assert left[-1] == pytest.approx(8.203, abs=5e-4)


def test_products_of_a_steady_inflow_near_inflow_over_decay() -> None:
    """ipcc2019_v4_ch12, Eq 12.3: a steady stock is inflow over k."""
    stock = carbon.products_stock(np.full(2_000, 3.0), 35.0)
    assert stock[-1] == pytest.approx(3.0 / (np.log(2) / 35.0), rel=1e-9)


def test_warming_of_a_new_herd() -> None:
    """Checks C164-C166, smith2021: 54 t a year warm as 244.6 t for twenty years, then 15.1 t."""
    stream = warming.star_series(np.full(25, 54.0))
    assert stream[:20] == pytest.approx(np.full(20, 244.6), abs=0.05)
    assert stream[20:] == pytest.approx(np.full(5, 15.1), abs=0.05)


def test_a_heavier_ewe_eats_in_proportion() -> None:
    """ohio_sheep2023 Table 1: 4.4 lb for 150 lb in milk is 2.9 %; so 5.28 lb for 180 lb."""
    assert animals.scaled_by_weight(4.4, 150.0, 180.0) == pytest.approx(5.28)


def test_larvae_at_twenty_degrees() -> None:
    """levine1980 as quoted: 95 to 144 C d above 0 C, so 4.8 to 7.2 d at 20 C."""
    steady = np.full((1, 30), 20.0)
    assert worms.development_d(steady, 0.0, 95.0)[0] == pytest.approx(4.75)
    assert worms.development_d(steady, 0.0, 144.0)[0] == pytest.approx(7.2)
    assert np.isinf(worms.development_d(np.full((1, 9), -3.0), 0.0, 95.0)[0])


def test_wet_first_days() -> None:
    """A ratio of sums: 12 mm over three days that dry 4 mm each is 1."""
    assert worms.moisture_ratio([[12.0, 0.0, 0.0]], [[4.0, 4.0, 4.0]])[0] == pytest.approx(1.0)


def test_cash_of_fifteen_years() -> None:
    """Scenario P12, base: payment 5,104.93; coverage 1.41 in year 1; deepest -8,390, in year 1."""
    payment = finance.level_payment(48_000.0, 0.065, 15)
    assert payment == pytest.approx(5_104.93, abs=0.005)
    care = 3.0 * 327
    available = 84 * 215.0 - 60 * 105.0 - 3_600.0 - care
    assert finance.coverage(a(available), a(payment)) == pytest.approx(1.41, abs=0.005)
    total = finance.running_total(np.array([available - payment - 327 * 32.0]))
    assert total[0] == pytest.approx(-8_390, abs=0.5)


def test_land_of_two_crops_on_one_field() -> None:
    """As textbooks define it (from memory): 3 of 4 t and 1.5 of 3 t need 1.25 of the land."""
    assert crop.land_equivalent(a(3.0, 1.5), a(4.0, 3.0)) == pytest.approx(1.25)


def test_diets_in_common() -> None:
    """animut2008 as used in C434: half in common is the lesser of each part, summed."""
    assert animals.diet_overlap_pct([80.0, 10.0, 10.0], [30.0, 10.0, 60.0]) == pytest.approx(50.0)


def test_water_between_two_printed_warmths() -> None:
    """ksu_watering prints 6.0 gal (22.7 L) at 40 F for a wintering cow; halfway lies between."""
    cool, warm = 22.7, 55.0
    assert animals.water_at_l_d(15.0, 5.0, 25.0, cool, warm) == pytest.approx((cool + warm) / 2)
