"""Larvae of stomach worms: days until eggs dropped on a day are infective, and how wet the first days are."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def development_d(mean_c: ArrayLike, base_c: float, needed_c_d: float, begin_frac: float = 0.0) -> Array:
    """Days from the dropping of eggs to infective larvae, by warmth above a base.

    Parameters
    ----------
    mean_c : array, shape (member, day)
        Mean temperature of days in order, the first that on which the eggs are dropped. [C]
    base_c : float
        Below it nothing develops. [C]
    needed_c_d : float
        Sum of degrees above the base. [C d]
    begin_frac : float
        Part of the first day that is over when the eggs are dropped. [1]

    Returns
    -------
    array, shape (member,)
        Infinite where the days given are too few. [d]

    References
    ----------
    livestock.md section 5; extension_goat_parasites
    """
    warm = np.maximum(np.asarray(mean_c, float) - base_c, 0.0)
    warm[:, 0] *= 1 - begin_frac
    total = np.cumsum(warm, axis=1)
    there = total >= needed_c_d
    last = np.argmax(there, axis=1)
    rows = np.arange(len(warm))
    before = total[rows, last] - warm[rows, last]
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(warm[rows, last] > 0, (needed_c_d - before) / warm[rows, last], 0.0)
    days = np.where(last == 0, part * (1 - begin_frac), last + part - begin_frac)
    return np.asarray(np.where(there.any(axis=1), days, np.inf))


def moisture_ratio(rain_mm: ArrayLike, et0_mm: ArrayLike) -> Array:
    """Rain over drying of the first days after dung was dropped.

    Parameters
    ----------
    rain_mm, et0_mm : array, shape (member, day)
        [mm]

    Returns
    -------
    array, shape (member,)
        [1]

    References
    ----------
    md_moisture_index2010; oconnor2008
    """
    rain, drying = np.sum(np.asarray(rain_mm, float), axis=1), np.sum(np.asarray(et0_mm, float), axis=1)
    return np.asarray(rain / np.maximum(drying, 1e-9))
