"""p11, a student's bad design: walnut 20 x 10 ft, crowns that close, grass that goes, and when to thin."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from browseline.canopy import Cover, Thinning, book, row_cover, thinning
from browseline.canopy.light import crown_cover
from browseline.sward.shade import measured_grass
from browseline.units import factor
from tests.stands import Stand, stand

Array = NDArray[np.float64]
YEARS = tuple(range(3, 31))
FOOT_M = factor("ft", "m")


def crowns_ft() -> Array:
    """DBH in = 0.55 x (year - 2); crown by the open-grown equation that the tables hold for hardwoods."""
    stem_cm = 0.55 * (np.array(YEARS, dtype=np.float64) - 2) * factor("in", "cm")
    return book.crown_width("hickory_shagbark").width_m(stem_cm) / FOOT_M


def design(in_row_ft: float, alley_ft: float) -> tuple[Cover, Thinning]:
    crowns_m = crowns_ft() * FOOT_M
    cover = row_cover(YEARS, crowns_m, in_row_ft * FOOT_M, alley_ft * FOOT_M)
    return cover, thinning(cover, crowns_m, in_row_ft * FOOT_M, grass, (0.90, 0.75))


def grass(cover: float) -> float:
    return measured_grass(cover)[0]


def pct(values: Array, year: int) -> float:
    return 100 * float(values[YEARS.index(year)])


@pytest.mark.parametrize(("year", "union"), [(8, 33), (10, 47), (11, 53), (12, 59), (15, 76)])
def test_p11_cover_is_the_union_of_the_crowns(year: int, union: float) -> None:
    """Within 1 point."""
    assert pct(design(10, 20)[0].union, year) == pytest.approx(union, abs=1)


def test_p11_random_overlap_and_plain_sum_are_told_apart() -> None:
    cover, _ = design(10, 20)
    assert pct(cover.random, 12) == pytest.approx(49, abs=1)
    assert pct(cover.total, 12) == pytest.approx(68, abs=1)


def test_p11_the_sum_is_that_of_the_equation_as_it_is_printed() -> None:
    """3.12 + 1.829 x 5.5 in = 13.18 ft in year 12, on 200 ft2 a tree; the factor of the table is recalled."""
    assert crowns_ft()[YEARS.index(12)] == pytest.approx(13.18, abs=0.005)
    assert pct(design(10, 20)[0].total, 12) == pytest.approx(np.pi / 4 * 13.18**2 / 200 * 100, abs=0.05)


def test_p11_grass_in_year_12() -> None:
    """0.72 (0.65-0.79)."""
    share = grass(pct(design(10, 20)[0].union, 12) / 100)
    assert share == pytest.approx(0.72, abs=0.01)


def test_p11_year_15_is_past_the_measured_70_percent() -> None:
    """The same slope gives 0.60, and it is flagged."""
    cover = pct(design(10, 20)[0].union, 15)
    share, past = measured_grass(cover / 100)
    assert past
    assert share == pytest.approx(0.60, abs=0.005)
    assert not measured_grass(0.70)[1]


def test_p11_crowns_touch_and_the_share_for_thinning_is_passed() -> None:
    """Touch at 8.8; 50 % passed between 10 and 11; every other tree out by yr 9-10."""
    found = design(10, 20)[1]
    assert found.touch == pytest.approx(8.8, abs=0.05)
    assert found.near is not None
    assert 10 < found.near < 11
    assert found.window == (9, 10)


def test_p11_first_years_in_which_grass_falls_below_90_and_75_percent() -> None:
    """By hand: 0.90 at 39.1 % cover, 0.75 at 54.3 %: years 9 (40 %) and 12 (59 %; year 11 has 53 %)."""
    assert design(10, 20)[1].below == {0.90: 9.0, 0.75: 12.0}


@pytest.mark.parametrize(
    ("in_row", "alley", "year", "union"),
    [(20, 40, 12, 17), (20, 40, 18, 36), (20, 20, 12, 34), (20, 20, 15, 52)],
)
def test_p11_the_other_designs(in_row: float, alley: float, year: int, union: float) -> None:
    """40 x 20 ft, and 20 x 10 with every other tree out (20 x 20)."""
    assert pct(design(in_row, alley)[0].union, year) == pytest.approx(union, abs=1)


def test_p11_the_trees_grow_and_the_cover_is_no_single_line() -> None:
    cover, _ = design(10, 20)
    assert (np.diff(cover.union[: YEARS.index(19)]) > 0).all()
    assert cover.union[-1] == pytest.approx(1)
    assert (cover.random < cover.union)[YEARS.index(8) :].all()
    assert (cover.union <= cover.total + 1e-12).all()


def test_p11_the_cover_against_a_raster_of_the_whole_acre() -> None:
    """Year 12: trees set one by one on 400 x 400 ft, one spot every 4 in, edges left off."""
    radius = float(crowns_ft()[YEARS.index(12)]) / 2
    spots = np.arange(100, 300, 1 / 3) + 1 / 6
    x, y = np.meshgrid(spots, spots)
    near_x = np.abs(x - 10 * np.round(x / 10))
    near_y = np.abs(y - 20 * np.round(y / 20))
    covered = ((near_x**2 + near_y**2) < radius**2).mean()
    assert pct(design(10, 20)[0].union, 12) == pytest.approx(100 * covered, abs=0.3)


def bad_design(year: int) -> tuple[Stand, float, dict[int, float]]:
    """Return the design as walnuts on a map with P11's crowns: the stand, its cover, its light by month."""
    own = stand("walnut_black", 10 * FOOT_M, 20 * FOOT_M, year, 38.0, cell_m=0.5)
    wide_m = float(crowns_ft()[YEARS.index(year)]) * FOOT_M
    leaf_m2 = own.there.leaf_m2 * (wide_m / own.there.crown_m) ** 2
    there = replace(own.there, crown_m=np.full_like(own.there.crown_m, wide_m), leaf_m2=leaf_m2)
    cover = float(crown_cover(own.cells, there)[0])
    return own, cover, {month: own.light(month, there) for month in (1, 6, 9)}


def test_p11_cover_of_the_laid_out_rows_is_that_of_the_formula() -> None:
    """Rows set on a field, circles joined by a general library; the field's rim has fewer trees."""
    own, cover, _ = bad_design(12)
    trees_per_ac = len(own.there.at) / own.farm.paddocks[0].area_ha * factor("ac", "ha")
    rim = trees_per_ac / 217.8
    assert 100 * cover / rim == pytest.approx(59, abs=2)


def test_p11_light_is_told_apart_from_cover() -> None:
    """One cover, a light for every month: bare crowns leave more than full ones."""
    _, cover, light = bad_design(12)
    assert len({round(x, 2) for x in light.values()}) == 3
    assert light[1] > light[6]
    assert max(abs((1 - cover) - x) for x in light.values()) > 0.05
    assert all(0.2 < x < 0.8 for x in light.values())


def test_p11_light_falls_as_the_design_closes() -> None:
    june = [bad_design(year)[2][6] for year in (8, 12, 15)]
    assert june == sorted(june, reverse=True)
    assert june[0] - june[2] > 0.1
