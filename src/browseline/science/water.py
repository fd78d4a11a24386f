"""Water in the soil: what it holds, what runs off, what drains, how wet the ground is."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from browseline.science.compiled import njit

Array = npt.NDArray[np.float64]


def total_available_mm(available_m3_m3: Array, root_depth_m: Array) -> Array:
    """Water between field capacity and wilting point in the rooted soil.

    Parameters
    ----------
    available_m3_m3 : array, any shape
        Water at field capacity less water at wilting point. [m3/m3]
    root_depth_m : array, same shape
        [m]

    Returns
    -------
    array, same shape
        [mm]

    References
    ----------
    fao56, eq. 82
    """
    return 1000 * available_m3_m3 * root_depth_m


@njit(cache=True, nogil=True)
def depletion_share(p_table: float, crop_et_mm_d: float) -> float:
    """Share of the available water that plants use before they suffer.

    Parameters
    ----------
    p_table : float
        At 5 mm a day. [1]
    crop_et_mm_d : float
        Water the crop would use. [mm/d]

    Returns
    -------
    float
        0.1 to 0.8. [1]

    References
    ----------
    fao56, Table 22, note 2
    """
    return min(max(p_table + 0.04 * (5 - crop_et_mm_d), 0.1), 0.8)


@njit(cache=True, nogil=True)
def readily_available_mm(total_mm: float, share: float) -> float:
    """Water that plants use before they suffer.

    Parameters
    ----------
    total_mm : float
        Total available water. [mm]
    share : float
        As from ``depletion_share``. [1]

    Returns
    -------
    float
        [mm]

    References
    ----------
    fao56, eq. 83
    """
    return total_mm * share


@njit(cache=True, nogil=True)
def stress_frac(depletion_mm: float, total_mm: float, share: float) -> float:
    """Water use of the crop over what it would use from wet soil.

    Parameters
    ----------
    depletion_mm, total_mm : float
        Water missing from field capacity; total available water, above 0. [mm]
    share : float
        As from ``depletion_share``. [1]

    Returns
    -------
    float
        0 to 1. [1]

    References
    ----------
    fao56, eq. 84
    """
    if depletion_mm <= readily_available_mm(total_mm, share):
        return 1.0
    return max((total_mm - depletion_mm) / ((1 - share) * total_mm), 0.0)


@njit(cache=True, nogil=True)
def retention_mm(curve_number: float) -> float:
    """Most that the ground keeps back from a storm.

    Parameters
    ----------
    curve_number : float
        Above 0, not above 100. [1]

    Returns
    -------
    float
        [mm]

    References
    ----------
    tr55, eq. 2-4 in mm
    """
    return 25400 / curve_number - 254


@njit(cache=True, nogil=True)
def runoff_mm(rain_mm: float, curve_number: float) -> float:
    """Rain of a day that runs off.

    Parameters
    ----------
    rain_mm : float
        [mm]
    curve_number : float
        Above 0, not above 100. [1]

    Returns
    -------
    float
        Not above the rain. [mm]

    References
    ----------
    tr55, eq. 2-3
    """
    kept = retention_mm(curve_number)
    if rain_mm <= 0.2 * kept:
        return 0.0
    return (rain_mm - 0.2 * kept) ** 2 / (rain_mm + 0.8 * kept)


def mixed_curve_number(woods: float, pasture: float, woods_share: float) -> float:
    """Curve number of ground that is partly woods, partly pasture.

    Parameters
    ----------
    woods, pasture : float
        Curve numbers. [1]
    woods_share : float
        0 to 1. [1]

    Returns
    -------
    float
        [1]

    References
    ----------
    tr55, Table 2-2c, note on woods-grass
    """
    return woods_share * woods + (1 - woods_share) * pasture


def curve_numbers_by_moisture(
    curve_number: float, average: Array, dry: Array, wet: Array
) -> tuple[float, float, float]:
    """Curve numbers of dry, middling and wet ground.

    Parameters
    ----------
    curve_number : float
        At average moisture. [1]
    average, dry, wet : array, shape (row,)
        Rows of the moisture table, ``average`` rising; straight lines between them. [1]

    Returns
    -------
    (float, float, float)
        Dry, average, wet. Below the table's first row, in proportion to it. [1]

    References
    ----------
    scs_neh4_1985, Table 10.1
    """
    if curve_number < average[0]:
        share = curve_number / average[0]
        return float(dry[0] * share), curve_number, float(wet[0] * share)
    return (
        float(np.interp(curve_number, average, dry)),
        curve_number,
        float(np.interp(curve_number, average, wet)),
    )


@njit(cache=True, nogil=True)
def curve_number_today(
    water_share: float, numbers: tuple[float, float, float], below: float, above: float
) -> float:
    """Curve number by the moisture class of the soil store.

    Parameters
    ----------
    water_share : float
        Plant-available water over what the soil holds. [1]
    numbers : (float, float, float)
        As from ``curve_numbers_by_moisture``. [1]
    below, above : float
        Dry below, wet above. [1]

    Returns
    -------
    float
        [1]

    References
    ----------
    placeholder, forage.md section 3: the class by the soil store
    """
    if water_share < below:
        return numbers[0]
    return numbers[2] if water_share > above else numbers[1]


@njit(cache=True, nogil=True)
def water_day(
    depletion_mm: float, rain_mm: float, crop_et_mm: float, total_mm: float, p_table: float,
    numbers: tuple[float, float, float], dry_below: float, wet_above: float,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    """One day of the soil's water.

    Parameters
    ----------
    depletion_mm, rain_mm, crop_et_mm, total_mm : float
        Water missing at dawn; rain; what the crop would use; total available water. [mm]
    p_table : float
        Depletion share at 5 mm a day. [1]
    numbers, dry_below, wet_above
        As in ``curve_number_today``. [1]

    Returns
    -------
    (float, float, float, float, float)
        Water missing at night, water used, runoff, drainage [mm]; stress [1].
        ``night = dawn - (rain - runoff) + used + drainage``, between 0 and ``total_mm``.

    References
    ----------
    fao56, eq. 85
    """
    number = curve_number_today(1 - depletion_mm / total_mm, numbers, dry_below, wet_above)
    runoff = runoff_mm(rain_mm, number)
    stress = stress_frac(depletion_mm, total_mm, depletion_share(p_table, crop_et_mm))
    kept = rain_mm - runoff
    used = min(stress * crop_et_mm, max(total_mm - depletion_mm + kept, 0.0))
    drainage = max(kept - used - depletion_mm, 0.0)
    return depletion_mm - kept + used + drainage, used, runoff, drainage, stress


@njit(cache=True, nogil=True)
def run_water(
    start_mm: Array, rain_mm: Array, et0_mm: Array, kc: Array, total_mm: float, p_table: float,
    numbers: tuple[float, float, float], dry_below: float, wet_above: float,
) -> tuple[Array, Array, Array, Array, Array]:  # fmt: skip
    """Soil water of every member, day after day; it does not depend on how much grass stands.

    Parameters
    ----------
    start_mm : array, shape (member,)
        Water missing before the first day. [mm]
    rain_mm, et0_mm, kc : array, shape (member, day)
        Rain; water that reference grass uses; crop coefficient. [mm, mm, 1]
    total_mm, p_table, numbers, dry_below, wet_above
        As in ``water_day``.

    Returns
    -------
    five arrays, shape (member, day) each
        Water missing at night (0 is field capacity: the wetness of the ground), water used,
        runoff, drainage [mm]; stress [1].

    References
    ----------
    fao56, eq. 85
    """
    missing, used, runoff = np.empty_like(rain_mm), np.empty_like(rain_mm), np.empty_like(rain_mm)
    drainage, stress = np.empty_like(rain_mm), np.empty_like(rain_mm)
    for member in range(rain_mm.shape[0]):
        now = start_mm[member]
        for day in range(rain_mm.shape[1]):
            demand = kc[member, day] * et0_mm[member, day]
            now, used[member, day], runoff[member, day], drainage[member, day], stress[member, day] = (
                water_day(now, rain_mm[member, day], demand, total_mm, p_table, numbers, dry_below, wet_above)
            )
            missing[member, day] = now
    return missing, used, runoff, drainage, stress
