"""Daily growth of herbage: light, warmth, water and season, times a shape in mass.

Growth of a sward is ``NI x sum over groups of share x potential(day) x shape(mass)``. The potential
holds everything that changes from day to day, the shape everything that changes with mass, so a
resting paddock can be followed without knowing who grazes elsewhere. Constants arrive as arguments.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


class Group(NamedTuple):
    """Constants of one forage group: cool-season grass, warm-season grass or legume."""

    rue_g_mj: float
    extinction: float
    par0_mj_m2_d: float
    par_decline_m2_d_mj: float
    t0_c: float
    t1_c: float
    t2_c: float
    t3_c: float
    sla_m2_g: float
    lamina_frac: float
    green_frac: float
    ceiling_kg_ha: float


class Season(NamedTuple):
    """Spring flush of cool-season grass on the day-length-weighted thermal sum.

    The four knots are in C d (begins, is full, starts to fall, has ended); the two day lengths are
    those where the sum starts to count and counts in full.
    """

    begins_c_d: float
    full_c_d: float
    falls_c_d: float
    ends_c_d: float
    day_low_h: float
    day_high_h: float


def leaf_area_index(mass_kg_ha: ArrayLike, group: Group, bare_kg_ha: float = 0.0) -> Array:
    """Leaf area over ground area.

    Parameters
    ----------
    mass_kg_ha : array, any shape
        Herbage to the ground, dry. [kg/ha]
    bare_kg_ha : float
        Mass below which leaf area no longer falls, so that bare ground grows again. [kg/ha]

    Returns
    -------
    array, shape of `mass_kg_ha`
        [m2/m2]

    References
    ----------
    jouven2006a as restated; the green share replaces the pool of dead leaf
    """
    mass_g_m2 = np.maximum(np.asarray(mass_kg_ha, float), bare_kg_ha) / 10
    return np.asarray(group.sla_m2_g * group.lamina_frac * group.green_frac * mass_g_m2)


def light_interception(leaf_area: ArrayLike, extinction: float) -> Array:
    """Share of the light that leaves catch.

    Parameters
    ----------
    leaf_area : array, any shape
        Leaf area index, 0 or more. [m2/m2]
    extinction : float
        Of light, per unit of leaf area. [1]

    Returns
    -------
    array, shape of `leaf_area`
        0 to 1. [1]

    References
    ----------
    jouven2006a
    """
    return np.asarray(1 - np.exp(-extinction * np.asarray(leaf_area, float)))


def radiation_response(par_mj_m2_d: ArrayLike, group: Group) -> Array:
    """Share of the full efficiency that is left in strong light.

    Parameters
    ----------
    par_mj_m2_d : array, any shape
        Light that plants use, at the top of the sward. [MJ/m2/d]

    Returns
    -------
    array, shape of `par_mj_m2_d`
        0 to 1; 1 throughout for a group whose decline is 0. [1]

    References
    ----------
    schapendonk1998
    """
    strong = np.asarray(par_mj_m2_d, float) - group.par0_mj_m2_d
    return np.asarray(np.clip(1 - group.par_decline_m2_d_mj * strong, 0, 1))


def temperature_response(temp_c: ArrayLike, group: Group) -> Array:
    """Share of growth that warmth allows: a trapeze over the mean of the last ten days.

    Parameters
    ----------
    temp_c : array, any shape
        Mean of the last ten daily means. [C]

    Returns
    -------
    array, shape of `temp_c`
        0 to 1. [1]

    References
    ----------
    jouven2006a; schapendonk1998
    """
    knots = (group.t0_c, group.t1_c, group.t2_c, group.t3_c)
    return np.asarray(np.interp(np.asarray(temp_c, float), knots, (0.0, 1.0, 1.0, 0.0)))


def water_response(water_frac: ArrayLike, et0_mm: ArrayLike) -> Array:
    """Share of growth that soil water allows, by how hard the day dries.

    Parameters
    ----------
    water_frac : array, any shape
        Plant-available water over the store. [1]
    et0_mm : array, same shape or one that stretches to it
        Reference evaporation of the day. [mm/d]

    Returns
    -------
    array, shape of both together
        0 to 1. [1]

    References
    ----------
    jouven2006a, recalled; the pieces join exactly
    """
    water = np.asarray(water_frac, float)
    et0 = np.asarray(et0_mm, float)
    mild = np.interp(water, (0, 0.2, 0.4, 0.6), (0, 0.8, 0.95, 1))
    drying = np.interp(water, (0, 0.2, 0.4, 0.6, 0.8), (0, 0.4, 0.7, 0.9, 1))
    harsh = np.clip(water, 0, 1)
    return np.asarray(np.where(et0 <= 3.8, mild, np.where(et0 <= 6.5, drying, harsh)))


def photothermal_increment_c_d(temp_c: ArrayLike, day_length_h: ArrayLike, season: Season) -> Array:
    """Warmth of a day, weighted by its length: what the spring flush waits for.

    Parameters
    ----------
    temp_c : array, any shape
        Daily mean. [C]
    day_length_h : array, same shape or one that stretches to it
        Sunrise to sunset. [h]

    Returns
    -------
    array, shape of both together
        0 or more. [C d]

    References
    ----------
    derived_here, forage.md 1.2.2
    """
    span = season.day_high_h - season.day_low_h
    weight = np.clip((np.asarray(day_length_h, float) - season.day_low_h) / span, 0, 1)
    return np.asarray(np.maximum(np.asarray(temp_c, float), 0) * weight)


def sum_since(increment: ArrayLike, restarts: ArrayLike) -> Array:
    """Running sum along days that starts again where it is told to.

    Parameters
    ----------
    increment : array, shape (..., day)
        What each day adds. [C d]
    restarts : array of bool, shape (day,)
        True on 1 January (1 July in the south); that day's own increment counts.

    Returns
    -------
    array, shape (..., day)
        In the unit of `increment`, C d for warmth. [C d]

    References
    ----------
    ours: bookkeeping of a restart, no equation of its own
    """
    total = np.cumsum(np.asarray(increment, float), axis=-1)
    before = total - np.asarray(increment, float)
    days = np.arange(total.shape[-1])
    last = np.maximum.accumulate(np.where(np.asarray(restarts, bool), days, -1))
    start = np.where(last >= 0, np.take(before, np.maximum(last, 0), axis=-1), 0.0)
    return np.asarray(total - start)


def season_factor(photothermal_c_d: ArrayLike, season: Season, flush: ArrayLike) -> Array:
    """Season factor of cool-season grass: 1, but for the flush of spring.

    Parameters
    ----------
    photothermal_c_d : array, any shape
        Day-length-weighted thermal sum since the restart. [C d]
    flush : array, same shape or one that stretches to it
        Factor at the height of the flush. [1]

    Returns
    -------
    array, shape of both together
        [1]

    References
    ----------
    derived_here, forage.md 1.2.2
    """
    knots = (season.begins_c_d, season.full_c_d, season.falls_c_d, season.ends_c_d)
    height = np.interp(np.asarray(photothermal_c_d, float), knots, (0.0, 1.0, 1.0, 0.0))
    return np.asarray(1 + (np.asarray(flush, float) - 1) * height)


def mean_of_last(temp_c: ArrayLike, days: int = 10) -> Array:
    """Mean of each day and the days before it; shorter at the start.

    Parameters
    ----------
    temp_c : array, shape (..., day)
        Daily mean. [C]
    days : int
        How many, the day itself counted. [d]

    Returns
    -------
    array, shape (..., day)
        [C]

    References
    ----------
    jouven2006a, as restated: T is the mean of the last ten daily means
    """
    values = np.asarray(temp_c, float)
    total = np.cumsum(values, axis=-1)
    earlier = np.zeros_like(total)
    earlier[..., days:] = total[..., :-days]
    return np.asarray((total - earlier) / np.minimum(np.arange(values.shape[-1]) + 1, days))


def potential_kg_ha_d(
    group: Group, par_mj_m2_d: ArrayLike, temp_resp: ArrayLike, water_resp: ArrayLike, season: ArrayLike
) -> Array:
    """Growth of one group that caught all light at fertility 1: the part that is free of mass.

    Parameters
    ----------
    par_mj_m2_d : array, shape (..., day)
        Light that plants use, after the trees. [MJ/m2/d]
    temp_resp, water_resp, season : array, shapes that stretch to each other
        The three factors of the day. [1]

    Returns
    -------
    array, shape of all together
        [kg/ha/d]

    References
    ----------
    jouven2006a; 10 turns g/m2 into kg/ha
    """
    par = np.asarray(par_mj_m2_d, float)
    light = 10 * group.rue_g_mj * par * radiation_response(par, group)
    return np.asarray(light * np.asarray(temp_resp) * np.asarray(water_resp) * np.asarray(season))


def shape(mass_kg_ha: ArrayLike, group: Group, bare_kg_ha: float = 0.0) -> Array:
    """Share of the potential that a mass can use: leaf to catch light, room below the ceiling.

    Parameters
    ----------
    mass_kg_ha : array, any shape
        Herbage to the ground, dry. [kg/ha]
    bare_kg_ha : float
        As in `leaf_area_index`. [kg/ha]

    Returns
    -------
    array, shape of `mass_kg_ha`
        0 to 1. [1]

    References
    ----------
    derived_here, forage.md 1.2 (the ceiling is a simplification made there)
    """
    mass = np.asarray(mass_kg_ha, float)
    caught = light_interception(leaf_area_index(mass, group, bare_kg_ha), group.extinction)
    return np.asarray(caught * np.maximum(0, 1 - (mass / group.ceiling_kg_ha) ** 2))


def growth_kg_dm_ha_d(
    groups: Sequence[Group], shares: Sequence[float], mass_kg_ha: ArrayLike, fertility: ArrayLike,
    potentials_kg_ha_d: Sequence[ArrayLike], bare_kg_ha: float = 0.0,
) -> Array:  # fmt: skip
    """Net growth of a sward on a day: the sum over its groups, each with the mass of all.

    Parameters
    ----------
    shares : sequence of float, one a group
        By mass; parameters are never averaged. [1]
    mass_kg_ha : array, any shape
        Herbage of all groups to the ground. [kg/ha]
    fertility : array, shape that stretches to `mass_kg_ha`
        NI, the paddock's calibrated number. [1]
    potentials_kg_ha_d : sequence of array, one a group
        From `potential_kg_ha_d`. [kg/ha/d]
    bare_kg_ha : float
        As in `leaf_area_index`. [kg/ha]

    Returns
    -------
    array, shape of all together
        Never below 0. [kg/ha/d]

    References
    ----------
    derived_here, forage.md 1.2
    """
    parts = (
        share * np.asarray(potential, float) * shape(mass_kg_ha, group, bare_kg_ha)
        for group, share, potential in zip(groups, shares, potentials_kg_ha_d, strict=True)
    )
    return np.asarray(np.asarray(fertility, float) * sum(parts))


def standing_loss_per_d(
    temp_resp: ArrayLike, water_resp: ArrayLike, loss_per_d: float, idle_below: float
) -> Array:
    """Share of the old standing mass that rots on a day too cold or dry to grow.

    Parameters
    ----------
    temp_resp, water_resp : array, shapes that stretch to each other
        Factors of the day. [1]
    loss_per_d : float
        Share lost on such a day. [1/d]
    idle_below : float
        A day is idle where the product of both factors is below it. [1]

    Returns
    -------
    array, shape of both together
        [1/d]

    References
    ----------
    placeholder, forage.md 1.2.1
    """
    factor = np.asarray(temp_resp, float) * np.asarray(water_resp, float)
    return np.where(factor < idle_below, loss_per_d, 0.0)


def crop_coefficient(temp_c: ArrayLike, group: Group, initial: float, middle: float) -> Array:
    """Crop coefficient of the sward, free of mass: low while it is too cold to grow.

    Parameters
    ----------
    temp_c : array, any shape
        Mean of the last ten daily means. [C]
    initial, middle : float
        Coefficients of the crop's first and middle stage. [1]

    Returns
    -------
    array, shape of `temp_c`
        [1]

    References
    ----------
    fao56, Table 12, for the coefficients; derived_here, forage.md 1.2.1, for when each holds
    """
    return np.where(np.asarray(temp_c, float) >= group.t0_c, middle, initial)


def shade_accept(shade_frac: ArrayLike, table_frac: ArrayLike, table_bound: ArrayLike) -> Array:
    """One end of the accepted yield under shade, relative to the open.

    Parameters
    ----------
    shade_frac : array, any shape
        Light that the trees take. [1]
    table_frac, table_bound : array, shape (row,)
        Shade and bound of the rows, shade rising. No row is needed at no shade, where the yield is
        that of the open, or at full shade, where nothing grows. [1]

    Returns
    -------
    array, shape of `shade_frac`
        Straight between the rows. [1]

    References
    ----------
    derived_here, forage.md section 2
    """
    knots = np.concatenate(([0.0], np.asarray(table_frac, float), [1.0]))
    bounds = np.concatenate(([1.0], np.asarray(table_bound, float), [0.0]))
    return np.asarray(np.interp(np.asarray(shade_frac, float), knots, bounds))


def shade_correction(ratio: ArrayLike, low: ArrayLike, high: ArrayLike) -> Array:
    """Factor on shaded growth that keeps the year's yield inside the measured envelope.

    Parameters
    ----------
    ratio : array, any shape
        Modelled yearly growth in the shade over that in the open, cut every 30 days. [1]
    low, high : array, shapes that stretch to `ratio`
        Accepted range. [1]

    Returns
    -------
    array, shape of `ratio`
        1 where next to nothing grows in the shade. [1]

    References
    ----------
    derived_here, forage.md section 2, "Use in the planner"
    """
    r = np.asarray(ratio, float)
    some = r > 1e-9
    return np.where(some, np.clip(r, low, high) / np.where(some, r, 1), 1.0)


def fit_fertility(
    modelled_gain: Callable[[float], ArrayLike], observed_gain_kg_ha: ArrayLike,
    gain_sd_kg_ha: ArrayLike, prior: tuple[float, float],
) -> tuple[float, float]:  # fmt: skip
    """Fertility factor (NI) of a paddock from gains seen between heights, and its standard error.

    The ratio estimator, weighted by the reading error and shrunk to the prior, run three times since
    mass feeds back on growth. Kept in 0.2 to 1.2.

    Parameters
    ----------
    modelled_gain : callable
        From an NI to the gains the model makes with it, shape (interval,). [kg/ha]
    observed_gain_kg_ha, gain_sd_kg_ha : array, shape (interval,)
        Seen between two readings without grazing, and the error of that difference. [kg/ha]
    prior : (mean, sd)
        NI before any reading. [1]

    Returns
    -------
    (mean, sd)
        [1]

    References
    ----------
    derived_here, forage.md 1.3
    """
    prior_mean, prior_sd = prior
    observed = np.asarray(observed_gain_kg_ha, float)
    weight = 1 / np.asarray(gain_sd_kg_ha, float) ** 2
    mean, sd = prior_mean, prior_sd
    for _ in range(3):
        at_one = np.asarray(modelled_gain(mean), float) / mean
        precision = 1 / prior_sd**2 + np.sum(weight * at_one**2)
        mean = (prior_mean / prior_sd**2 + np.sum(weight * observed * at_one)) / precision
        mean, sd = float(np.clip(mean, 0.2, 1.2)), float(precision**-0.5)
    return mean, sd
