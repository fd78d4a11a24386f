"""Grass ahead on the open paddocks, with what is left out and why."""

from __future__ import annotations

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
