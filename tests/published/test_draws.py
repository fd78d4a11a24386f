"""Inverses of distributions beside a general library (scipy.special)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtri

from browseline.science import draws


def test_normal_inverse_is_that_of_a_general_library() -> None:
    # Wichura 1988 claims about 16 figures; scipy.special.ndtri is the second implementation
    chance = np.concatenate([np.linspace(1e-9, 1 - 1e-9, 20_001), 10.0 ** -np.arange(1, 300, 3)])
    assert draws.normal(chance) == pytest.approx(ndtri(chance), rel=2e-15, abs=1e-16)


def test_normal_inverse_is_odd_about_the_middle() -> None:
    chance = np.linspace(0.001, 0.499, 400)
    assert draws.normal(chance) == pytest.approx(-draws.normal(1 - chance), rel=1e-12)
    assert draws.normal(np.array([0.5]))[0] == 0
