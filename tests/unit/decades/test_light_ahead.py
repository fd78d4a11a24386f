"""Light of the years ahead, read between the ages that the engine was asked for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchmarks.decades_farm import start_of
from browseline.canopy import TreeSizes, grow_trees, trees_there
from browseline.canopy.light import MONTHS, crown_cover, light_maps, paddock_light
from browseline.decades.light import light_ahead
from browseline.decades.light_asked import (
    CHECK,
    FIXED,
    STRETCH,
    Asked,
    ages_wanted,
    ask,
    eras,
    member_trees,
    stretch,
)
from browseline.decades.start import Start
from browseline.units import parse

YEARS = tuple(range(2026, 2067))
TREED, BARE = 0, 1


@pytest.fixture(scope="module")
def start() -> Start:
    return start_of(2)


@pytest.fixture(scope="module")
def asked(start: Start) -> Asked:
    found = ask(start, YEARS)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def sizes(start: Start) -> TreeSizes:
    return grow_trees(start.farm, start.state, YEARS, range(FIXED))


@pytest.mark.parametrize(("year", "member"), [(2037, 3), (2048, 11), (2060, 17)])
def test_a_member_reads_what_the_engine_gives_for_its_own_trees(
    start: Start, asked: Asked, sizes: TreeSizes, year: int, member: int
) -> None:
    """The whole way round: that member's crowns in that year, month by month, through the engine."""
    assert start.cells is not None
    assert start.layout is not None
    assert start.farm.place is not None
    light = light_ahead(start, sizes, asked)
    one = member_trees(sizes, member)
    maps = light_maps(
        start.cells, start.farm.place, start.layout, one, (year,), MONTHS, start.of_clear, fine=False
    )
    engine = np.array([paddock_light(start.cells, each) for each in maps])
    read = light.month_frac[YEARS.index(year), member]
    np.testing.assert_allclose(read[:, TREED], engine[:, TREED], atol=0.04)
    assert read.mean() == pytest.approx(engine.mean(), abs=0.015)
    cover = crown_cover(start.cells, trees_there(start.layout, one, year, member))
    assert light.cover_frac[YEARS.index(year), member, TREED] == pytest.approx(cover[TREED], abs=0.02)


def test_the_error_of_left_out_ages_is_told_and_small(start: Start, asked: Asked, sizes: TreeSizes) -> None:
    light = light_ahead(start, sizes, asked)
    assert len(asked.of(CHECK)) == 4
    assert 0 < light.error_frac[:, TREED].max() < 0.05


def test_a_typed_light_holds_today_and_falls_as_crowns_grow(
    start: Start, asked: Asked, sizes: TreeSizes
) -> None:
    typed = replace(start.farm.paddocks[TREED], light=parse("80 %", "share"))
    farm = replace(start.farm, paddocks=(typed, start.farm.paddocks[BARE]))
    light = light_ahead(replace(start, farm=farm), sizes, asked).light_frac[:, :, TREED]
    assert light[0].mean() == pytest.approx(0.80, abs=0.002)
    assert (light[-1] < light[0]).all()


def test_weights_of_months_and_shade_go_together(start: Start, asked: Asked, sizes: TreeSizes) -> None:
    light = light_ahead(start, sizes, asked)
    assert light.month_weight.sum() == pytest.approx(1)
    assert light.month_weight @ light.pattern == pytest.approx([1, 1], abs=1e-6)
    # Trees that lose their leaves shade summer more than winter.
    assert light.pattern[6, TREED] > light.pattern[0, TREED]


def test_no_map_no_engine(start: Start) -> None:
    assert ask(replace(start, cells=None), YEARS) is None


def test_stretches_are_of_forty_years() -> None:
    assert len(stretch(range(2026, 2028))) == STRETCH + 1
    assert len(stretch(range(2026, 2067))) == STRETCH + 1
    assert len(stretch(range(2026, 2068))) == 2 * STRETCH + 1


def test_eras_end_at_thinnings_and_stretches() -> None:
    years = range(2026, 2107)
    found = [(one.start, one.stop) for one in eras(years, (2034, 2050))]
    assert found == [(0, 8), (8, 24), (24, 41), (41, 81)]
    assert [(one.start, one.stop) for one in eras(years, (2026,))] == [(0, 41), (41, 81)]


def test_ages_lie_at_equal_steps_of_crowns_with_checks_between() -> None:
    crowns = np.linspace(0, 0.8, 41) ** 2
    knots, left = ages_wanted(crowns)
    assert (knots[0], knots[-1]) == (0, 40)
    assert len(knots) == 6
    assert not set(left) & set(knots)
    assert ages_wanted(np.zeros(5)) == ([0, 4], [2])
