"""What holds for any trees: carbon balances through felling and death, crops never fall below nothing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.canopy import TreeWork
from browseline.decades.bearing_book import bearing
from browseline.decades.felling import taken_out
from browseline.decades.tree_pools import Pools, tree_pools
from browseline.decades.wood import wood_ahead
from browseline.decades.yields import yields_ahead
from browseline.farm.future import LOG_RULES, Future
from browseline.record.state import State
from tests.unit.decades.orchard import NOW, farm, grown, planting

SPECIES = ("walnut_black", "oak_white", "chestnut_chinese", "pine_loblolly", "locust_black", "apple_standard")
YEARS, MEMBERS = tuple(range(2026, 2052)), (0, 1, 2)
FEW = settings(max_examples=15, deadline=None)
works = st.lists(
    st.tuples(st.integers(2027, 2051), st.sampled_from(["thinned", "felled"]), st.integers(1, 120)),
    max_size=3,
)


@FEW
@given(st.sampled_from(SPECIES), st.integers(1980, 2024), works)
def test_what_leaves_a_pool_is_in_another_or_in_the_air(
    species: str, planted: int, cuts: list[tuple[int, str, int]]
) -> None:
    trees = planting("t", species, planted, spacing=None, alley=None)
    made = farm(trees)
    planned = tuple(TreeWork("t", y, kind, n, planned=True) for y, kind, n in sorted(cuts))  # type: ignore[arg-type]
    sizes = grown(made, planned, YEARS, MEMBERS)
    pools = tree_pools(made, State(NOW), sizes, trees)
    stock = pools.above + pools.below + pools.dead + pools.products
    moved = (pools.grown - pools.decayed - pools.burned)[1:]
    np.testing.assert_allclose(np.diff(stock, axis=0) * 1000, moved, rtol=1e-9, atol=1e-6)
    for name in Pools.__dataclass_fields__:
        assert (getattr(pools, name) >= -1e-9).all(), name


@FEW
@given(st.sampled_from(LOG_RULES), st.integers(1960, 2000), st.integers(10, 100))
def test_a_tree_gives_as_much_wood_however_many_are_cut(rule: str, planted: int, trees: int) -> None:
    own = planting("t", "walnut_black", planted, spacing=None, alley=None, trees=2 * trees)
    made, total = farm(own), []
    for count in (trees, 2 * trees):
        sizes = grown(made, (TreeWork("t", 2027, "felled", count, planned=True),), YEARS[:3], MEMBERS)
        found = wood_ahead(made, sizes, Future(log_rule=rule), YEARS[:3])  # type: ignore[arg-type]
        logs = [one.amount[1] for one in found if one.product == "firewood"]
        cut = taken_out(sizes, "t").sum(axis=2)[1]
        assert (cut > 0).all()
        total.append(logs[0] / cut)
    assert total[0] == pytest.approx(total[1], rel=1e-9)


@FEW
@given(st.sampled_from([s for s in SPECIES if bearing(s) is not None]), st.integers(1990, 2025))
def test_crops_are_never_less_than_nothing_and_none_comes_before_its_age(species: str, planted: int) -> None:
    made = farm(planting("t", species, planted))
    (crop,) = yields_ahead(made, grown(made, years=YEARS, members=MEMBERS), YEARS, MEMBERS, None)
    assert (crop.amount >= 0).all()
    book = bearing(species)
    assert book is not None
    young = np.array(YEARS) - planted + book.late_yr < book.from_yr[book.yields > 0].min()
    assert not crop.amount[young].any()


@FEW
@given(st.sampled_from(SPECIES), st.integers(2, 25))
def test_the_first_years_of_a_long_run_are_those_of_a_short_one(species: str, years: int) -> None:
    trees = planting("t", species, 2010)
    made = farm(trees)
    short, long = YEARS[: years + 1], YEARS
    pools = [tree_pools(made, State(NOW), grown(made, (), y, MEMBERS), trees) for y in (short, long)]
    for name in Pools.__dataclass_fields__:
        near, far = (getattr(one, name) for one in pools)
        np.testing.assert_allclose(near, far[: years + 1], rtol=1e-12, atol=1e-9)
