"""Luck that stays where it is: random numbers keyed by what they are for.

A draw is looked up, not consumed. One counter-based generator (Philox, 4 x 64 bits) for each
farm seed, quantity, member and year gives the same numbers whatever else is drawn beside it, so
one more member, year, paddock or quantity changes no other draw.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
DAYS_DRAWN = 366
_MASK = (1 << 64) - 1


@lru_cache(4096)
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
    return np.asarray(uniform_of(seed, quantity, (member,), year, n)[0])


def uniform_of(seed: int, quantity: str, members: Sequence[int], year: int, n: int) -> Array:
    """Evenly spread draws of one quantity and year for several members.

    Parameters
    ----------
    seed, quantity, year, n
        As in ``uniform``.
    members : sequence of int
        Which members.

    Returns
    -------
    array, shape (member, n)
        Above 0 and below 1. [1]

    References
    ----------
    ours: as ``uniform``, all members at once
    """
    from browseline.science.philox import words

    key = np.array([seed & _MASK, _quantity_key(quantity)], dtype=np.uint64)
    drawn = np.empty((len(members), n), dtype=np.uint64)
    words(key, np.array(members, dtype=np.uint64), np.uint64(year), drawn)
    return np.asarray(((drawn >> np.uint64(12)).astype(np.float64) + 0.5) * 2.0**-52)


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
        whole = uniform_of(seed, quantity, members, int(year), DAYS_DRAWN)
        drawn[:, at[0] : at[-1] + 1] = whole[:, of_year]
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
    for column, year in enumerate(years):
        drawn[:, column] = uniform_of(seed, quantity, members, int(year), 1)[:, 0]
    return drawn


# Coefficients of AS 241, PPND16: numerator and denominator near the middle, in the tails, far out.
_MIDDLE = (
    (
        3.3871328727963666080e0,
        1.3314166789178437745e2,
        1.9715909503065514427e3,
        1.3731693765509461125e4,
        4.5921953931549871457e4,
        6.7265770927008700853e4,
        3.3430575583588128105e4,
        2.5090809287301226727e3,
    ),
    (
        1.0,
        4.2313330701600911252e1,
        6.8718700749205790830e2,
        5.3941960214247511077e3,
        2.1213794301586595867e4,
        3.9307895800092710610e4,
        2.8729085735721942674e4,
        5.2264952788528545610e3,
    ),
)
_TAIL = (
    (
        1.42343711074968357734e0,
        4.63033784615654529590e0,
        5.76949722146069140550e0,
        3.64784832476320460504e0,
        1.27045825245236838258e0,
        2.41780725177450611770e-1,
        2.27238449892691845833e-2,
        7.74545014278341407640e-4,
    ),
    (
        1.0,
        2.05319162663775882187e0,
        1.67638483018380384940e0,
        6.89767334985100004550e-1,
        1.48103976427480074590e-1,
        1.51986665636164571966e-2,
        5.47593808499534494600e-4,
        1.05075007164441684324e-9,
    ),
)
_FAR = (
    (
        6.65790464350110377720e0,
        5.46378491116411436990e0,
        1.78482653991729133580e0,
        2.96560571828504891230e-1,
        2.65321895265761230930e-2,
        1.24266094738807843860e-3,
        2.71155556874348757815e-5,
        2.01033439929228813265e-7,
    ),
    (
        1.0,
        5.99832206555887937690e-1,
        1.36929880922735805310e-1,
        1.48753612908506148525e-2,
        7.86869131145613259100e-4,
        1.84631831751005468180e-5,
        1.42151175831644588870e-7,
        2.04426310338993978564e-15,
    ),
)


def _over(x: Array, of: tuple[tuple[float, ...], tuple[float, ...]]) -> Array:
    """Return one polynomial over another, lowest power first."""
    top, bottom = (np.polynomial.polynomial.polyval(x, powers) for powers in of)
    return np.asarray(top / bottom)


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
    ours: algorithm AS 241 (PPND16) of Wichura 1988, Applied Statistics 37:477, coefficients recalled
    and held to scipy.special.ndtri; about 16 figures
    """
    share = np.asarray(chance, dtype=np.float64)
    off = share - 0.5
    near = np.abs(off) <= 0.425
    middle = off * _over(0.180625 - np.where(near, off, 0.0) ** 2, _MIDDLE)
    depth = np.sqrt(-np.log(np.where(near, 0.5, np.minimum(share, 1 - share))))
    tail = np.where(depth <= 5, _over(depth - 1.6, _TAIL), _over(depth - 5, _FAR))
    return np.where(near, middle, np.copysign(tail, off))


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
    from scipy.special import gammaincinv

    return np.asarray(gammaincinv(shape, chance) * scale, dtype=np.float64)
