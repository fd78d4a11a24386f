"""Trees' carbon ahead by hand: thick and thin stems, roots, posts, half-lives drawn once a future."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from browseline.canopy import TreeSizes, TreeWork
from browseline.decades.beast_air import beast_air
from browseline.decades.form import FeedAhead
from browseline.decades.tree_pools import Pools, tree_pools
from browseline.farm.records import Line, Mob, Planting
from browseline.record.state import State
from tests.unit.decades.orchard import MEMBERS, NOW, YEARS, farm, grown, planting

MANY = tuple(range(600))
FELLED = (TreeWork("t", 2028, "felled", 400, planned=True),)
OAKS = planting("t", "oak_white", 1990, spacing=None, alley=None)
LOCUSTS = planting("t", "locust_black", 2018, spacing=None, alley=None)


def pools(of: Planting, sizes: TreeSizes) -> Pools:
    return tree_pools(farm(of), State(NOW), sizes, of)


@pytest.mark.parametrize("scatter", [0.2, 0.45])
def test_thick_and_thin_stems_weigh_more_than_as_many_mean_ones(scatter: float) -> None:
    """Oaks of chojnacky2014, exp(-2.0705 + 2.4410 ln d), over lognormal stems of mean 20 cm by scipy."""
    sizes = grown(farm(OAKS), years=(2026, 2027), members=(0, 1, 2))
    sizes = replace(sizes, stem_cm=np.full(sizes.stem_cm.shape, 20.0))
    alike, apart = (
        pools(OAKS, replace(sizes, scatter=np.full(sizes.scatter.shape, s))).above[0] for s in (0.0, scatter)
    )
    stems = stats.lognorm(s=scatter, scale=20.0 * np.exp(-(scatter**2) / 2))
    assert stems.mean() == pytest.approx(20.0)
    mean_kg = stems.expect(lambda cm: np.exp(-2.0705 + 2.4410 * np.log(cm)))
    np.testing.assert_allclose(apart / alike, mean_kg / np.exp(-2.0705 + 2.4410 * np.log(20.0)), rtol=1e-6)


def test_what_is_not_known_of_roots_is_one_draw_a_future() -> None:
    """uncertainty.csv: 15 % of the share of roots, the same in every year and for every planting."""
    made = farm(replace(OAKS, id="a"), replace(OAKS, id="b"))
    sizes = grown(made, years=(2026, 2027), members=MANY)
    a, b = (tree_pools(made, State(NOW), sizes, one) for one in made.plantings)
    share = a.below / a.above
    assert np.log(share[0]).std() == pytest.approx(0.15, rel=0.08)
    np.testing.assert_allclose(b.below / b.above, share, rtol=1e-9)


def test_dead_wood_halves_in_five_to_twenty_years_each_future_by_its_own_draw() -> None:
    sizes = grown(farm(OAKS), FELLED, tuple(range(2026, 2032)), MANY)
    dead = pools(OAKS, sizes).dead
    half_life_yr = -1 / np.log2(dead[4] / dead[3])
    low, middle, high = np.quantile(half_life_yr, (0.02, 0.5, 0.98))
    assert half_life_yr.min() > 5
    assert half_life_yr.max() < 20
    assert (low, middle, high) == pytest.approx((5.3, 12.5, 19.7), abs=0.6)


def test_locust_that_is_no_log_is_posts_and_nothing_of_it_is_burned() -> None:
    """products.csv: half of the posts is left after 10 to 30 years; as young walnuts are firewood."""
    locust = pools(LOCUSTS, grown(farm(LOCUSTS), FELLED, YEARS[:6], MEMBERS))
    assert not locust.burned.any()
    assert (locust.products[2] > 0).all()
    half_life_yr = -1 / np.log2(locust.products[4] / locust.products[3])
    assert half_life_yr.min() > 10
    assert half_life_yr.max() < 30
    walnuts = replace(LOCUSTS, species="walnut_black")
    assert (pools(walnuts, grown(farm(walnuts), FELLED, YEARS[:6], MEMBERS)).burned[2] > 0).all()


def test_one_error_of_the_first_tier_stands_for_every_kind() -> None:
    """Cattle and sheep by the head are wrong together: their sum spreads as wide as either."""
    mobs = tuple(
        Mob(kind, kind, (Line(kind, klass, 10),))
        for kind, klass in (("sheep", "ewes"), ("cattle", "beef cow"))
    )
    made = farm(mobs=mobs)
    months, years = np.zeros((1, len(MANY), 12)), np.zeros((1, len(MANY)))
    head = np.full((1, len(MANY), 2), 10.0)
    none = np.zeros_like(head)
    classes = (("sheep", "sheep", "ewes"), ("cattle", "cattle", "beef cow"))
    feed = FeedAhead((), classes, months, months, months, years, none, head, none, none, none, none)

    def belched(*columns: int) -> np.ndarray:
        own = replace(
            feed, classes=tuple(classes[n] for n in columns), head=head[:, :, list(columns)],
        )  # fmt: skip
        return np.asarray(beast_air(made, State(NOW), own, MANY).flow_kg["enteric", "CH4"][0])

    sheep, cattle, both = belched(0), belched(1), belched(0, 1)
    np.testing.assert_allclose(cattle / cattle.mean(), sheep / sheep.mean(), rtol=1e-9)
    assert both.std() / both.mean() == pytest.approx(sheep.std() / sheep.mean())
