"""How errors add up: products, sums, and skewed factors."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def product_half_pct(half_pct: Array) -> float:
    """Half-width of a product of independent numbers.

    Parameters
    ----------
    half_pct : array, shape (number,)
        Half-widths of each. [%]

    Returns
    -------
    float
        [%]

    References
    ----------
    ipcc2006_v1_ch03, Eq 3.1
    """
    return float(np.sqrt(np.sum(np.square(np.asarray(half_pct, dtype=float)))))


def sum_half(values: Array, half_pct: Array) -> float:
    """Half-width of a sum of independent numbers, in their own unit: never a share of a sum near nothing.

    Parameters
    ----------
    values, half_pct : array, shape (number,)
        [any unit; %]

    Returns
    -------
    float
        In the unit of the values.

    References
    ----------
    ipcc2006_v1_ch03, Eq 3.2
    """
    halves = np.asarray(values, dtype=float) * np.asarray(half_pct, dtype=float) / 100.0
    return float(np.sqrt(np.sum(np.square(halves))))


def lognormal_mean(mu: float, sigma: float) -> float:
    """Mean of a number whose logarithm is normal.

    Parameters
    ----------
    mu, sigma : float
        Of the logarithm. [1]

    Returns
    -------
    float
        In the unit of the number.

    References
    ----------
    ours: exp(mu + sigma^2 / 2)
    """
    return float(np.exp(mu + sigma**2 / 2))


def lognormal_point(mu: float, sigma: float, share: Array) -> Array:
    """Value below which a share of draws lies, of a number whose logarithm is normal.

    Parameters
    ----------
    mu, sigma : float
        Of the logarithm. [1]
    share : array, shape (...)
        Between 0 and 1. [1]

    Returns
    -------
    array, shape (...)
        In the unit of the number.

    References
    ----------
    ours: exp(mu + sigma z)
    """
    from scipy.special import ndtri

    return np.asarray(np.exp(mu + sigma * ndtri(np.asarray(share, dtype=float))))
