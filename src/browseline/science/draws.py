"""Luck that stays where it is: random numbers keyed by what they are for.

A draw is looked up, not consumed. One counter-based generator (Philox, 4 x 64 bits) for each
farm seed, quantity, member and year gives the same numbers whatever else is drawn beside it, so
one more member, year, paddock or quantity changes no other draw.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.special import gammaincinv, ndtri

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
DAYS_DRAWN = 366
_MASK = (1 << 64) - 1


def _quantity_key(quantity: str) -> int:
    """Return 64 bits that stand for the name of a quantity."""
    return int.from_bytes(hashlib.blake2b(quantity.encode(), digest_size=8).digest(), "little")


def uniform(seed: int, quantity: str, member: int, year: int, n: int) -> Array:
    """Evenly spread draws of one quantity, member and year.

    Parameters
    ----------
    seed : int
        The farm's seed. Seeds that differ by 2**64 are the same.
    quantity : str
        What the draw decides, such as ``"weather.rain"``.
    member, year : int
        Member of the ensemble, calendar year; not negative.
    n : int
        How many. The first ``n`` of a longer call are the same numbers.

    Returns
    -------
    array, shape (n,)
        Above 0 and below 1, never either. [1]

    References
    ----------
    ours: Philox 4x64-10 is counter based: the key is (seed, quantity), the two high words of the
    counter are (member, year), so no two streams meet within 2**128 draws.
    """
    key = np.array([seed & _MASK, _quantity_key(quantity)], dtype=np.uint64)
    counter = np.array([0, 0, member, year], dtype=np.uint64)
    words = np.random.Philox(key=key, counter=counter).random_raw(n)
    return ((words >> np.uint64(12)).astype(np.float64) + 0.5) * 2.0**-52


def uniform_by_day(seed: int, quantity: str, members: Sequence[int], years: Ints, day_of_year: Ints) -> Array:
    """Evenly spread draws of one quantity for every member and day.

    Parameters
    ----------
    seed, quantity
        As in ``uniform``.
    members : sequence of int
        Which members.
    years, day_of_year : array of int, shape (day,)
        Calendar year and day of the year (1 is 1 January), in order of time. [yr, d]

    Returns
    -------
    array, shape (member, day)
        Above 0 and below 1. [1]

    References
    ----------
    ours: as ``uniform``; a day takes the draw of its own place in the year
    """
    drawn = np.empty((len(members), years.size))
    for year in np.unique(years):
        at = np.flatnonzero(years == year)
        of_year = day_of_year[at] - 1
        for row, member in enumerate(members):
            drawn[row, at[0] : at[-1] + 1] = uniform(seed, quantity, member, int(year), DAYS_DRAWN)[of_year]
    return drawn


def uniform_by_year(seed: int, quantity: str, members: Sequence[int], years: Ints) -> Array:
    """One evenly spread draw of a quantity for every member and year.

    Parameters
    ----------
    seed, quantity, members
        As in ``uniform_by_day``.
    years : array of int, shape (year,)
        Calendar years. [yr]

    Returns
    -------
    array, shape (member, year)
        Above 0 and below 1. [1]

    References
    ----------
    ours: as ``uniform``
    """
    drawn = np.empty((len(members), len(years)))
    for row, member in enumerate(members):
        for column, year in enumerate(years):
            drawn[row, column] = uniform(seed, quantity, member, int(year), 1)[0]
    return drawn


def normal(chance: Array) -> Array:
    """Standard normal draws from evenly spread ones, by the inverse of the distribution.

    Parameters
    ----------
    chance : array, any shape
        Above 0 and below 1. [1]

    Returns
    -------
    array, same shape
        Mean 0, standard deviation 1. [1]

    References
    ----------
    derived_here: inverse of the distribution, scipy.special.ndtri
    """
    return np.asarray(ndtri(chance), dtype=np.float64)


def gamma(chance: Array, shape: Array, scale: Array) -> Array:
    """Gamma draws from evenly spread ones, by the inverse of the distribution.

    Parameters
    ----------
    chance : array
        Above 0 and below 1. [1]
    shape, scale : array, broadcast with ``chance``
        Shape above 0 [1]; scale in the unit of the draw.

    Returns
    -------
    array
        Mean ``shape * scale``, not below 0.

    References
    ----------
    derived_here: inverse of the distribution, scipy.special.gammaincinv
    """
    return np.asarray(gammaincinv(shape, chance) * scale, dtype=np.float64)
