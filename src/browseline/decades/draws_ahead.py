"""Draws of the years ahead: one a member, or one a member and year, keyed by what they are for."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from browseline.science import draws

Array = npt.NDArray[np.float64]
SINCE = 1900
"""First year of a row of yearly draws. [yr]"""


def chances(seed: int, quantity: str, members: Sequence[int]) -> Array:
    """Return one evenly spread draw for each member, the same in all years, shape (member,). [1]"""
    return _kept(seed, quantity, tuple(members))


@lru_cache(maxsize=512)
def _kept(seed: int, quantity: str, members: tuple[int, ...]) -> Array:
    """Return the draws of some members, made once: what is shared is asked for by every planting."""
    made = draws.uniform_of(seed, quantity, members, 0, 1)[:, 0]
    made.flags.writeable = False
    return made


def luck(seed: int, quantity: str, members: Sequence[int]) -> Array:
    """Return one standard normal draw for each member, the same in all years, shape (member,). [1]"""
    return draws.normal(chances(seed, quantity, members))


def yearly_luck(seed: int, quantity: str, members: Sequence[int], years: Sequence[int]) -> Array:
    """Return a standard normal draw for each year and member, shape (year, member). [1]

    A year has its place in one row of draws of the member, whichever years are asked for.
    """
    place = np.array(years) - SINCE
    rows = draws.uniform_of(seed, quantity, members, 0, int(place.max()) + 1)[:, place]
    return draws.normal(np.array(rows).T)
