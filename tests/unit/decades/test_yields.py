"""Crops ahead: ages, turns, frost, crowding, trees that die, horizons past the data."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from browseline.canopy import TreeWork
from browseline.decades.bearing_book import bearing
from browseline.decades.form import Yield
from browseline.decades.weather_years import LEAP_DAYS, MONTHS, WeatherYears
from browseline.decades.yields import bloom_day, first_year, without_yields, yields_ahead
from browseline.farm.records import Farm, Planting
from browseline.science.bearing import alternation_index
from browseline.units import parse
from tests.small_farm import some
from tests.unit.decades.orchard import MEMBERS, YEARS, farm, grown, planting


def weather(low_c: float, days: range = range(0), rest_c: float = 15.0) -> WeatherYears:
    """Return a weather without chance: so cold on some days of every year, mild on the others."""
    shape = (len(YEARS), len(MEMBERS), LEAP_DAYS)
    tmin = np.full(shape, rest_c, np.float32)
    tmin[:, :, list(days)] = low_c
    rain = np.zeros((*shape[:2], MONTHS))
    return WeatherYears(YEARS, MEMBERS, tmin, tmin + 8, rain, np.zeros(len(YEARS)))


def crop(of: Planting, made: Farm | None = None, sky: WeatherYears | None = None) -> Yield:
    made = made or farm(of)
    (only,) = yields_ahead(made, grown(made), YEARS, MEMBERS, sky)
    return only


def test_walnuts_bear_by_the_rows_of_the_table() -> None:
    """Of yields.csv: 8 kg from 10 to 19 years, 20 kg from 20; planted 2016, free crowns, no frost."""
    nuts = crop(planting(spacing=None, alley=None))
    assert (nuts.product, nuts.unit, nuts.form) == ("nuts", "kg", "hulled dry")
    two_years = (nuts.per_tree[1:] + nuts.per_tree[:-1]) / 2
    age = np.array(YEARS) - 2016
    assert two_years[age[1:] == 16].mean() == pytest.approx(8.0, rel=0.15)
    assert two_years[age[1:] == 40].mean() == pytest.approx(20.0, rel=0.15)


def test_two_years_make_the_trend_and_turns_are_found_again() -> None:
    nuts = crop(planting(spacing=None, alley=None))
    old = nuts.per_tree[20:]
    assert np.nanmedian(alternation_index(old)) == pytest.approx(0.5, abs=0.03)
    hazel = crop(planting("hz", "hazel_hybrid", 2010))
    assert np.nanmedian(alternation_index(hazel.per_tree[5:])) == pytest.approx(0.1, abs=0.03)
    full = np.argmax(old[:2], axis=0)
    assert 0.25 < full.mean() < 0.75


def test_one_members_level_is_the_same_in_all_its_years() -> None:
    """Shared error: the mean over many years is as wide as the level, not narrower by the root of years."""
    nuts = crop(planting(spacing=None, alley=None))
    by_member = np.log(nuts.per_tree[20:].mean(axis=0))
    assert by_member.std() == pytest.approx(some(bearing("walnut_black")).level, rel=0.3)


def test_plantings_of_one_species_share_half_of_their_level() -> None:
    made = farm(planting("a", spacing=None, alley=None), planting("b", spacing=None, alley=None),
                planting("c", "chestnut_chinese", 2006, spacing=None, alley=None))  # fmt: skip
    a, b, c = (
        np.log(y.per_tree[25:].mean(axis=0)) for y in yields_ahead(made, grown(made), YEARS, MEMBERS, None)
    )
    assert np.corrcoef(a, b)[0, 1] > 0.25
    assert np.corrcoef(a, b)[0, 1] > np.corrcoef(a, c)[0, 1]


def test_a_frost_after_bloom_takes_its_part_and_one_before_it_nothing() -> None:
    trees = planting(spacing=None, alley=None)
    bloom = round(some(bloom_day(farm(trees), "walnut_black")))
    mild = crop(trees, sky=weather(-5.0, range(bloom - 20)))
    late = crop(trees, sky=weather(-5.0, range(bloom + 3, bloom + 4)))
    cool = crop(trees, sky=weather(-1.0, range(bloom + 3, bloom + 4)))
    assert not mild.frosted.any()
    assert not cool.frosted.any()
    assert late.frosted[mild.amount > 0].all()
    np.testing.assert_allclose(late.amount, 0.22 * mild.amount)
    np.testing.assert_allclose(late.per_tree, mild.per_tree)
    assert "frost" in late.origins[-1].note


def test_hazel_flowers_long_before_its_leaves_and_no_frost_is_counted() -> None:
    assert bloom_day(farm(), "hazel_hybrid") is None
    assert not crop(planting("hz", "hazel_hybrid", 2015), sky=weather(-5.0, range(180))).frosted.any()


def test_a_crop_is_what_standing_trees_bear() -> None:
    trees = planting(spacing=None, alley=None)
    made = farm(trees)
    sizes = grown(made)
    (nuts,) = yields_ahead(made, sizes, YEARS, MEMBERS, None)
    np.testing.assert_allclose(nuts.amount, nuts.per_tree * sizes.alive.sum(axis=2))
    gone = grown(made, (TreeWork("nuts", 2040, "felled", 200, planned=True),))
    (less,) = yields_ahead(made, gone, YEARS, MEMBERS, None)
    assert not less.amount[YEARS.index(2040) :].any()


def test_crowded_trees_bear_less() -> None:
    wide = crop(planting("nuts", planted=1996, spacing=None, alley=None))
    close = crop(planting("nuts", planted=1996, spacing=parse("3 m", "length"), alley=parse("3 m", "length")))
    assert close.per_tree[-1].mean() < 0.3 * wide.per_tree[-1].mean()


def test_first_harvest_by_member() -> None:
    chestnuts = crop(planting("ch", "chestnut_chinese", 2026))
    assert set(np.unique(chestnuts.first)) <= set(range(2028, 2034))
    assert len(np.unique(chestnuts.first)) > 2
    assert np.isnan(first_year(np.zeros((3, 2)), (2026, 2027, 2028))).all()


def test_past_the_data_it_says_so_and_holds_the_last_row() -> None:
    """Hazel bushes are known to 40 years; a horizon of 150 says that it goes past the table."""
    hazel = planting("hz", "hazel_hybrid", 2026)
    years = tuple(range(2026, 2177))
    made = farm(hazel)
    (long,) = yields_ahead(made, grown(made, years=years, members=(0, 1)), years, (0, 1), None)
    (short,) = yields_ahead(made, grown(made, years=years[:40], members=(0, 1)), years[:40], (0, 1), None)
    assert long.past_data
    assert not short.past_data
    np.testing.assert_allclose(long.per_tree[:40], short.per_tree)
    assert long.amount.shape == (151, 2)


def test_more_members_or_years_change_no_crop() -> None:
    made = farm(planting())
    few = yields_ahead(made, grown(made, members=MEMBERS[:4]), YEARS, MEMBERS[:4], None)[0]
    np.testing.assert_array_equal(few.amount, crop(planting()).amount[:, :4])


def test_trees_without_a_row_of_yields_are_named() -> None:
    made = farm(planting("oaks", "sycamore"), planting())
    assert without_yields(made) == ("oaks",)
    assert [y.planting for y in yields_ahead(made, grown(made), YEARS, MEMBERS, None)] == ["nuts"]
    hidden = farm(replace(planting("oaks", "sycamore"), harvested=False))
    assert without_yields(hidden) == ()


def test_sap_runs_from_trees_thick_enough() -> None:
    maples = crop(planting("m", "maple_sugar", 2020, spacing=None, alley=None))
    assert (maples.product, maples.unit) == ("sap", "L")
    assert not maples.amount[0].any()


def test_a_hybrid_chestnut_bears_as_the_list_of_species_sends_it() -> None:
    assert (
        some(bearing("chestnut_hybrid")).yields.tolist() == some(bearing("chestnut_chinese")).yields.tolist()
    )
    assert bearing("sycamore") is None
