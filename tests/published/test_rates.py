"""Rates that counts teach, and quantiles of the gamma distribution: scipy's own answers beside ours."""

import pytest
from scipy import stats

from browseline.science.shares import gamma_quantile, rate_learnt


@pytest.mark.parametrize(("found", "tree_days"), [(0.0, 0.0), (5.0, 60.0), (0.0, 120.0), (12.0, 40.0)])
def test_a_rate_that_looks_teach_is_gamma_as_scipy_has_it(found: float, tree_days: float) -> None:
    low, mean, high = rate_learnt(0.005, 60.0, found, tree_days, 0.1)
    gamma = stats.gamma(0.005 * 60 + found, scale=1 / (60 + tree_days))
    assert (low, mean, high) == pytest.approx((gamma.ppf(0.1), gamma.mean(), gamma.ppf(0.9)), rel=1e-9)


@pytest.mark.parametrize("share", [1e-6, 0.05, 0.1, 0.5, 0.9, 0.999])
@pytest.mark.parametrize("shape", [0.05, 0.3, 1.0, 5.3, 42.0, 700.0])
def test_quantiles_of_gamma_are_those_of_scipy(shape: float, share: float) -> None:
    assert gamma_quantile(shape, share) == pytest.approx(stats.gamma(shape).ppf(share), rel=1e-9)
