"""A cut of leaf: what it takes of a tree by the table of parts, of its shade by the engine, of its carbon."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from benchmarks.decades_farm import start_of
from browseline.canopy import TreeWork, grow_trees
from browseline.canopy.light import MONTHS, light_maps, paddock_light
from browseline.chain.decades_told import fodder_words
from browseline.decades.carbon import carbon_ahead
from browseline.decades.fodder import fodder_ahead
from browseline.decades.form import Projection
from browseline.decades.leaf_cut import cut_kg, cut_share, kept_depth, leaf_kg
from browseline.decades.light import light_ahead
from browseline.decades.light_asked import ask, member_trees
from browseline.decades.tree_pools import tree_pools
from browseline.farm import tree_mass
from browseline.farm.future import Future, LeafCut
from browseline.record.state import State
from browseline.units import parse
from tests.unit.decades.orchard import NOW, YEARS, farm, grown
from tests.unit.decades.test_carbon_ahead import feed
from tests.unit.decades.test_fodder_wool import cut, with_cuts

MEMBERS = tuple(range(5))
JULY = 6
BARE = 0.29
"""Depth of a leafless crown over that in leaf (trees.md; gardner_sydnor1984, heisler1986)."""


def test_leaf_of_a_tree_is_the_table_s_share_of_it() -> None:
    """jenkins2003 Table 6, hardwood foliage: exp(-4.0813 + 5.8816 / 25) = 0.02136 of what stands at 25 cm."""
    made = farm()
    sizes = grown(made, years=YEARS[:3], members=MEMBERS)
    sizes = replace(sizes, stem_cm=np.full(sizes.stem_cm.shape, 25.0))
    line = tree_mass.equation_of(made, made.plantings[0])
    whole = tree_mass.mass_kg(line, np.array(25.0))
    np.testing.assert_allclose(leaf_kg(made, sizes, made.plantings[0], 0), 0.02136 * whole, rtol=3e-4)


def test_no_cut_takes_more_than_all_leaf() -> None:
    made = with_cuts(cut("9 t", age=10, every=1))
    sizes = grown(made, years=YEARS[:3], members=MEMBERS)
    (own,) = made.future.fodder
    np.testing.assert_allclose(cut_share(made, sizes, own), 1.0)
    there = leaf_kg(made, sizes, made.plantings[0], 0) * sizes.alive[:, :, 0]
    np.testing.assert_allclose(cut_kg(made, sizes, "nuts"), there)
    assert not cut_kg(made, sizes, "other").any()


def test_half_the_leaf_cut_in_july_by_hand() -> None:
    """With half gone 0.29 + 0.71 x 0.5 = 0.645 of the depth is left in August, up to July all."""
    made = with_cuts(cut("1 kg", age=12, every=2, month=7))
    sizes = grown(made, years=YEARS[:4], members=MEMBERS)
    sizes = replace(sizes, stem_cm=np.full(sizes.stem_cm.shape, 18.0))
    there = leaf_kg(made, sizes, made.plantings[0], 0)
    each = parse(f"{there[0, 0] / 2} kg", "mass")
    made = replace(made, future=Future(fodder=(replace(made.future.fodder[0], each=each),)))
    kept = kept_depth(made, sizes)
    assert kept is not None
    assert kept.shape == (4, len(MEMBERS), 12, 1)
    np.testing.assert_array_equal(kept[:, :, : JULY + 1], 1.0)
    np.testing.assert_array_equal(kept[[0, 1, 3]], 1.0)
    np.testing.assert_allclose(kept[2, :, JULY + 1, 0], 0.645, rtol=1e-6)
    assert (kept[2, :, 11, 0] > 0.99).all()
    assert kept_depth(with_cuts(cut(month=None)), sizes) is None
    assert kept_depth(farm(), sizes) is None


def test_the_south_has_its_leaf_back_in_its_spring() -> None:
    place = replace(farm().place, latitude_deg=-41.0)  # type: ignore[type-var]
    made = replace(with_cuts(cut("9 t", age=10, every=1, month=1)), place=place)
    sizes = grown(made, years=YEARS[:2], members=MEMBERS)
    kept = kept_depth(made, sizes)
    assert kept is not None
    assert kept[0, 0, 2, 0] == pytest.approx(BARE, abs=0.02)
    np.testing.assert_allclose(kept[0, 0, [0, 11], 0], 1.0)


def test_light_after_a_cut_is_what_the_engine_gives_for_barer_crowns() -> None:
    """The whole way round: crowns with as much less leaf through the light engine, one member's trees."""
    bare = start_of(2)
    cuts = tuple(
        LeafCut(f"c{n}", p.id, parse("9 t", "mass"), 1, 1, 6) for n, p in enumerate(bare.farm.plantings)
    )
    begin = replace(bare, farm=replace(bare.farm, future=Future(fodder=cuts)))
    years = tuple(range(2026, 2067))
    asked = ask(begin, years)
    assert asked is not None
    sizes = grow_trees(begin.farm, begin.state, years, range(8))
    cut_light, plain = light_ahead(begin, sizes, asked), light_ahead(bare, sizes, asked)
    at = years.index(2048)
    np.testing.assert_array_equal(cut_light.month_frac[:, :, :6], plain.month_frac[:, :, :6])
    assert (cut_light.month_frac >= plain.month_frac - 1e-12).all()
    kept = kept_depth(begin.farm, sizes)
    assert kept is not None
    one = member_trees(sizes, 3)
    august = kept[at, 3, 7, 0]
    assert august == pytest.approx(BARE, abs=1e-6)
    barer = replace(one, leaf_m2=one.leaf_m2 * august)
    assert begin.cells is not None
    assert begin.layout is not None
    assert begin.farm.place is not None
    maps = light_maps(
        begin.cells, begin.farm.place, begin.layout, barer, (2048,), MONTHS, begin.of_clear, fine=False
    )
    engine = np.array([paddock_light(begin.cells, each) for each in maps])
    shaded = int(np.argmin(plain.light_frac[at, 3]))
    read, was = (float(x.month_frac[at, 3, 7, shaded]) for x in (cut_light, plain))
    assert read == pytest.approx(float(engine[7, shaded]), abs=0.04)
    assert read - was > 0.1


@pytest.mark.parametrize("works", [(), (TreeWork("nuts", 2029, "felled", 40, planned=True),)])
def test_cut_leaf_is_not_standing_and_comes_back_in_its_year(works: tuple[TreeWork, ...]) -> None:
    """3 kg a tree x the living x carbon share x 44 / 12 are not standing in the years of a cut."""
    made, bare = with_cuts(cut("3 kg", age=11, every=3)), farm()
    sizes = grown(made, works, years=YEARS[:8], members=MEMBERS)
    with_cut, without = (tree_pools(x, State(NOW), sizes, x.plantings[0]) for x in (made, bare))
    lower = without.above - with_cut.above
    years = np.array([year in (2027, 2030, 2033) for year in YEARS[:8]])
    each = np.minimum(3.0, leaf_kg(made, sizes, made.plantings[0], 0)) * sizes.alive[:, :, 0]
    share = lower[1] / each[1] / (44 / 12) * 1000
    assert ((share > 0.43) & (share < 0.52)).all()
    np.testing.assert_allclose(lower[years], (each * share * 44 / 12 / 1000)[years])
    assert not lower[~years].any()
    np.testing.assert_allclose(with_cut.leaf / 1000, lower)
    stock = with_cut.above + with_cut.below + with_cut.dead + with_cut.products
    flows = with_cut.grown - with_cut.decayed - with_cut.burned - with_cut.leaf
    np.testing.assert_allclose(np.diff(stock, axis=0) * 1000, flows[1:], rtol=1e-9, atol=1e-6)
    assert not without.leaf.any()


def test_it_is_a_line_of_its_own_with_its_sources_and_only_where_leaf_is_cut() -> None:
    made = with_cuts(cut("3 kg", age=11, every=3))
    years = YEARS[:4]
    sizes = grown(made, years=years, members=MEMBERS)
    book = carbon_ahead(made, State(NOW), sizes, feed(0.0, 5), (), years)
    assert book.flow_kg["leaf", "CO2"][1].all()
    assert any(origin.locator == "Table 6" for origin in book.origins)
    other = carbon_ahead(farm(), State(NOW), sizes, feed(0.0, 5), (), years)
    assert ("leaf", "CO2") not in other.flow_kg


def test_the_page_says_what_a_cut_takes_and_what_nobody_knows() -> None:
    made = with_cuts(cut("9 t", age=12))
    sizes = grown(made, years=YEARS[:6], members=MEMBERS)
    light = SimpleNamespace(stand_in=("1",), error_frac=np.zeros((6, 1)))
    ahead = SimpleNamespace(sizes=sizes, fodder=fodder_ahead(made, sizes), years=YEARS[:6], light=light)
    told = list(fodder_words(made, cast("Projection", ahead)))
    assert told[3].startswith("That takes about 100 % of a tree's leaf")
    assert "no source says what a cut takes of either" in told[3]
    assert "changes no light here" in told[4]
    assert "more" in told[5]
    light.stand_in, light.error_frac = (), np.ones((6, 1))
    assert "more light falls" in list(fodder_words(made, cast("Projection", ahead)))[4]
