"""Light under a farm's trees: mirrors, orders, bounds, and what falls with it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.canopy import grow_trees
from browseline.canopy.cells import cells_of
from browseline.canopy.light import (
    MONTHS,
    STRIPS_M,
    crown_cover,
    heat_shade,
    light_maps,
    middle_trees,
    month_map,
    paddock_light,
    strip_light,
)
from browseline.canopy.months import months_light
from browseline.canopy.places import trees_there
from browseline.farm.records import Farm, Place
from browseline.layout import lay_out
from browseline.record.state import State
from tests.layout_farms import box, farm, outline, planting, point
from tests.stands import WARM, stand

PLACE = Place(41.0, -45.0, 200.0)
SPOTS = ((-30.0, -20.0), (-22.0, -8.0), (5.0, 12.0), (18.0, -25.0), (31.0, 30.0))


def orchard(mirror: bool = False, spots: tuple[tuple[float, float], ...] = SPOTS, age: int = 20) -> Farm:
    """Return a field with surveyed walnuts."""
    own = planting(species="walnut_black", planned=False, planted=2000, trees=len(spots), alley=None)
    field = outline("1", box(100, 80), mirror=mirror)
    stems = [point(f"t{n}", "tree", s, "trees", mirror=mirror) for n, s in enumerate(spots)]
    return replace(farm(field, [own], *stems), place=PLACE, normals=WARM, as_of=date(2000 + age, 5, 1))


def seen(own: Farm, month: int = 6) -> tuple[np.ndarray, np.ndarray]:
    """Return the map and the light of the paddock."""
    year = own.as_of.year
    layout = lay_out(own)
    sizes = middle_trees(grow_trees(own, State(datetime(year, 6, 1, tzinfo=UTC)), (year,), range(5)))
    cells = cells_of(own, cell_m=1.0)
    assert cells is not None
    made = next(light_maps(cells, PLACE, layout, sizes, (year,), (month,)))
    return made.light_frac, paddock_light(cells, made)


def test_a_mirrored_farm_mirrors_its_map() -> None:
    """To what the sun's day is not symmetric about noon by its declination alone."""
    one, own = seen(orchard())
    other, mirrored = seen(orchard(mirror=True))
    assert one.shape == other.shape
    assert float(np.abs(one - other[:, ::-1]).mean()) < 0.004
    assert mirrored == pytest.approx(own, abs=0.002)


@settings(max_examples=12, deadline=None)
@given(
    kept=st.lists(st.integers(0, len(SPOTS) - 1), min_size=1, max_size=len(SPOTS) - 1, unique=True),
    month=st.sampled_from((1, 6, 10)),
)
def test_more_trees_never_give_a_paddock_more_light(kept: list[int], month: int) -> None:
    few, few_paddock = seen(orchard(spots=tuple(SPOTS[n] for n in sorted(kept))), month)
    many, many_paddock = seen(orchard(), month)
    assert (many <= few + 1e-5).all()
    assert (many_paddock <= few_paddock + 1e-6).all()
    assert ((many >= 0) & (many <= 1)).all()


@pytest.mark.parametrize("species", ["walnut_black", "pine_loblolly", "locust_honey"])
def test_older_trees_leave_less_light_and_cover_more(species: str) -> None:
    ages = [stand(species, 8, 14, age, 40.0) for age in (3, 10, 20)]
    light = [own.light(7) for own in ages]
    cover = [float(crown_cover(own.cells, own.there)[0]) for own in ages]
    assert light == sorted(light, reverse=True)
    assert cover == sorted(cover)
    assert all(x > 1 - y - 0.6 for x, y in zip(light, cover, strict=True))


def test_cover_and_light_are_told_apart() -> None:
    """One cover, other light with the season: what stands overhead is not what reaches the grass."""
    own = stand("walnut_black", 3.048, 6.096, 12, 38.0)
    cover = float(crown_cover(own.cells, own.there)[0])
    summer, winter = own.light(7), own.light(1)
    assert 0 < cover < 1
    assert winter > summer + 0.05
    assert abs((1 - cover) - winter) > 0.05


def test_leafless_trees_leave_more_of_the_light_at_one_sun() -> None:
    own = stand("walnut_black", 8, 14, 20, 40.0)
    there, sizes = own.there, own.sizes
    leafy = month_map(own.cells, own.place, sizes, there, own.year, 7, fine=False)
    south = replace(own.place, latitude_deg=-40.0)
    bare = month_map(own.cells, south, sizes, there, own.year, 7, fine=False)
    summer = month_map(own.cells, south, sizes, there, own.year, 1, fine=False)
    assert float(bare.light_frac.mean()) > float(leafy.light_frac.mean())
    assert float(summer.light_frac.mean()) == pytest.approx(float(leafy.light_frac.mean()), abs=0.02)


def test_light_rises_away_from_the_row() -> None:
    own = stand("walnut_black", 5, 24, 15, 40.0)
    made = strip_light(own.cells, own.layout, own.map(6), "1")
    known = made[np.isfinite(made)]
    assert len(made) == len(STRIPS_M) + 1
    assert known[0] < known[-1]


def test_maps_come_one_by_one() -> None:
    own = stand("walnut_black", 8, 14, 20, 40.0)
    made = light_maps(own.cells, own.place, own.layout, own.sizes, (own.year,), (6, 7), fine=False)
    first = next(made)
    assert (first.year, first.month) == (own.year, 6)
    assert first.light_frac.dtype == np.float32
    assert next(made).month == 7
    assert next(made, None) is None


def test_shade_of_the_hot_hours_is_a_share_and_grows() -> None:
    shares = []
    for age in (3, 20):
        own = stand("walnut_black", 8, 14, age, 40.0)
        there = trees_there(own.layout, own.sizes, own.year, own.sizes.members[0])
        shares.append(float(heat_shade(own.cells, own.place, own.sizes, there, 7)[0]))
    assert 0 < shares[0] < shares[1] <= 1


@pytest.mark.parametrize("slope", [0.0, 0.2])
def test_the_months_in_one_go_are_the_maps_of_the_months(slope: float) -> None:
    """The sky once for each leaf and the sun of each month come to what twelve whole maps come to."""
    own = stand("walnut_black", 8, 14, 20, 40.0)
    rows, cols = own.cells.grid.ground_m.shape
    rise = (np.arange(rows)[:, None] * own.cells.grid.cell_m * slope + np.zeros((1, cols))).astype(np.float32)
    cells = replace(own.cells, grid=own.cells.grid._replace(ground_m=rise))
    clear = tuple(np.linspace(0.4, 0.9, 12))
    maps = light_maps(cells, own.place, own.layout, own.sizes, (own.year,), MONTHS, clear, fine=False)
    each = np.array([paddock_light(cells, made) for made in maps])
    there = trees_there(own.layout, own.sizes, own.year, own.sizes.members[0])
    made = months_light(cells, own.place, own.sizes, there, clear)
    assert made.shape == each.shape
    assert made.min() < 0.95
    np.testing.assert_allclose(made, each, rtol=0, atol=2e-6)
