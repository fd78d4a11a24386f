"""Trees: sizes never fall, cover stays a share, more or bigger crowns cover no less, no tree is made."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.canopy import book, curves, row_cover
from browseline.canopy.climate import cities
from browseline.canopy.fates import fates
from browseline.canopy.history import TreeWork
from browseline.farm.records import Planting
from browseline.science import trees_crown, trees_height

SPECIES = st.sampled_from(book.species())
RADII = st.floats(0, 30)
GAPS = st.floats(0.5, 40)


@settings(deadline=None, max_examples=80)
@given(SPECIES, st.permutations(cities()), st.floats(0.5, 8))
def test_no_size_falls_with_age_whatever_city_is_nearest(
    species: str, near: list[str], seedling: float
) -> None:
    curve = curves.curve_of(species, tuple(near))
    since = np.linspace(0, 150, 601)
    stem = curve.stem_cm(since, seedling)
    assert (np.diff(stem) >= -1e-9).all()
    tall, wide = curve.height_m(stem, since), curve.crown_m(stem)
    assert (np.diff(tall) >= -0.02).all()
    assert (np.diff(wide) >= -0.02).all()
    assert (curve.leaf_m2(stem, wide) >= 0).all()
    assert all((v >= 0).all() for v in curve.tree_variances(stem, since).values())


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(book.curve_ids()), st.floats(45, 90))
def test_site_curves_rise_with_age(ident: str, site_ft: float) -> None:
    curve = book.curve(ident)
    tall = trees_height.height_ft(curve.form, site_ft, np.linspace(0, 100, 300), curve.b)
    assert (np.diff(tall) >= -1e-9).all()


@given(RADII, GAPS, GAPS)
def test_cover_is_a_share_and_never_more_than_the_crowns(radius: float, in_row: float, alley: float) -> None:
    union = float(trees_crown.cover_of_rows(radius, in_row, alley))
    total = float(trees_crown.footprint_m2(2 * radius)) / (in_row * alley)
    assert -1e-9 <= union <= min(total, 1) + 1e-9
    assert (
        union >= float(trees_crown.cover_at_random(total)) - 1e-9 or in_row < alley / 2 or alley < in_row / 2
    )


@given(RADII, RADII, GAPS, GAPS)
def test_bigger_crowns_or_closer_trees_never_cover_less(
    a: float, b: float, in_row: float, alley: float
) -> None:
    small, big = trees_crown.cover_of_rows(np.array(sorted((a, b))), in_row, alley)
    assert big >= small - 1e-9
    assert (
        trees_crown.cover_of_rows(a, in_row, alley) <= trees_crown.cover_of_rows(a, in_row / 2, alley) + 1e-9
    )


@settings(deadline=None, max_examples=40)
@given(st.floats(0.1, 8), st.floats(1, 10), st.floats(1, 10), st.floats(0, 1), st.floats(0, 1))
def test_more_standing_trees_never_cover_less(
    radius: float, in_row: float, alley: float, a: float, b: float
) -> None:
    few, many = row_cover((1, 2), np.full(2, 2 * radius), in_row, alley, np.array(sorted((a, b)))).union
    assert many >= few - 0.02


WORK = st.builds(
    TreeWork,
    st.just("p"),
    st.integers(2026, 2032),
    st.sampled_from(["lost", "thinned", "felled", "planted"]),
    st.integers(0, 40),
    planned=st.booleans(),
)


@settings(deadline=None, max_examples=60)
@given(st.lists(WORK, max_size=6), st.integers(1, 60), st.integers(0, 2**32))
def test_trees_are_neither_made_nor_lost_twice(works: list[TreeWork], trees: int, seed: int) -> None:
    planting = Planting("p", "P", "walnut_black", "1", 2020, trees)
    done = sorted((w for w in works if w.year <= 2028), key=lambda w: w.year)
    planned = [w for w in works if w.year > 2028]
    own = fates(planting, seed, (0, 1, 2), done, 2028, 2035, planned)
    assert own is not None
    for year in range(2026, 2036):
        set_ = trees + sum(w.trees or 0 for w in works if w.kind == "planted" and w.year <= year)
        assert (own.alive(year).sum(axis=1) <= set_).all()
        for member in range(3):
            places = own.place[member][own.alive(year)[member]]
            used = places[places >= 0]
            assert len(set(used.tolist())) == used.size
    assert own.end.shape == own.place.shape == own.drawn.shape == own.rank.shape


def test_a_species_that_is_not_listed_is_refused() -> None:
    with pytest.raises(LookupError):
        curves.curve_of("no such tree")
    with pytest.raises(LookupError):
        book.curve("SI-0")
    with pytest.raises(LookupError):
        book.stand_crown_m("no such tree")
