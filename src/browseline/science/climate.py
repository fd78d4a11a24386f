"""From twelve monthly normals to the mean and spread of every day of the year.

All arrays over days have 366 entries, 29 February among them. Every step keeps what the normals
say of a month: where a clip would move a mean, the mean before the clip is moved the other way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

Array = npt.NDArray[np.float64]
MONTH_DAYS = np.array([31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
MONTH_STARTS = np.concatenate(([0], np.cumsum(MONTH_DAYS)[:-1]))
MONTH_OF_DAY = np.repeat(np.arange(12), MONTH_DAYS)
YEAR_DAYS = 366


def monthly_mean(daily: Array) -> Array:
    """Mean of each month.

    Parameters
    ----------
    daily : array, shape (366,)
        Any unit.

    Returns
    -------
    array, shape (12,)
        The same unit.

    References
    ----------
    derived_here: plain arithmetic
    """
    return np.asarray(np.add.reduceat(daily, MONTH_STARTS) / MONTH_DAYS, dtype=np.float64)


def _between_mid_months(knots: Array) -> Array:
    middle = MONTH_STARTS + (MONTH_DAYS - 1) / 2
    return np.asarray(np.interp(np.arange(YEAR_DAYS), middle, knots, period=YEAR_DAYS), dtype=np.float64)


def daily_means(monthly: Array) -> Array:
    """Daily means that run straight from mid-month to mid-month and keep each month's mean.

    Parameters
    ----------
    monthly : array, shape (12,)
        January first; any unit.

    Returns
    -------
    array, shape (366,)
        The same unit; its monthly means are ``monthly`` exactly.

    References
    ----------
    derived_here, forage.md section 4.5: straight lines, each month's error added back three times
    """
    knots = monthly.copy()
    for _ in range(3):
        knots = knots + monthly - monthly_mean(_between_mid_months(knots))
    daily = _between_mid_months(knots)
    return daily + (monthly - monthly_mean(daily))[MONTH_OF_DAY]


def daily_amounts(monthly: Array) -> Array:
    """Daily means of a quantity that is never negative, such as rain a day.

    Parameters
    ----------
    monthly : array, shape (12,)
        Mean of each month, not below 0; any unit.

    Returns
    -------
    array, shape (366,)
        Not below 0; its monthly means are ``monthly`` exactly.

    References
    ----------
    derived_here: as ``daily_means``, then each month scaled to its mean
    """
    daily = np.maximum(daily_means(monthly), 0.0)
    reached = monthly_mean(daily)
    share = np.where(reached > 0, monthly / np.maximum(reached, 1e-12), 0.0)
    return np.asarray(daily * share[MONTH_OF_DAY], dtype=np.float64)


def wet_day_rain_mm(
    rain_mm_d: Array, wet_share: Array, daily_wet: Array, threshold_mm: float
) -> tuple[Array, Array]:
    """Rain of a wet day on every day of the year: the least, and the mean of what falls above it.

    Parameters
    ----------
    rain_mm_d, wet_share : array, shape (12,)
        Mean rain over all days, and share of wet days; January first. [mm/d, 1]
    daily_wet : array, shape (366,)
        Share of wet days of every day. [1]
    threshold_mm : float
        Least rain of a day that was counted as wet. [mm]

    Returns
    -------
    (array, array), shape (366,) each
        Least, which is the threshold unless a month's wet days are too small for it, and mean above
        it; with ``daily_wet`` they make each month's rain exactly. [mm]

    References
    ----------
    derived_here, forage.md section 4.2 and 4.5
    """
    rainy = wet_share > 0
    mean = np.where(rainy, rain_mm_d / np.maximum(wet_share, 1e-12), 0.0)
    least = np.minimum(threshold_mm, mean / 2)
    above = mean - least
    lines = _between_mid_months(np.where(rainy, above, np.mean(above[rainy]) if rainy.any() else 0.0))
    reached = monthly_mean(daily_wet * lines)
    share = np.where(reached > 0, above * wet_share / np.maximum(reached, 1e-12), 0.0)
    return least[MONTH_OF_DAY], lines * share[MONTH_OF_DAY]


def seasonal_sd(low: float, high: float, tmean_c: Array) -> Array:
    """Spread of daily temperature over the year: a cosine, widest in the coldest month.

    Parameters
    ----------
    low, high : float
        Least and greatest standard deviation. [C]
    tmean_c : array, shape (12,)
        Monthly mean temperature. [C]

    Returns
    -------
    array, shape (366,)
        [C]

    References
    ----------
    memory_unsourced, forage.md section 4.4
    """
    coldest = int(np.argmin(tmean_c))
    middle = MONTH_STARTS[coldest] + (MONTH_DAYS[coldest] - 1) / 2
    wave = np.cos(2 * np.pi * (np.arange(YEAR_DAYS) - middle) / YEAR_DAYS)
    return np.asarray((low + high) / 2 + (high - low) / 2 * wave, dtype=np.float64)


def spread_of_records(
    at: npt.NDArray[np.int64], tmax_c: Array, tmin_c: Array, wet: Array, usual_c: Array
) -> tuple[Array, float]:
    """Spread of temperature and coolness of wet days, as a record shows them.

    Parameters
    ----------
    at : array of int, shape (day,)
        Place of each recorded day in the year of 366 days.
    tmax_c, tmin_c, wet : array, shape (day,)
        Temperatures, and 1 on wet, 0 on dry days; NaN where not read. Every month must hold days. [C, C, 1]
    usual_c : array, shape (2, 366)
        Daily means of Tmax and Tmin, so that the season does not count as spread. [C]

    Returns
    -------
    (array, shape (2, 366); float)
        Standard deviation of Tmax and Tmin within wet and within dry days; how much cooler Tmax is on
        a wet day, not below 0. [C]

    References
    ----------
    derived_here: sample moments about each month's own mean, drawn out as ``daily_amounts``
    """
    apart = np.array([tmax_c, tmin_c]) - usual_c[:, at]
    dry_c, wet_c = (series[np.isfinite(series)] for series in (apart[0, wet == 0], apart[0, wet == 1]))
    cooler = max(float(dry_c.mean() - wet_c.mean()), 0.0) if dry_c.size and wet_c.size else 0.0
    apart[0] += cooler * np.nan_to_num(wet)
    months = MONTH_OF_DAY[at]
    monthly = [[np.nanstd(series[months == month]) for month in range(12)] for series in apart]
    return np.array([daily_amounts(np.array(sd)) for sd in monthly]), cooler


def mean_after_clip(mean: Array, sd: Array, low: Array, high: Array) -> Array:
    """Mean of a normal quantity after what lies outside two bounds was set on them.

    Parameters
    ----------
    mean, sd, low, high : array, same shape
        Any unit; ``low`` not above ``high``.

    Returns
    -------
    array, same shape
        The same unit.

    References
    ----------
    derived_here: the mean of a censored normal, by its density and distribution
    """
    width = np.maximum(sd, 1e-12)
    a, b = (low - mean) / width, (high - mean) / width
    density = (np.exp(-(a**2) / 2) - np.exp(-(b**2) / 2)) / np.sqrt(2 * np.pi)
    inside = ndtr(b) - ndtr(a)
    return np.asarray(low * ndtr(a) + high * ndtr(-b) + mean * inside + width * density, dtype=np.float64)


def span_before_floor(span_c: Array, sd_c: Array) -> Array:
    """Mean range of temperature which, after ranges below 0 were set to 0, has the wanted mean.

    Parameters
    ----------
    span_c : array, any shape
        Wanted mean of the range above its floor. [C]
    sd_c : array, same shape
        Its standard deviation. [C]

    Returns
    -------
    array, same shape
        Below ``span_c``, perhaps negative. [C]

    References
    ----------
    derived_here: the inverse of the mean of a normal censored at 0, by Newton steps
    """
    wide_c = np.maximum(sd_c, 1e-6)
    wanted = np.maximum(span_c, 1e-3) / wide_c
    u = np.where(wanted > 0.4, wanted, ndtri(np.minimum(wanted, 0.4)))
    for _ in range(12):
        density = np.exp(-(u**2) / 2) / np.sqrt(2 * np.pi)
        u = u - (density + u * ndtr(u) - wanted) / np.maximum(ndtr(u), 1e-6)
    return np.asarray(u * wide_c, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Spread:
    """How days scatter about their mean and how rain days differ; arguments from the tables.

    Parameters
    ----------
    cooler_wet_c : float
        How much cooler the highest temperature is on a wet day. [C]
    sd_c : array, shape (2, 366)
        Standard deviation of Tmax and Tmin on every day of the year. [C]
    rs_wet_over_dry : float
        Radiation of a wet day over that of a dry day. [1]
    rs_cv_dry, rs_cv_wet : float
        Standard deviation over mean. [1]
    rs_low_share, rs_high_share : float
        Bounds of radiation as shares of that above the air. [1]
    least_range_c : float
        Least difference between highest and lowest temperature. [C]
    """

    cooler_wet_c: float
    sd_c: Array
    rs_wet_over_dry: float
    rs_cv_dry: float
    rs_cv_wet: float
    rs_low_share: float
    rs_high_share: float
    least_range_c: float


@dataclass(frozen=True, slots=True)
class Climate:
    """Mean and spread of every day of the year.

    Parameters
    ----------
    wet_share, least_mm, above_mm : array, shape (366,)
        Chance of a wet day, least rain of one, mean rain above it. [1, mm, mm]
    mean, sd : array, shape (2, 3, 366)
        Of Tmax, Tmin and radiation, on dry [0] and wet [1] days, before clipping. [C, C, MJ/m2/d]
    rs_low, rs_high : array, shape (366,)
        Bounds of radiation. [MJ/m2/d]
    least_range_c : float
        Least difference between Tmax and Tmin. [C]
    """

    wet_share: Array
    least_mm: Array
    above_mm: Array
    mean: Array
    sd: Array
    rs_low: Array
    rs_high: Array
    least_range_c: float


def _dry_radiation(
    target: Array, wet: Array, dry: Array, wet_share: Array, s: Spread, low: Array, high: Array
) -> Array:
    """Dry-day mean radiation with which the clipped mean of all days returns to its target."""
    wet_mean = mean_after_clip(wet, s.rs_cv_wet * wet, low, high)
    wanted = np.clip((target - wet_share * wet_mean) / np.maximum(1 - wet_share, 1e-6), low, high)
    mean = dry.copy()
    for _ in range(30):
        reached = mean_after_clip(mean, s.rs_cv_dry * mean, low, high)
        mean = np.minimum(mean * wanted / np.maximum(reached, 1e-9), 5 * np.maximum(high, 1e-9))
    return mean


def climate(
    tmax_c: Array, tmin_c: Array, rain_mm_d: Array, wet_share: Array, rs_mj_m2_d: Array,
    above_air_mj_m2_d: Array, threshold_mm: float, spread: Spread, covariance: Array,
) -> Climate:  # fmt: skip
    """Mean and spread of every day of the year from monthly normals.

    Parameters
    ----------
    tmax_c, tmin_c, rain_mm_d, wet_share, rs_mj_m2_d : array, shape (12,)
        Monthly means of a day; January first. [C, C, mm/d, 1, MJ/m2/d]
    above_air_mj_m2_d : array, shape (366,)
        Radiation above the air. [MJ/m2/d]
    threshold_mm : float
        Least rain of a wet day. [mm]
    spread : Spread
        How days scatter.
    covariance : array, shape (3, 3)
        Of the residuals of Tmax, Tmin and radiation. [1]

    Returns
    -------
    Climate
        Its clipped days keep the monthly means.

    References
    ----------
    richardson1981; derived_here, forage.md section 4.4 to 4.6
    """
    wet = np.clip(daily_amounts(wet_share), 0.0, 0.98)
    high_c, low_c = daily_means(tmax_c), daily_means(tmin_c)
    sd_high, sd_low = spread.sd_c
    sd_range = np.sqrt(
        covariance[0, 0] * sd_high**2 + covariance[1, 1] * sd_low**2 - 2 * covariance[0, 1] * sd_high * sd_low
    )
    warm = [high_c + wet * spread.cooler_wet_c, high_c - (1 - wet) * spread.cooler_wet_c]
    warm = [
        low_c + spread.least_range_c + span_before_floor(t - low_c - spread.least_range_c, sd_range)
        for t in warm
    ]
    low, high = spread.rs_low_share * above_air_mj_m2_d, spread.rs_high_share * above_air_mj_m2_d
    sun = np.clip(daily_amounts(rs_mj_m2_d), low, high)
    dry_sun = sun / (1 - (1 - spread.rs_wet_over_dry) * wet)
    wet_sun = spread.rs_wet_over_dry * dry_sun
    dry_sun = _dry_radiation(sun, wet_sun, dry_sun, wet, spread, low, high)
    mean = np.array([[warm[0], low_c, dry_sun], [warm[1], low_c, wet_sun]])
    sd = np.array(
        [[sd_high, sd_low, spread.rs_cv_dry * dry_sun], [sd_high, sd_low, spread.rs_cv_wet * wet_sun]]
    )
    rain = wet_day_rain_mm(rain_mm_d, wet_share, wet, threshold_mm)
    return Climate(wet, *rain, mean, sd, low, high, spread.least_range_c)
