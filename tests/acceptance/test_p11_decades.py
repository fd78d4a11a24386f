"""p11 through the years ahead: the student's crowns over a paddock of a projection, and its grass."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from numpy.typing import NDArray

from browseline.canopy import TreeSizes, book, grow_trees
from browseline.decades.grown import grown_ahead
from browseline.decades.light import light_ahead
from browseline.decades.start import Start, works_of
from browseline.farm.future import Future, PlannedWork
from browseline.farm.records import Farm, Paddock, Planting, Sward
from browseline.record.state import State
from browseline.units import factor, parse

Array = NDArray[np.float64]
PLANTED, MEMBERS = 2026, 3
YEARS = tuple(range(2026, 2042))
PLACES = 218
NOW = datetime(2026, 5, 6, tzinfo=ZoneInfo("UTC"))


def design(in_row: str, alley: str, *works: PlannedWork) -> tuple[Start, TreeSizes]:
    """Return walnuts on the ground that their spacings take, with the crowns of the case: none dies."""
    spacing, between = parse(in_row, "length"), parse(alley, "length")
    ground_ha = PLACES * spacing.to("m") * between.to("m") * factor("m2", "ha")
    trees = Planting("walnut", "Walnut", "walnut_black", "1", PLANTED, PLACES, spacing=spacing, alley=between)
    grass = Sward("home", "tall_fescue", yearly_yield=parse("4800 lb/ac", "herbage mass"))
    farm = Farm(
        "Case", "UTC", "acres", date(2026, 5, 1), (Paddock("1", "One", ground_ha, sward="home"),), (),
        swards=(grass,), plantings=(trees,), future=Future(works=works),
    )  # fmt: skip
    start = Start(farm, State(NOW), NOW.date())
    sizes = grow_trees(farm, start.state, YEARS, range(MEMBERS), works_of(farm, farm.future))
    age = np.array(YEARS, dtype=np.float64) - PLANTED
    stem_cm = 0.55 * np.maximum(age - 2, 0.0) * factor("in", "cm")
    crown = np.where(age > 2, book.crown_width("hickory_shagbark").width_m(stem_cm), 0.0)
    alive = np.full(sizes.alive.shape, PLACES)
    for work in works:
        alive[[y >= work.year for y in YEARS]] -= PLACES // 2
    columns = np.broadcast_to(crown[:, None, None], sizes.crown_m.shape)
    return start, replace(sizes, crown_m=columns, alive=alive)


def seen(in_row: str, alley: str, *works: PlannedWork) -> tuple[Array, Array]:
    """Return cover and what the grass keeps, by year after planting. [%]"""
    start, sizes = design(in_row, alley, *works)
    light = light_ahead(start, sizes, None)
    grown = grown_ahead(start, light, YEARS, MEMBERS).paddock_kg[:, 0, 0]
    return 100 * light.cover_frac[:, 0, 0], 100 * grown / grown[0]


def test_p11_years_8_to_12_cover_is_the_union() -> None:
    """Within 1 point; random overlap would give 49 in year 12."""
    cover, _ = seen("10 ft", "20 ft")
    assert cover[[8, 10, 11, 12, 15]] == pytest.approx([33, 47, 53, 59, 76], abs=1)


def test_p11_grass_of_year_12_is_told_by_what_grows() -> None:
    """0.72, tool range 5 points; open until 30 % are covered."""
    cover, grass = seen("10 ft", "20 ft")
    assert grass[12] == pytest.approx(72, abs=1)
    assert grass[cover < 30] == pytest.approx(100, abs=0.1)


def test_p11_wider_rows() -> None:
    cover, _ = seen("20 ft", "40 ft")
    assert cover[12] == pytest.approx(17, abs=1)


@pytest.mark.parametrize("year", [9, 10])
def test_p11_every_other_tree_out(year: int) -> None:
    """20 x 20 ft from then on: 34 % at 12, 52 % at 15."""
    cover, grass = seen("10 ft", "20 ft", PlannedWork("out", "walnut", "thin", PLANTED + year))
    assert cover[[12, 15]] == pytest.approx([34, 52], abs=1)
    assert grass[12] > 95
