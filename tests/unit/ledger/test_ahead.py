"""Grass ahead on the open paddocks, with what is left out and why."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from browseline.events import Forecast, Shut
from browseline.farm.records import Normals, Place
from browseline.ledger.ahead import grass_ahead
from browseline.ledger.growth import growth_cases
from browseline.sward import growing_days
from browseline.weather import make
from tests.unit.ledger.small import TODAY, event, ewes, farm, heights, mob, quantity, scene


def test_days_by_hand_with_and_without_growth() -> None:
    """(7 - 5) cm × 100 kg × 6 ha = 1200 kg; 100 kg/d eaten; 5 kg/ha/d × 6 ha = 30 kg/d grown."""
    typed = event("farm", Forecast(TODAY + timedelta(days=9), growth=quantity("5 kg/ha/d", "herbage growth")))
    ahead = grass_ahead(scene(farm(), [*heights(7, 7, 7), typed]))
    assert ahead.still is not None
    assert ahead.still.value == pytest.approx(12)
    assert ahead.growing is not None
    assert ahead.growing.value == pytest.approx(1200 / 70)
    assert ahead.left_out == ()


@pytest.mark.parametrize(
    ("grown", "days", "formula"),
    [(20, (1200 + 120 * 120) / 100, "(1200 kg + 120 d × 120 kg/d) ÷ 100 kg/d"),
     (16, (1200 + 120 * 96) / 100, "(1200 kg + 120 d × 96 kg/d) ÷ 100 kg/d"),
     (15, 120, "1200 kg ÷ (100 − 90) kg/d")],
)  # fmt: skip
def test_the_growth_of_today_counts_for_120_days_at_most(grown: int, days: float, formula: str) -> None:
    """Where growth nearly keeps up with 100 kg/d, today's growth would feed them for years."""
    rate = quantity(f"{grown} kg/ha/d", "herbage growth")
    typed = event("farm", Forecast(TODAY + timedelta(days=9), growth=rate))
    ahead = grass_ahead(scene(farm(), [*heights(7, 7, 7), typed]))
    assert ahead.growing is not None
    assert ahead.growing.value == pytest.approx(days)
    assert ahead.growing.formula == formula


def test_grass_that_dies_back_feeds_for_fewer_days_and_its_formula_says_so() -> None:
    seen = scene(farm(), heights(7, 7, 7))
    dying = replace(
        seen.herbage,
        growth_from=("weather",) * 3,
        growth_kg_ha_d=np.full_like(seen.herbage.growth_kg_ha_d, -5),
    )
    ahead = grass_ahead(replace(seen, herbage=dying, memo={}))
    assert ahead.growing is not None
    assert ahead.growing.value == pytest.approx(1200 / 130)
    assert ahead.growing.formula == "1200 kg ÷ (100 + 30) kg/d"


def test_shut_and_unread_paddocks_are_left_out_by_name() -> None:
    ahead = grass_ahead(scene(farm(), [*heights(7, 7), event("2", Shut("mud"))]))
    assert ahead.still is not None
    assert ahead.still.value == pytest.approx(2)
    assert {x.paddock: x.because for x in ahead.left_out} == {"P2": "Shut", "P3": "no height read"}
    assert ahead.growing is None


def test_without_a_need_or_mobs_there_are_no_days() -> None:
    unknown = grass_ahead(scene(farm(mobs=(mob(ewes(50, None)),)), heights(7, 7, 7)))
    assert (unknown.still, unknown.growing) == (None, None)
    nobody = grass_ahead(scene(farm(mobs=()), heights(7, 7, 7)))
    assert nobody.still is None
    nothing = grass_ahead(scene(farm()))
    assert nothing.grass.value == 0


def test_grass_at_the_height_to_leave_feeds_nobody_however_fast_it_grows() -> None:
    typed = event(
        "farm", Forecast(TODAY + timedelta(days=9), growth=quantity("90 kg/ha/d", "herbage growth"))
    )
    ahead = grass_ahead(scene(farm(), [*heights(5, 5, 4), typed]))
    assert ahead.still is not None
    assert ahead.growing is not None
    assert (ahead.still.value, ahead.growing.value) == (0, 0)


def test_growth_of_the_weather_is_a_case() -> None:
    place = Place(41.0, -45.0)
    normals = Normals((20.0,) * 12, (9.0,) * 12, (80.0,) * 12)
    weather = make(place, normals, None, TODAY, TODAY + timedelta(days=40), 5, 1, warmup_days=60)
    assert weather is not None
    of = farm(place=place, normals=normals)
    seen = scene(of, heights(8, 8, 8), growing=growing_days(of, weather))
    none, grows = growth_cases(seen)
    assert none.kg_ha_d.tolist() == [0, 0, 0]
    assert grows.kg_ha_d == pytest.approx(np.median(seen.herbage.growth_kg_ha_d, axis=0))
    assert float(grows.kg_ha_d[0]) > 0
