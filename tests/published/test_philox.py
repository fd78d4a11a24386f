"""The compiled generator of draws gives numpy's own words of Philox 4x64-10."""

from __future__ import annotations

import numpy as np
import pytest

from browseline.science import draws


@pytest.mark.parametrize("seed", [0, 41, -3, 2**64 - 1, 2**70 + 5])
@pytest.mark.parametrize("n", [0, 1, 3, 4, 5, 366])
def test_every_member_draws_what_numpy_draws(seed: int, n: int) -> None:
    members = (0, 5, 100, 7)
    for quantity, year in (("weather.rain", 2031), ("trees.death.hill", 0)):
        made = draws.uniform_of(seed, quantity, members, year, n)
        key = np.array([seed % 2**64, draws._quantity_key(quantity)], dtype=np.uint64)
        for row, member in enumerate(members):
            counter = np.array([0, 0, member, year], dtype=np.uint64)
            words = np.random.Philox(key=key, counter=counter).random_raw(n)
            own = ((words >> np.uint64(12)).astype(np.float64) + 0.5) * 2.0**-52
            assert (made[row] == own).all()
