"""Generated days: wet and dry spells, amounts of rain, and what lingers from day to day.

Richardson's generator with Geng's way from monthly normals to rain. Draws arrive as arguments,
so the same luck meets every design. Recorded days arrive as known values: they steer the state,
and generated days go on from the last of them.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from browseline.science.compiled import njit
from browseline.science.draws import gamma

Array = npt.NDArray[np.float64]
Wet = npt.NDArray[np.int8]


def day_to_day(m0: Array, m1: Array) -> tuple[Array, Array]:
    """Matrices A and B that give residuals their correlations within and between days.

    Parameters
    ----------
    m0, m1 : array, shape (3, 3)
        Correlations of Tmax, Tmin and radiation on the same day, and with the day before. [1]

    Returns
    -------
    (array, array), shape (3, 3) each
        ``x(t) = A x(t-1) + B e(t)``; B is lower triangular. [1]

    References
    ----------
    richardson1981; forage.md section 4.3
    """
    a = m1 @ np.linalg.inv(m0)
    b = np.linalg.cholesky(m0 - a @ m1.T)
    return np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)


def residual_covariance(a: Array, b: Array) -> Array:
    """Covariance to which residuals settle.

    Parameters
    ----------
    a, b : array, shape (3, 3)
        As from ``day_to_day``. [1]

    Returns
    -------
    array, shape (3, 3)
        Of Tmax, Tmin and radiation; near the correlations they were made from. [1]

    References
    ----------
    derived_here: S = A S A' + B B'
    """
    noise = (b @ b.T).ravel()  # S = A S A' + B B', solved as nine equations
    settled = np.linalg.solve(np.eye(noise.size) - np.kron(a, a), noise)
    return np.asarray(settled.reshape(a.shape), dtype=np.float64)


def wet_chances(wet_share: Array, wet_share_before: Array, persistence: float) -> tuple[Array, Array]:
    """Chances of a wet day after a dry and after a wet one.

    Parameters
    ----------
    wet_share, wet_share_before : array, shape (day,)
        Share of wet days on the day and on the day before, 0 to 1. In a steady climate both are
        the same f and the chances are 0.75 f and 0.25 + 0.75 f at persistence 0.25. [1]
    persistence : float
        Chance after a wet day less chance after a dry day. [1]

    Returns
    -------
    (array, array), shape (day,) each
        After a dry day, after a wet day; the wet share follows ``wet_share`` exactly. [1]

    References
    ----------
    geng1986; forage.md section 4.1
    """
    after_dry = np.clip(wet_share - persistence * wet_share_before, 0.0, 1.0)
    return after_dry, np.minimum(after_dry + persistence, 1.0)


def stationary_wet_share(after_dry: Array, after_wet: Array) -> Array:
    """Share of wet days to which the chain settles.

    Parameters
    ----------
    after_dry, after_wet : array, any shape
        Chances of a wet day. [1]

    Returns
    -------
    array, same shape
        0 to 1. [1]

    References
    ----------
    derived_here: the share that a step leaves as it is
    """
    return after_dry / (1 + after_dry - after_wet)


def wet_day_rain_mm(month_rain_mm: Array, wet_days: Array) -> Array:
    """Mean rain of a wet day.

    Parameters
    ----------
    month_rain_mm, wet_days : array, same shape
        Of a month, or of a day (rain and chance of a wet day). [mm, d]

    Returns
    -------
    array, same shape
        0 where no day is wet. [mm]

    References
    ----------
    geng1986; forage.md section 4.2
    """
    return np.where(wet_days > 0, month_rain_mm / np.maximum(wet_days, 1e-12), 0.0)


def amount_shape_scale(
    wet_rain_mm: Array, threshold_mm: Array, intercept_mm: float, slope: float, exponential_below_mm: float
) -> tuple[Array, Array]:
    """Gamma shape and scale of the rain above the threshold on a wet day.

    Parameters
    ----------
    wet_rain_mm : array, shape (day,)
        Mean rain of a wet day. [mm]
    threshold_mm : array, shape (day,)
        Least rain of a wet day; 0 gives Geng's own shape. [mm]
    intercept_mm, slope : float
        Of scale on mean rain. [mm, 1]
    exponential_below_mm : float
        Below this mean the amounts are exponential. [mm]

    Returns
    -------
    (array, array), shape (day,) each
        Shape [1] and scale [mm]; their product is mean rain less threshold.

    References
    ----------
    geng1986; forage.md section 4.2
    """
    above = np.maximum(wet_rain_mm - threshold_mm, 1e-9)
    fitted = wet_rain_mm >= exponential_below_mm
    scale = np.where(fitted, intercept_mm + slope * wet_rain_mm, above)
    return above / scale, scale


def year_rain_cv(wet_share: Array, least_mm: Array, shape: Array, scale: Array, persistence: float) -> float:
    """Standard deviation over mean of a year's rain that the chain alone makes.

    Parameters
    ----------
    wet_share, least_mm, shape, scale : array, shape (366,)
        Chance of a wet day, least rain of a wet day, gamma shape and scale. [1, mm, 1, mm]
    persistence : float
        Chance of rain after a wet day less chance after a dry day. [1]

    Returns
    -------
    float
        0 where it never rains. [1]

    References
    ----------
    derived_here: the covariance of wet days k days apart is f (1 - f) persistence**k
    """
    wet_rain = least_mm + shape * scale
    total = float(np.sum(wet_share * wet_rain))
    if total <= 0:
        return 0.0
    variance = wet_share * (shape * scale**2 + wet_rain**2) - (wet_share * wet_rain) ** 2
    lingering = sum(persistence**k * np.roll(wet_rain, -k) for k in range(1, 40))
    variance = variance + 2 * wet_share * (1 - wet_share) * wet_rain * lingering
    return float(np.sqrt(np.sum(variance)) / total)


def slow_factor_cv(cv_target: float, cv_chain: float) -> float:
    """Variation that a slow factor on rain must add to reach a place's own yearly variation.

    Parameters
    ----------
    cv_target, cv_chain : float
        Standard deviation over mean of a year's rain: wanted, and made by the chain. [1]

    Returns
    -------
    float
        0 where the chain varies enough by itself. [1]

    References
    ----------
    derived_here, forage.md section 4, cautions
    """
    return float(np.sqrt(max(0.0, (cv_target**2 - cv_chain**2) / (1 + cv_chain**2))))


def mid_year_weights(day_of_year: Array) -> Array:
    """Weights of the year before, the year and the year after, by straight lines between mid-years.

    Parameters
    ----------
    day_of_year : array, shape (day,)
        1 is 1 January. [d]

    Returns
    -------
    array, shape (3, day)
        Sum to 1. [1]

    References
    ----------
    derived_here, forage.md section 4, cautions
    """
    late = (day_of_year - 0.5) / 366 - 0.5
    before, after = np.maximum(-late, 0.0), np.maximum(late, 0.0)
    return np.array([before, 1 - before - after, after])


def slow_factor_sd(cv_factor: float, excess_share: Array) -> float:
    """Spread of the yearly logarithms with which a year's rain varies as wanted.

    Lines between mid-years smooth a factor; the spread is widened by what they take away.

    Parameters
    ----------
    cv_factor : float
        Wanted variation of a year's rain by the factor. [1]
    excess_share : array, shape (366,)
        What the factor acts on: rain above the wet-day threshold, each day over the year's rain. [1]

    Returns
    -------
    float
        [ln of 1]

    References
    ----------
    derived_here: the variance of the weighted mean of yearly draws
    """
    reach = np.sum((mid_year_weights(np.arange(1.0, 367.0)) @ excess_share) ** 2)
    return float(np.sqrt(np.log1p(cv_factor**2) / max(reach, 1e-9)))


def slow_factor(sd: float, yearly: Array, year_at: npt.NDArray[np.int64], weights: Array) -> Array:
    """Slow factor on rain, mean 1 on every day.

    Parameters
    ----------
    sd : float
        Spread of the yearly logarithms. [1]
    yearly : array, shape (member, year)
        Standard normal draws, one year more on either side than the days hold. [1]
    year_at : array of int, shape (day,)
        Place of the day's own year among them.
    weights : array, shape (3, day)
        As from ``mid_year_weights``. [1]

    Returns
    -------
    array, shape (member, day)
        Above 0. [1]

    References
    ----------
    derived_here: a lognormal of mean 1, forage.md section 4, cautions
    """
    lines = sum(weights[k] * yearly[:, year_at + k - 1] for k in range(3))
    return np.asarray(np.exp(sd * lines - sd**2 * np.sum(weights**2, axis=0) / 2), dtype=np.float64)


@njit(cache=True, nogil=True)
def run_days(
    wet_draw: Array, noise: Array, after_dry: Array, after_wet: Array, at: npt.NDArray[np.int64],
    mean: Array, sd: Array, a: Array, b: Array, known_wet: Wet, known: Array, rs_low: Array, rs_high: Array,
    least_range: float,
) -> tuple[npt.NDArray[np.bool_], Array]:  # fmt: skip
    """Wet days, temperatures and radiation of every member, day after day.

    Parameters
    ----------
    wet_draw : array, shape (member, day)
        Evenly spread draws. [1]
    noise : array, shape (3, member, day)
        Standard normal draws. [1]
    after_dry, after_wet : array, shape (366,)
        Chances of a wet day. [1]
    at : array of int, shape (day,)
        Place of each day in the year of 366 days.
    mean, sd : array, shape (2, 3, 366)
        Of Tmax, Tmin and radiation on dry and wet days. [C, C, MJ/m2/d]
    a, b : array, shape (3, 3)
        As from ``day_to_day``. [1]
    known_wet : array of int, shape (day,)
        1 wet, 0 dry, -1 not known.
    known : array, shape (3, day)
        Recorded Tmax, Tmin and radiation, NaN where not known. [C, C, MJ/m2/d]
    rs_low, rs_high : array, shape (366,)
        Bounds of generated radiation. [MJ/m2/d]
    least_range : float
        Least difference of generated Tmax and Tmin. [C]

    Returns
    -------
    (array of bool, shape (member, day); array, shape (3, member, day))
        Wet days; Tmax, Tmin, radiation. [C, C, MJ/m2/d]

    References
    ----------
    richardson1981; forage.md section 4
    """
    members, days = wet_draw.shape
    wet_days = np.zeros((members, days), dtype=np.bool_)
    values = np.empty((3, members, days))
    x, before = np.empty(3), np.empty(3)
    for member in range(members):
        wet = 0
        x[:] = 0.0
        for day in range(days):
            of_year = at[day]
            wet = _next_wet(
                wet, wet_draw[member, day], after_dry[of_year], after_wet[of_year], known_wet[day]
            )
            wet_days[member, day] = wet == 1
            before[:] = x
            for k in range(3):
                x[k] = _residual(k, before, noise, member, day, a, b)
                middle, spread = mean[wet, k, of_year], sd[wet, k, of_year]
                values[k, member, day] = middle + spread * x[k]
                x[k] = _steered(x[k], known[k, day], middle, spread)
            _keep_possible(values, member, day, known, rs_low[of_year], rs_high[of_year], least_range)
    return wet_days, values


@njit(cache=True, nogil=True)
def _next_wet(wet: int, draw: float, after_dry: float, after_wet: float, known: int) -> int:
    """Return 1 on a wet day: as recorded, else by the draw."""
    if known >= 0:
        return int(known)
    return 1 if draw < (after_wet if wet == 1 else after_dry) else 0


@njit(cache=True, nogil=True)
def _residual(k: int, before: Array, noise: Array, member: int, day: int, a: Array, b: Array) -> float:
    """Residual of one quantity from those of the day before and today's noise."""
    total = 0.0
    for j in range(3):
        total += a[k, j] * before[j] + b[k, j] * noise[j, member, day]
    return total


@njit(cache=True, nogil=True)
def _steered(residual: float, known: float, mean: float, sd: float) -> float:
    """Residual that a recorded value stands for, or the generated one."""
    if np.isnan(known):
        return residual
    return (known - mean) / sd if sd > 0 else 0.0


@njit(cache=True, nogil=True)
def _keep_possible(
    values: Array, member: int, day: int, known: Array, rs_low: float, rs_high: float, least_range: float
) -> None:
    """Put recorded values in and keep generated ones possible beside them."""
    for k in range(3):
        if not np.isnan(known[k, day]):
            values[k, member, day] = known[k, day]
    if np.isnan(known[0, day]):
        values[0, member, day] = max(values[0, member, day], values[1, member, day] + least_range)
    elif np.isnan(known[1, day]):
        values[1, member, day] = min(values[1, member, day], values[0, member, day] - least_range)
    if np.isnan(known[2, day]):
        values[2, member, day] = min(max(values[2, member, day], rs_low), rs_high)


def rain_mm(
    wet_days: npt.NDArray[np.bool_],
    amount_draw: Array,
    least_mm: Array,
    shape: Array,
    scale: Array,
    factor: Array,
) -> Array:
    """Rain of every day.

    Parameters
    ----------
    wet_days : array of bool, shape (member, day)
        Where it rains.
    amount_draw : array, shape (member, day)
        Evenly spread draws. [1]
    least_mm, shape, scale : array, shape (day,)
        Least rain of a wet day, gamma shape and scale of what falls above it. [mm, 1, mm]
    factor : array, shape (member, day)
        Slow factor on what falls above it. [1]

    Returns
    -------
    array, shape (member, day)
        0 on dry days. [mm]

    References
    ----------
    geng1986; forage.md section 4.2
    """
    rain = np.zeros(wet_days.shape)
    _, day = np.nonzero(wet_days)
    above = gamma(amount_draw[wet_days], shape[day], scale[day]) * factor[wet_days]
    rain[wet_days] = least_mm[day] + above
    return rain
