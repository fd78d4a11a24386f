"""A share that was counted, and how far off it may be."""

from __future__ import annotations

import math
from functools import cache


def score_interval(hits: int, seen: int, z: float) -> tuple[float, float]:
    """Return the interval of Wilson's score for the share of a count.

    Parameters
    ----------
    hits, seen : int
        Found so, and looked at; ``seen`` above 0. [1]
    z : float
        Standard normal quantile: 1.645 for 90 %. [1]

    Returns
    -------
    tuple of float
        Lower and upper end of the share, within 0-1. [1]

    Raises
    ------
    ValueError
        If nothing was looked at, or more were found than looked at.

    References
    ----------
    ours: Wilson's score interval without continuity correction, checked against scipy and against the
    examples printed by Newcombe (1998)
    """
    if seen <= 0 or not 0 <= hits <= seen:
        raise ValueError(f"{hits} of {seen}")
    share, over = hits / seen, z * z / seen
    middle = (share + over / 2) / (1 + over)
    half = z / (1 + over) * math.sqrt(share * (1 - share) / seen + over / (4 * seen))
    low = 0.0 if hits == 0 else middle - half
    high = 1.0 if hits == seen else middle + half
    return low, high


def rate_learnt(
    prior_per_d: float, prior_trees: float, found: float, tree_days: float, tail: float
) -> tuple[float, float, float]:
    """Return a daily rate that counts so far teach, from a book's rate with the weight of so many trees.

    Events of a Poisson count over an exposure, with the book as a gamma prior: for small shares it is
    the beta-binomial of trees hit. A count moves the rate by its exposure over the sum of exposures.

    Parameters
    ----------
    prior_per_d : float
        The book's rate, above 0. [1/d]
    prior_trees : float
        Its weight: trees looked at after one day, above 0. [1]
    found, tree_days : float
        Trees found hit, and trees looked at times days exposed. [1, d]
    tail : float
        Share below the low end and above the high end. [1]

    Returns
    -------
    tuple of float
        Low end, mean, high end. [1/d]

    References
    ----------
    ours: conjugate gamma-Poisson updating, checked against scipy's gamma distribution
    """
    shape = prior_per_d * prior_trees + found
    exposure = prior_trees + tree_days
    low, high = (gamma_quantile(shape, share) / exposure for share in (tail, 1 - tail))
    return low, shape / exposure, high


@cache
def gamma_quantile(shape: float, share: float) -> float:
    """Return the point below which a share of a gamma distribution with scale 1 lies.

    Parameters
    ----------
    shape : float
        Above 0. [1]
    share : float
        Between 0 and 1, both left out. [1]

    Returns
    -------
    float
        [1]

    References
    ----------
    ours: bisection on the power series of the lower incomplete gamma function, checked against scipy,
    whose import costs more time than a page of limits
    """
    low, high = 0.0, max(shape, 1.0)
    while _gamma_share(shape, high) < share:
        low, high = high, 2 * high
    while high - low > 1e-13 * high:
        middle = (low + high) / 2
        if not low < middle < high:
            break
        low, high = (middle, high) if _gamma_share(shape, middle) < share else (low, middle)
    return (low + high) / 2


def _gamma_share(shape: float, point: float) -> float:
    """Return the share of a gamma distribution with scale 1 below a point."""
    term = total = 1.0
    n = shape
    while term > 1e-16 * total:
        n += 1
        term *= point / n
        total += term
    return total * math.exp(shape * math.log(point) - point - math.lgamma(shape + 1)) if point > 0 else 0.0
