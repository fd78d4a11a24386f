"""Soil water: nothing is made or lost, and the store keeps its bounds."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.science import water

SOIL = st.tuples(st.floats(20, 250), st.floats(0.2, 0.7), st.floats(25, 98))


@settings(deadline=None, max_examples=100)
@given(SOIL, st.integers(0, 2**32 - 1))
def test_water_is_neither_made_nor_lost(soil: tuple[float, float, float], seed: int) -> None:
    total, p, number = soil
    rng = np.random.default_rng(seed)
    rain = np.where(rng.random((4, 400)) < 0.3, rng.gamma(0.6, 16, (4, 400)), 0.0)
    et0, kc = rng.uniform(0, 9, (4, 400)), rng.uniform(0.2, 1.2, (4, 400))
    start = rng.uniform(0, total, 4)
    numbers = (number * 0.7, number, number + (100 - number) / 2)
    missing, used, runoff, drained, stress = water.run_water(
        start, rain, et0, kc, total, p, numbers, 0.35, 0.8
    )
    balance = (
        start
        - rain.sum(axis=1)
        + runoff.sum(axis=1)
        + used.sum(axis=1)
        + drained.sum(axis=1)
        - missing[:, -1]
    )
    assert np.max(np.abs(balance)) < 1e-9
    assert np.all((missing >= -1e-9) & (missing <= total + 1e-9))
    assert np.all((stress >= 0) & (stress <= 1))
    assert np.all((runoff >= 0) & (runoff <= rain))
    assert np.all(used <= kc * et0 + 1e-12)
    assert np.all((drained == 0) | (missing < 1e-9))


@given(st.floats(0, 300), st.floats(0, 300), st.floats(20, 100))
def test_more_rain_never_less_runoff_and_never_more_than_the_rain(
    some: float, more: float, number: float
) -> None:
    little, much = water.runoff_mm(some, number), water.runoff_mm(some + more, number)
    assert 0 <= little <= some
    assert little <= much + 1e-12


@given(st.floats(0, 12), st.floats(0, 1), st.floats(0, 1))
def test_drier_soil_never_uses_more(demand: float, a: float, b: float) -> None:
    share = water.depletion_share(0.6, demand)
    assert 0.1 <= share <= 0.8
    wetter, drier = sorted((a * 100, b * 100))
    assert water.stress_frac(drier, 100.0, share) <= water.stress_frac(wetter, 100.0, share)


def test_stress_joins_without_a_step() -> None:
    share = 0.6
    assert water.stress_frac(60.0 + 1e-9, 100.0, share) == pytest.approx(1.0, abs=1e-6)
    assert water.stress_frac(100.0, 100.0, share) == 0.0
