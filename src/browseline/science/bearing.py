"""What trees bear: by age, one year full and one year thin, and how much the years differ.

Arrays of any shape (year, member) in, the same shape out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


def by_age(age_yr: Array, from_yr: Array, to_yr: Array, yield_kg: Array) -> Array:
    """Yield of a tree of an age by a table of ages, straight between the ages of two rows.

    Parameters
    ----------
    age_yr : array, shape (...)
        Whole or part years since planting; under the first row nothing is borne. [yr]
    from_yr, to_yr, yield_kg : array, shape (row,)
        First and last age of each row, in order without overlap, and the yield of a tree; past the last
        row its yield is held. [yr, yr, kg/tree/yr]

    Returns
    -------
    array, shape (...)
        [kg/tree/yr]

    References
    ----------
    ours: the rows of data/yields.csv as they stand; what no row covers lies on the line between two
    """
    ages = np.floor(np.asarray(age_yr, dtype=float))
    knots = np.column_stack([from_yr, to_yr]).ravel()
    heights = np.repeat(yield_kg, 2)
    twice = np.append(np.diff(knots) > 0, True)
    return np.where(ages < knots[0], 0.0, np.interp(ages, knots[twice], heights[twice]))


def alternating(depth: float, year: Ints, phase: Ints) -> Array:
    """Share of its trend that a crop bears in a year: full and thin years in turn.

    Parameters
    ----------
    depth : float
        0 is even, 1 leaves nothing in the thin year. [1]
    year : array of int, shape (...)
        [yr]
    phase : array of int, shape (...)
        0: even years are full; 1: odd ones.

    Returns
    -------
    array, shape (...)
        Two years after each other make 2. [1]

    References
    ----------
    placeholder: trees.md section 6, 1 + d (-1)^t
    """
    even = (np.asarray(year) + phase) % 2 == 0
    return np.where(even, 1.0 + depth, 1.0 - depth)


def alternation_index(yearly: Array) -> Array:
    """How much crops of years after each other differ, 0 to 1, over the first axis.

    Parameters
    ----------
    yearly : array, shape (year, ...)
        Crops; pairs of years without any are left out.

    Returns
    -------
    array, shape (...)
        Mean of |y(t) - y(t-1)| / (y(t) + y(t-1)); NaN where no pair bears. [1]

    References
    ----------
    placeholder: trees.md section 6, index of alternate bearing
    """
    crops = np.asarray(yearly, dtype=float)
    both = crops[1:] + crops[:-1]
    share = np.divide(np.abs(np.diff(crops, axis=0)), both, out=np.full(both.shape, np.nan), where=both > 0)
    pairs = (both > 0).sum(axis=0)
    total = np.nansum(share, axis=0)
    return np.asarray(np.divide(total, pairs, out=np.full(total.shape, np.nan), where=pairs > 0))


def left_by_frost(last_frost_d: Array, bloom_d: Array, left_share: float) -> Array:
    """Share of a crop that a late frost leaves.

    Parameters
    ----------
    last_frost_d : array, shape (...)
        Day of the last frost of spring; NaN for none. [d]
    bloom_d : array, shape (...)
        Day on which bloom begins. [d]
    left_share : float
        Of the crop, after a frost on that day or later. [1]

    Returns
    -------
    array, shape (...)
        1 where no frost came so late. [1]

    References
    ----------
    ours: a frost on or after the first day of bloom takes the same share, whenever it comes
    """
    late = np.nan_to_num(np.asarray(last_frost_d, dtype=float), nan=-np.inf) >= bloom_d
    return np.where(late, left_share, 1.0)
