"""Crops ahead by hand: no draw moves a mean, the level is as wide as its book, crowding goes by ground."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from browseline.decades.bearing_book import bearing, year_spread
from browseline.decades.form import Yield
from browseline.decades.yields import yields_ahead
from browseline.farm.records import Planting
from browseline.units import parse
from tests.small_farm import some
from tests.unit.decades.orchard import MEMBERS, YEARS, farm, grown, planting

MANY = tuple(range(1500))
OLD = (2055, 2056)
"""Walnuts of 2016 are then 39 and 40 years old: the table has 20 kg a tree, in full and thin years alike."""


def crop(of: Planting, years: tuple[int, ...] = YEARS, members: tuple[int, ...] = MEMBERS) -> Yield:
    made = farm(of)
    (only,) = yields_ahead(made, grown(made, years=years, members=members), years, members, None)
    return only


@pytest.fixture(scope="module")
def old_walnuts() -> Yield:
    return crop(planting(spacing=None, alley=None), OLD, MANY)


def test_the_mean_of_many_futures_is_the_row_of_the_table(old_walnuts: Yield) -> None:
    """The mean of exp(s z) is exp(s² / 2), here 3.7 % too much: it is taken off."""
    assert old_walnuts.per_tree.mean() == pytest.approx(20.0, rel=0.02)


def test_the_level_is_as_wide_as_the_book_says(old_walnuts: Yield) -> None:
    """Two halves, of the species and of the planting, make one level; two years leave little of their own."""
    level = some(bearing("walnut_black")).level
    both = np.log(old_walnuts.per_tree.mean(axis=0))
    assert both.std() == pytest.approx(np.hypot(level, year_spread() / np.sqrt(2)), rel=0.06)


def test_a_crowded_tree_bears_by_the_ground_that_its_crown_keeps() -> None:
    """Half as wide a crown is a quarter of the ground, and of the crop; crowns touch at 1.1 times 5 m."""
    side = parse("5 m", "length")
    close = planting(planted=1996, spacing=side, alley=side)
    sizes = grown(farm(close))
    free_m = sizes.learnt["nuts"].curve.crown_m(sizes.stem_cm[:, :, 0])
    assert (free_m > 5.5).all()
    alone = crop(planting(planted=1996, spacing=None, alley=None))
    np.testing.assert_allclose(crop(close).per_tree / alone.per_tree, (5.5 / free_m) ** 2, rtol=1e-6)


def test_a_maple_is_tapped_once_it_is_as_thick_as_the_row_asks_for() -> None:
    """yields.csv: taps from 25 cm, sap from 40 years: no age makes up for a thin stem."""
    years = (2030, 2060)
    made = farm(planting("m", "maple_sugar", 1980, spacing=None, alley=None))
    sizes = grown(made, years=years)
    for stem_cm, runs in ((24.9, False), (25.1, True)):
        thick = replace(sizes, stem_cm=np.full(sizes.stem_cm.shape, stem_cm))
        (sap,) = yields_ahead(made, thick, years, MEMBERS, None)
        assert (sap.amount[1] > 0).all() == runs
        assert sap.amount[1].any() == runs
