"""Gases beside one another: a factor by gas, and GWP*, which asks how a stream of methane changes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
STOCK_SHARE = 0.25
HORIZON_YR = 100
BACK_YR = 20
PRINTED = (4.53, 4.25)
"""The weights as printed with the later form (smith2021); worked out they are 4.5355 and 4.2520. [1]"""


def co2e_kg(gas_kg: Array, factor_kg_kg: Array) -> Array:
    """Carbon dioxide that a gas counts for by one metric.

    Parameters
    ----------
    gas_kg, factor_kg_kg : array, shape (...)
        [kg; kg CO2e/kg]

    Returns
    -------
    array, shape (...)
        [kg CO2e]

    References
    ----------
    ipcc_ar6_wg1_ch07, Table 7.15
    """
    return np.asarray(np.asarray(gas_kg, dtype=float) * np.asarray(factor_kg_kg))


def scaling(stock_share: float = STOCK_SHARE) -> float:
    """Scale of the later form of GWP* over the earlier.

    Parameters
    ----------
    stock_share : float
        Weight of the steady stream. [1]

    Returns
    -------
    float
        [1]

    References
    ----------
    smith2021, (1 - exp(-s / (1 - s))) / s
    """
    return float(-np.expm1(-stock_share / (1.0 - stock_share)) / stock_share)


def star_weights(
    stock_share: float = STOCK_SHARE, horizon_yr: float = HORIZON_YR, back_yr: float = BACK_YR
) -> tuple[float, float]:
    """Weights of this year's methane and of that of twenty years earlier, the later one taken off.

    Parameters
    ----------
    stock_share, horizon_yr, back_yr : float
        [1; yr; yr]

    Returns
    -------
    (now, earlier) : floats
        [1]

    References
    ----------
    cain2019; smith2021, Eq 1 times the scale
    """
    change = (1.0 - stock_share) * horizon_yr / back_yr
    scale = scaling(stock_share)
    return scale * (change + stock_share), scale * change


def star_t_co2we(now_t: Array, earlier_t: Array, weights: tuple[float, float]) -> Array:
    """Warming-equivalent emission of a year.

    Parameters
    ----------
    now_t, earlier_t : array, shape (...)
        GWP100 of this year's methane and of twenty years ago. [t CO2e]
    weights : (float, float)
        As of ``star_weights``, or as printed. [1]

    Returns
    -------
    array, shape (...)
        [t CO2-we]

    References
    ----------
    smith2021
    """
    return np.asarray(weights[0] * np.asarray(now_t, dtype=float) - weights[1] * np.asarray(earlier_t))


def star_series(yearly_t: Array, before_t: Array | float = 0.0) -> Array:
    """Warming-equivalent emissions of a stream of years.

    Parameters
    ----------
    yearly_t : array, shape (year, ...)
        GWP100 of each year's methane. [t CO2e]
    before_t : array, shape (back_yr, ...), or float
        The same for the twenty years before the first. [t CO2e]

    Returns
    -------
    array, shape (year, ...)
        [t CO2-we]

    References
    ----------
    smith2021
    """
    stream = np.asarray(yearly_t, dtype=float)
    past = np.broadcast_to(np.asarray(before_t, dtype=float), (BACK_YR, *stream.shape[1:]))
    earlier = np.concatenate([past, stream])[: len(stream)]
    return star_t_co2we(stream, earlier, PRINTED)


def shrinkage_for_none(weights: tuple[float, float]) -> float:
    """Share by which a herd shrinks over twenty years for its methane to warm no further.

    Parameters
    ----------
    weights : (float, float)
        [1]

    Returns
    -------
    float
        [1]

    References
    ----------
    smith2021
    """
    return 1.0 - weights[1] / weights[0]
