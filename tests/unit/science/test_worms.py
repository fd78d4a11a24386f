"""Larvae by warmth: the straight line gives back the hatch times it was drawn through."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from browseline.science.worms import development_d, moisture_ratio

BASE_C, HATCH, LARVA = 7.2, 73.0, 90.0


@pytest.mark.parametrize(
    ("temp_c", "needed", "days"),
    # extension_goat_parasites: hatch 3-5 d (middle 4) at 25-26 C, 15-30 d (middle 22) at 10-11 C;
    # livestock.md 5: infective 4.5 d at 27 C
    [(25.5, HATCH, 4.0), (10.5, HATCH, 22.0), (27.0, LARVA, 4.5)],
)
def test_the_times_read(temp_c: float, needed: float, days: float) -> None:
    got = development_d(np.full((1, 60), temp_c), BASE_C, needed)
    assert got[0] == pytest.approx(days, abs=0.15)


def test_a_day_counts_from_the_hour_on() -> None:
    warm = np.full((1, 30), 25.2)
    whole, part = development_d(warm, BASE_C, 90.0)[0], development_d(warm, BASE_C, 90.0, 0.5)[0]
    assert (whole, part) == (pytest.approx(5.0), pytest.approx(5.0))
    assert development_d(np.full((1, 30), 60.0), BASE_C, 10.0, 0.5)[0] == pytest.approx(10 / 52.8)


def test_below_the_base_nothing_develops() -> None:
    assert np.isinf(development_d(np.full((2, 40), BASE_C), BASE_C, 90.0)).all()


@given(st.lists(st.floats(-20, 40), min_size=5, max_size=60), st.floats(0, 10))
def test_warmer_is_never_later(temps: list[float], more: float) -> None:
    cool = np.array([temps])
    assert development_d(cool + more, BASE_C, 90.0)[0] <= development_d(cool, BASE_C, 90.0)[0] + 1e-9


def test_rain_over_drying() -> None:
    assert moisture_ratio([[6.0, 0.0, 3.0]], [[2.0, 4.0, 3.0]])[0] == pytest.approx(1.0)
    assert np.isfinite(moisture_ratio([[1.0]], [[0.0]])[0])
