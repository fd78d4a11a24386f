"""Trees in their places, cover of planting and paddock, and leaf seasons of a farm."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest
import shapely

from browseline.canopy import (
    crowns_over,
    leaf_days,
    leaf_share,
    monthly_leaf_share,
    paddock_cover,
    planting_cover,
    row_cover,
    trees_there,
)
from browseline.canopy.light import leaf_factor
from browseline.farm.records import Paddock, Place
from browseline.layout.form import LaidRow, Layout, Trees
from browseline.record.state import TreesCut
from browseline.science.trees_crown import cover_at_random
from browseline.units import parse
from tests.unit.canopy.trees_farm import YEARS, at, grown, lost, two_rows, walnuts, with_trees

SPACING_M, ALLEY_M = 20 * 0.3048, 40 * 0.3048


def laid(*rows: tuple[str, int]) -> Layout:
    """Return a layout of straight rows of the walnuts, 20 ft apart in the row and 40 ft between rows."""
    made, first = [], 0
    east: list[float] = []
    north: list[float] = []
    for place, (name, count) in enumerate(rows):
        line = ((place * ALLEY_M, 0.0), (place * ALLEY_M, count * SPACING_M))
        made.append(LaidRow(f"nuts/{name}", "nuts", name, name, "1", "rule", (line,), count * SPACING_M, 0.0,
                            first, count))  # fmt: skip
        first += count
        east += [place * ALLEY_M] * count
        north += [SPACING_M * n for n in range(count)]
    row = np.repeat(np.arange(len(rows)), [count for _, count in rows])
    number = np.concatenate([np.arange(1, count + 1) for _, count in rows])
    nowhere = np.zeros(first)
    trees = Trees(row, number, np.array(east), np.array(north), nowhere, nowhere)
    return Layout(-45.0, 41.0, trees, tuple(made), (), (), (), 0.0, False, 0.0, (), ())


def test_every_standing_tree_has_its_place_and_its_cohorts_size() -> None:
    sizes = grown(with_trees(two_rows()))
    there = trees_there(laid(("A", 60), ("B", 40)), sizes, 2026, 4)
    assert there.at.tolist() == list(range(100))
    assert not there.drawn
    assert there.beyond == 0
    assert set(there.east_m[there.cohort == 1]) == {ALLEY_M}
    assert set(there.stem_cm[there.cohort == 0]) == {sizes.stem_cm[0, 4, 0]}


def test_rows_are_matched_by_name_and_not_by_order() -> None:
    there = trees_there(laid(("B", 40), ("A", 60)), grown(with_trees(two_rows())), 2026, 0)
    assert (there.at[there.cohort == 0] >= 40).all()
    assert sorted(there.at.tolist()) == list(range(100))


def test_a_row_loss_empties_places_of_that_row_only() -> None:
    there = trees_there(
        laid(("A", 60), ("B", 40)), grown(with_trees(two_rows()), **lost(7, "2026-05-04", "B")), 2026, 1
    )
    assert (there.cohort == 0).sum() == 60
    assert (there.cohort == 1).sum() == 33
    assert there.drawn


def test_more_places_than_trees_draws_the_empty_ones() -> None:
    sizes = grown(with_trees(walnuts()))
    first, second = (trees_there(laid(("1", 70), ("2", 50)), sizes, 2026, member) for member in (0, 1))
    assert len(first.at) == len(second.at) == 100
    assert first.at.tolist() != second.at.tolist()
    assert first.drawn


def test_more_trees_than_places_says_how_many_have_none() -> None:
    there = trees_there(laid(("1", 90)), grown(with_trees(walnuts())), 2026, 0)
    assert len(there.at) == 90
    assert there.beyond == 10


def test_replants_stand_where_the_dead_stood() -> None:
    facts = lost(7, "2026-05-04") | {"planted": (("nuts", 7, at("2026-05-05")),)}
    there = trees_there(laid(("1", 100)), grown(with_trees(walnuts()), **facts), 2026, 2)
    assert sorted(there.at.tolist()) == list(range(100))
    assert (there.cohort == 1).sum() == 7


def test_cover_of_a_planting_is_the_union_over_its_own_ground() -> None:
    """A hundred trees on ten rows; shapely joins the crowns of the middle of the planting."""
    planting = walnuts(planted=2005)
    sizes = grown(with_trees(planting))
    cover = planting_cover(sizes, planting)
    assert cover is not None
    crown = float(sizes.crown_m[0, 0, 0])
    x, y = (g.ravel() for g in np.meshgrid(np.arange(10) * ALLEY_M, np.arange(10) * SPACING_M))
    inner = shapely.box(2 * ALLEY_M, 2 * SPACING_M, 7 * ALLEY_M, 7 * SPACING_M)
    assert crowns_over(x, y, np.full(100, crown), inner) == pytest.approx(cover.union[0, 0], abs=2e-3)
    assert cover.random[0, 0] == pytest.approx(float(cover_at_random(cover.total[0, 0])))


def test_gaps_lower_the_cover() -> None:
    planting = walnuts(planted=2005)
    full, gappy = (planting_cover(grown(with_trees(planting), years=(2026,), **facts), planting)
                   for facts in ({}, lost(40, "2026-05-04")))  # fmt: skip
    assert full is not None
    assert gappy is not None
    assert (gappy.union < full.union).all()
    assert gappy.total == pytest.approx(0.6 * full.total)


def test_cover_of_a_paddock_by_its_plantings() -> None:
    """Trees stand on 100 x 800 ft2 of 3 ac: 61 % of the paddock."""
    planting = walnuts(planted=2005)
    farm_ = with_trees(planting)
    sizes = grown(farm_)
    own = planting_cover(sizes, planting)
    assert own is not None
    assert paddock_cover(farm_, sizes, "1") == pytest.approx(own.union * 80_000 / (3 * 43_560))
    empty = paddock_cover(farm_, sizes, "2")
    assert empty is not None
    assert (empty == 0).all()
    assert paddock_cover(farm_, sizes, "none such") is None
    loose = with_trees(walnuts(alley=None))
    assert paddock_cover(loose, grown(loose), "1") is None


def test_no_crowns_cover_nothing() -> None:
    nothing = np.zeros(0)
    assert crowns_over(nothing, nothing, nothing, shapely.box(0, 0, 10, 10)) == 0


def test_one_crown_covers_its_circle() -> None:
    ground = shapely.box(-50, -50, 50, 50)
    found = crowns_over(np.zeros(1), np.zeros(1), np.array([8.0]), ground)
    assert found == pytest.approx(np.pi * 16 / 10_000, rel=1e-9)


def test_leaves_of_a_farm() -> None:
    """Walnut at 42.5 N, 340 m: out 12 days after 5 May, half down on day 295; pine is always green."""
    place = Place(42.5, -45.0, 340.0)
    assert leaf_days(place, "walnut_black") == (137, 295)
    assert leaf_days(place, "pine_white") is None
    days = [date(2026, 5, 1), date(2026, 7, 1), date(2026, 12, 1)]
    assert leaf_share(place, "walnut_black", days).tolist() == [0, 1, 0]
    assert leaf_share(place, "pine_white", days).tolist() == [1, 1, 1]
    months = monthly_leaf_share(place, "walnut_black")
    assert months.shape == (12,)
    assert months[[0, 6, 11]].tolist() == [0, 1, 0]
    assert 0 < months[4] < 0.5 < months[9]


def test_spacings_are_read_in_the_units_that_were_typed() -> None:
    metric = walnuts(spacing=parse("6.096 m", "length"), alley=parse("12.192 m", "length"))
    a, b = (planting_cover(grown(with_trees(p)), p) for p in (walnuts(), metric))
    assert a is not None
    assert b is not None
    assert a.union == pytest.approx(b.union)
    assert a.years == YEARS


def test_half_taken_out_on_purpose_is_a_row_twice_as_wide() -> None:
    """Fifty of a hundred thinned evenly: the cover of rows with the trees at twice the step, none missing."""
    planting = walnuts(planted=2005)
    felled: dict[str, Any] = {"trees_cut": (TreesCut("nuts", "thinned", at("2026-05-05"), 50),)}
    sizes = grown(with_trees(planting), years=(2026,), **felled)
    cover = planting_cover(sizes, planting)
    assert cover is not None
    alive = sizes.alive.sum(axis=2)
    assert (alive == 50).all()
    crown = np.nan_to_num(sizes.mean("crown_m", "nuts"))
    wide = row_cover((2026,), crown, 2 * SPACING_M, ALLEY_M)
    np.testing.assert_allclose(cover.union, wide.union, rtol=1e-9)


def test_two_plantings_of_a_paddock_stand_beside_each_other_and_cover_no_more_than_it() -> None:
    """Each covers its 80,000 ft2 of ground; of a paddock too small for both there is no more than all."""
    both = (walnuts(planted=1985), walnuts(id="more", name="More", planted=1985))
    wide = replace(with_trees(*both), paddocks=(Paddock("1", "1", 5.0),))
    sizes = grown(wide)
    each = [planting_cover(sizes, one) for one in both]
    own = [cover.union for cover in each if cover is not None]
    assert len(own) == 2
    share = 80_000 * 0.09290304e-4 / 5.0
    found = paddock_cover(wide, sizes, "1")
    assert found is not None
    np.testing.assert_allclose(found, (own[0] + own[1]) * share, rtol=1e-9)
    tight = replace(wide, paddocks=(Paddock("1", "1", 0.1),))
    full = paddock_cover(tight, sizes, "1")
    assert full is not None
    assert (full == 1).all()


def test_bare_wood_shades_by_its_share_of_the_depth_in_leaf() -> None:
    """trees.md: 0.29 of the depth in leaf; walnut at 41 N is bare in January and in full leaf in July."""
    place = Place(41.0, -45.0, 200.0)
    assert leaf_factor(place, "walnut_black", 1) == pytest.approx(0.29)
    assert leaf_factor(place, "walnut_black", 7) == pytest.approx(1.0)
    half = monthly_leaf_share(place, "walnut_black")[4]
    assert leaf_factor(place, "walnut_black", 5) == pytest.approx(0.29 + 0.71 * half)
