"""Open-grown relations, what a measure teaches, crown cover and leaf seasons, each against something else."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy import stats

from browseline.canopy import book
from browseline.science import trees_crown, trees_open, trees_season
from browseline.science.trees_open import Relation

CITY = Relation("loglog", 0.3, 2.9, 0.0, 0.06, 0.0, 5.0, 30.0)
POOLED = Relation("power", 0.9, 0.85, 0.0, 0.1, 0.0, 2.0, 90.0)
CURVED = Relation("quad", 7.0, 0.8, 0.004, 0.0, 9.0, 3.0, 60.0)
RELATIONS = [CITY, POOLED, CURVED]


@pytest.mark.parametrize("relation", RELATIONS, ids=lambda r: r.form)
def test_steepness_is_the_slope_of_the_logs(relation: Relation) -> None:
    x = np.array([4.0, 9.0, 25.0])
    step = 1e-5
    more, less = (np.log(trees_open.median_size(relation, x * np.exp(s))) for s in (step, -step))
    assert trees_open.steepness(relation, x) == pytest.approx((more - less) / (2 * step), rel=1e-6)


@pytest.mark.parametrize("relation", [CITY, POOLED], ids=lambda r: r.form)
def test_mean_and_median_are_those_of_a_lognormal(relation: Relation) -> None:
    spread = relation.log_mse**0.5
    median = trees_open.median_size(relation, 12.0)
    drawn = stats.lognorm(s=spread, scale=median)
    assert trees_open.mean_size(relation, 12.0) == pytest.approx(drawn.mean(), rel=1e-12)
    assert trees_open.log_variance(relation, 12.0) == pytest.approx(spread**2)


def test_scatter_of_a_quadratic_is_its_rmse_and_never_more_than_the_size() -> None:
    old = trees_open.log_variance(CURVED, 50.0)
    assert old == pytest.approx((9.0 / float(trees_open.median_size(CURVED, 50.0))) ** 2)
    assert trees_open.log_variance(CURVED, 0.1) <= 1.0
    assert trees_open.mean_size(CURVED, 50.0) == trees_open.median_size(CURVED, 50.0)


def test_inside_the_citys_data_its_own_fit_stands() -> None:
    x = np.linspace(5.0, 30.0, 20)
    assert trees_open.carried_on(x, CITY, POOLED, 2.5, 1.0) == pytest.approx(trees_open.median_size(CITY, x))


def test_beyond_the_city_the_pooled_fit_carries_on_and_beyond_both_the_size_is_held() -> None:
    ends = trees_open.carried_on(np.array([30.0, 60.0, 90.0, 120.0]), CITY, POOLED, 2.5, 1.0)
    pooled = trees_open.median_size(POOLED, np.array([30.0, 60.0, 90.0]))
    assert ends[1:3] / ends[0] == pytest.approx(pooled[1:] / pooled[0])
    assert ends[3] == ends[2]


@pytest.mark.parametrize("near", RELATIONS, ids=lambda r: r.form)
def test_sizes_rise_from_the_start_without_a_jump(near: Relation) -> None:
    x = np.linspace(0.0, 95.0, 4000)
    size = trees_open.carried_on(x, near, POOLED, 2.5, 1.0)
    assert size[0] == 2.5
    assert (np.diff(size) >= -1e-12).all()
    assert np.diff(size).max() < 0.3


def test_factor_stem_grows_as_in_the_forest_once_the_open_years_are_over() -> None:
    stem = trees_open.factor_stem_cm(np.array([-1.0, 0.0, 10.0, 25.0, 30.0]), 0.5, 2.0, 25.0)
    assert stem == pytest.approx([0, 0, 10, 25, 27.5])


def test_growth_learnt_is_the_posterior_on_a_grid() -> None:
    ratio, trees, between, scatter, shared = 0.3, 5, 0.06, 0.05, 0.02
    grid = np.linspace(-2, 2, 200_001)
    density = stats.norm.pdf(grid, 0, between**0.5) * stats.norm.pdf(
        ratio, grid, (scatter / trees + shared) ** 0.5
    )
    density /= density.sum()
    mean = float((grid * density).sum())
    variance = float(((grid - mean) ** 2 * density).sum())
    found = trees_open.factor_learnt(ratio, trees, between, scatter, shared)
    assert found == pytest.approx((mean, variance), rel=1e-6)
    assert trees_open.factor_learnt(ratio, 0, between, scatter, shared) == (0.0, between)


def union_share(radius: float, in_row: float, alley: float) -> float:
    """Return the cover of a grid by shapely: every crown that reaches one unit cell."""
    reach = int(radius / min(in_row, alley)) + 2
    steps = np.arange(-reach, reach + 1)
    x, y = (g.ravel() for g in np.meshgrid(steps * in_row, steps * alley))
    circles = shapely.buffer(shapely.points(x, y), radius, quad_segs=200)
    cell = shapely.box(-in_row / 2, -alley / 2, in_row / 2, alley / 2)
    return float(shapely.intersection(shapely.union_all(circles), cell).area / cell.area)


@pytest.mark.parametrize(("in_row", "alley"), [(3.0, 6.0), (6.0, 6.0), (6.0, 3.0), (5.0, 20.0)])
@pytest.mark.parametrize("radius", [0.0, 1.0, 1.6, 2.9, 3.4, 5.0, 11.0])
def test_cover_of_rows_is_the_union_that_shapely_finds(radius: float, in_row: float, alley: float) -> None:
    found = float(trees_crown.cover_of_rows(radius, in_row, alley))
    assert found == pytest.approx(union_share(radius, in_row, alley) if radius else 0.0, abs=2e-4)
    gappy = float(trees_crown.cover_of_gappy_rows(radius, in_row, alley, 1.0, cells=200))
    assert gappy == pytest.approx(found, abs=2e-3)


def test_cover_with_gaps_is_the_mean_over_many_draws() -> None:
    """Trees set and lost one by one on a torus of 12 x 12 places, one spot every 0.15 m."""
    in_row, alley, radius, standing = 3.0, 5.0, 2.2, 0.6
    rng = np.random.default_rng(4)
    x, y = np.arange(0, 36, 0.15), np.arange(0, 60, 0.15)
    covers = []
    for _ in range(12):
        covered = np.zeros((x.size, y.size), dtype=bool)
        for i, j in np.argwhere(rng.random((12, 12)) < standing):
            far_x = np.abs((x - i * in_row + 18) % 36 - 18)
            far_y = np.abs((y - j * alley + 30) % 60 - 30)
            covered |= (far_x**2)[:, None] + (far_y**2)[None, :] < radius**2
        covers.append(covered.mean())
    error = np.std(covers) / len(covers) ** 0.5
    found = float(trees_crown.cover_of_gappy_rows(radius, in_row, alley, standing))
    assert found == pytest.approx(np.mean(covers), abs=3 * error)


def test_first_year_below_and_time_of_passing() -> None:
    years, share = [1.0, 2.0, 3.0, 4.0], [0.2, 0.4, 0.8, 0.9]
    assert trees_crown.first_passing(years, share, 0.5) == pytest.approx(2.25)
    assert trees_crown.first_passing(years, share, 0.1) == 1.0
    assert trees_crown.first_passing(years, share, 0.95) is None
    assert trees_crown.first_below(years, [1.0, 0.9, 0.7, 0.6], 0.9) == 3.0
    assert trees_crown.first_below(years, share, 0.1) is None


def out_day(latitude_deg: float, elevation_m: float, group: str) -> float:
    offset = book.middle("leaf_out_offset", group)
    base, degree, metre = (book.middle(key) for key in ("leaf_out", "leaf_out_degree", "leaf_out_metre"))
    return trees_season.leaf_out_day(latitude_deg, elevation_m, offset, base, degree, metre)


def test_leaf_out_at_the_anchors_of_the_sheet() -> None:
    """trees.md 1.3: 5 May at 42.5 N, 340 m; 10 May in Ontario, 44.4 N; 11 April for walnut in Arkansas.

    The sheet's elevations of the last two (260 and 145 m) are those that give the dates (its section 8).
    """
    assert out_day(42.5, 340, "mid") == 125
    assert out_day(44.4, 260, "mid") == pytest.approx(130, abs=0.5)
    assert out_day(35.1, 145, "late") == pytest.approx(101, abs=0.5)


def test_order_of_the_groups_and_the_two_in_between() -> None:
    days = [out_day(42.5, 340, g) for g in ("early", "early-mid", "mid", "mid-late", "late")]
    assert days == [115, 120, 125, 131, 137]


def test_leaves_open_in_three_weeks_and_go_at_the_day_of_half_fall() -> None:
    share = trees_season.leaf_share(np.array([100, 130, 140.5, 151, 250, 294, 295, 340]), 130, 21, 295)
    assert share == pytest.approx([0, 0, 0.5, 1, 1, 1, 0, 0])


def test_the_south_is_half_a_year_later() -> None:
    assert trees_season.leaf_out_day(-40, 100, 0, 125, 4, 0.03) == pytest.approx(
        182.5 + trees_season.leaf_out_day(40, 100, 0, 125, 4, 0.03)
    )
    fall = trees_season.leaf_fall_day(-42.5, 295, 2.5)
    assert fall == 477.5
    share = trees_season.leaf_share(np.array([15.0, 200.0, 340.0]), 307.5, 21, fall)
    assert share.tolist() == [1.0, 0.0, 1.0]


def test_small_trees_carry_less_of_the_crown_at_five_inches() -> None:
    share = trees_crown.small_tree_factor([0.0, 0.5, 1.0, 4.0, 5.0, 20.0], (0.504, 0.638, 0.76, 0.88))
    assert share == pytest.approx([0, 0.252, 0.504, 0.88, 1, 1])
