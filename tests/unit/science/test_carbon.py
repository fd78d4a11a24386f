"""Carbon that moves: what must hold whatever the numbers are."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import solve_ivp

from browseline.science import carbon, methane, nitrogen, spread, warming, wood

FLOW = st.lists(st.floats(0, 100), min_size=1, max_size=60)


@given(FLOW, st.floats(0.5, 100), st.floats(0, 100))
def test_products_are_those_of_the_differential_equation(
    flow: list[float], life: float, start: float
) -> None:
    """One year of dC/dt = inflow - k C by a general solver."""
    k = np.log(2) / life
    ours = carbon.products_stock(np.array(flow[:1]), life, start)[0]
    theirs = solve_ivp(lambda _, c: flow[0] - k * c, (0, 1), [start], rtol=1e-9, atol=1e-9).y[0, -1]
    assert ours == pytest.approx(theirs, rel=1e-6, abs=1e-7)


@given(FLOW, st.floats(0.5, 100))
def test_products_never_hold_more_than_came_in(flow: list[float], life: float) -> None:
    stock = carbon.products_stock(np.array(flow), life)
    assert (stock <= np.cumsum(flow) + 1e-9).all()
    assert (stock >= 0).all()


def test_firewood_keeps_nothing() -> None:
    assert carbon.products_stock(np.array([5.0, 5.0]), 0.0).sum() == 0
    assert carbon.left_after(np.array([0.0, 1.0]), np.array(0.0)) == pytest.approx([1, 0])
    assert np.isinf(carbon.decay_1_yr(np.array(0.0)))


def test_members_of_products_are_columns() -> None:
    flow = np.arange(12.0).reshape(4, 3)
    together = carbon.products_stock(flow, 35)
    assert together[:, 1] == pytest.approx(carbon.products_stock(flow[:, 1], 35))


@given(st.floats(10, 100), st.floats(0.5, 1.5), st.floats(0.5, 1.5))
def test_soil_falls_as_fast_as_it_rose_and_then_rests(stock: float, before: float, after: float) -> None:
    years = np.arange(-2.0, 40.0)
    rise = carbon.soil_change_t_c(stock, before, after, years)
    fall = carbon.soil_change_t_c(stock, after, before, years)
    assert rise == pytest.approx(-fall)
    assert rise.sum() == pytest.approx(stock * (after - before), abs=1e-9)
    assert (rise[:2] == 0).all()
    assert (rise[22:] == 0).all()


@given(st.floats(2.5, 120), st.floats(-3.5, -1.5), st.floats(2.1, 2.7))
def test_biomass_rises_with_the_stem_and_is_nothing_without_one(dbh: float, b0: float, b1: float) -> None:
    less, more = wood.aboveground_kg(np.array([dbh, dbh * 1.01]), b0, b1)
    assert 0 < less < more
    assert wood.aboveground_kg(np.array(0.0), b0, b1) == 0


def test_root_collar_by_hand() -> None:
    """exp(-0.35031 + 1.03991 ln 10) = 7.72 cm."""
    assert wood.breast_height_cm(np.array(10.0)) == pytest.approx(7.724, abs=0.005)


@given(st.lists(st.floats(0.1, 1000), min_size=2, max_size=30), st.integers(0, 300))
def test_a_sample_of_all_trees_has_no_error_and_of_endless_trees_that_of_scipy(
    values: list[float], more: int
) -> None:
    """scipy.stats.sem is the error without a finite population."""
    found = np.array(values)
    assert wood.sampling_error(found, len(found)) == 0
    finite = wood.sampling_error(found, len(found) + more)
    endless = stats.sem(found)
    assert finite <= endless + 1e-12
    assert wood.sampling_error(found, 10**12) == pytest.approx(endless, rel=1e-6, abs=1e-12)


def test_one_tree_of_many_says_nothing_of_its_error() -> None:
    assert np.isnan(wood.sampling_error(np.array([3.0]), 10))


@given(st.integers(2, 200), st.floats(0.5, 0.99))
def test_student_factor_is_that_of_scipy(sampled: int, share: float) -> None:
    assert wood.student_factor(sampled, share) == pytest.approx(stats.t.ppf(0.5 + share / 2, sampled - 1))


@given(st.floats(0.01, 1), st.floats(0.5, 0.99))
def test_equation_range_is_that_of_scipy(log_error: float, share: float) -> None:
    low, high = wood.equation_range(log_error, share)
    assert (low, high) == pytest.approx(stats.lognorm.interval(share, log_error))
    assert low * high == pytest.approx(1)


@given(st.floats(-8, 2), st.floats(0.05, 1.5), st.floats(0.01, 0.99))
def test_lognormal_is_that_of_scipy(mu: float, sigma: float, share: float) -> None:
    theirs = stats.lognorm(sigma, scale=np.exp(mu))
    assert spread.lognormal_mean(mu, sigma) == pytest.approx(theirs.mean())
    assert spread.lognormal_point(mu, sigma, np.array(share)) == pytest.approx(theirs.ppf(share))


def test_star_of_a_steady_herd_a_new_one_and_one_that_went() -> None:
    """carbon.md section 6: 54 t CO2e a year for 30 years after none, then none."""
    yearly = np.concatenate([np.full(30, 54.0), np.zeros(25)])
    series = warming.star_series(yearly)
    assert series[:20] == pytest.approx(np.full(20, 244.6), abs=0.05)
    assert series[20:30] == pytest.approx(np.full(10, 15.1), abs=0.05)
    assert series[30:50] == pytest.approx(np.full(20, -229.5), abs=0.05)
    assert series[50:] == pytest.approx(np.zeros(5))


def test_a_herd_that_shrank_by_six_percent_warms_no_further() -> None:
    left = 54 * (1 - warming.shrinkage_for_none(warming.PRINTED))
    assert warming.star_series(np.array([left]), 54.0) == pytest.approx([0], abs=1e-9)


def test_milk_holds_nitrogen_and_a_cold_winter_costs_energy() -> None:
    """By hand: 20 kg at 3.2 % is 0.1003 kg N; 10 C below 20 C adds 0.048."""
    assert nitrogen.kept_in_milk_kg_n_d(np.array(20.0), np.array(3.2)) == pytest.approx(0.1003, abs=5e-5)
    assert methane.cold_cfi(np.array(0.322), np.array([10.0, 25.0])) == pytest.approx([0.370, 0.322])


def test_a_tree_with_its_roots_by_hand() -> None:
    """100 kg x 1.46 x 0.48 x 44/12 = 256.96 kg CO2."""
    assert carbon.tree_kg_co2(np.array(100.0), np.array(0.46), np.array(0.48)) == pytest.approx(256.96)
