"""Air, radiation and the water that grass would use: FAO-56 with its substitutes."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def saturation_kpa(temp_c: Array) -> Array:
    """Vapour pressure of air that can hold no more water.

    Parameters
    ----------
    temp_c : array, any shape
        Temperature of the air; the dew point gives the actual vapour pressure. [C]

    Returns
    -------
    array, same shape
        Above 0. [kPa]

    References
    ----------
    fao56, eq. 11
    """
    return 0.6108 * np.exp(17.27 * temp_c / (temp_c + 237.3))


def mean_saturation_kpa(tmax_c: Array, tmin_c: Array) -> Array:
    """Mean saturation vapour pressure of a day.

    Parameters
    ----------
    tmax_c, tmin_c : array, same shape
        Highest and lowest temperature. [C]

    Returns
    -------
    array, same shape
        [kPa]

    References
    ----------
    fao56, eq. 12
    """
    return (saturation_kpa(tmax_c) + saturation_kpa(tmin_c)) / 2


def vapour_from_humidity_kpa(tmax_c: Array, tmin_c: Array, rh_max_frac: Array, rh_min_frac: Array) -> Array:
    """Actual vapour pressure from the day's highest and lowest relative humidity.

    Parameters
    ----------
    tmax_c, tmin_c : array, shape (day,)
        [C]
    rh_max_frac, rh_min_frac : array, shape (day,)
        0 to 1. [1]

    Returns
    -------
    array, shape (day,)
        [kPa]

    References
    ----------
    fao56, eq. 17
    """
    return (saturation_kpa(tmin_c) * rh_max_frac + saturation_kpa(tmax_c) * rh_min_frac) / 2


def vapour_slope_kpa_c(temp_c: Array) -> Array:
    """Slope of the saturation vapour pressure curve.

    Parameters
    ----------
    temp_c : array, any shape
        Mean temperature. [C]

    Returns
    -------
    array, same shape
        Above 0. [kPa/C]

    References
    ----------
    fao56, eq. 13
    """
    return 4098 * saturation_kpa(temp_c) / (temp_c + 237.3) ** 2


def air_pressure_kpa(elevation_m: float) -> float:
    """Air pressure at a height above the sea.

    Parameters
    ----------
    elevation_m : float
        [m]

    Returns
    -------
    float
        [kPa]

    References
    ----------
    fao56, eq. 7
    """
    return float(101.3 * ((293 - 0.0065 * elevation_m) / 293) ** 5.26)


def psychrometric_kpa_c(elevation_m: float) -> float:
    """Psychrometric constant at a height above the sea.

    Parameters
    ----------
    elevation_m : float
        [m]

    Returns
    -------
    float
        [kPa/C]

    References
    ----------
    fao56, eq. 8
    """
    return 0.665e-3 * air_pressure_kpa(elevation_m)


def solar_from_sunshine_mj_m2_d(
    extraterrestrial_mj_m2_d: Array, sun_h: Array, day_length_h: Array, overcast: float, clear: float
) -> Array:
    """Solar radiation from hours of bright sunshine.

    Parameters
    ----------
    extraterrestrial_mj_m2_d : array, shape (day,)
        Radiation above the air. [MJ/m2/d]
    sun_h, day_length_h : array, shape (day,)
        Hours of sunshine and of day. [h]
    overcast, clear : float
        Share passed on an overcast day, and what clear sky adds. [1]

    Returns
    -------
    array, shape (day,)
        [MJ/m2/d]

    References
    ----------
    fao56, eq. 35
    """
    bright = np.where(day_length_h > 0, sun_h / np.maximum(day_length_h, 1e-9), 0.0)
    return (overcast + clear * np.clip(bright, 0.0, 1.0)) * extraterrestrial_mj_m2_d


def solar_from_range_mj_m2_d(
    extraterrestrial_mj_m2_d: Array, tmax_c: Array, tmin_c: Array, krs: float
) -> Array:
    """Solar radiation from the day's range of temperature.

    Parameters
    ----------
    extraterrestrial_mj_m2_d : array, shape (day,)
        Radiation above the air. [MJ/m2/d]
    tmax_c, tmin_c : array, shape (day,)
        [C]
    krs : float
        Adjustment by distance from the coast. [1/C^0.5]

    Returns
    -------
    array, shape (day,)
        [MJ/m2/d]

    References
    ----------
    fao56, eq. 50
    """
    return krs * np.sqrt(np.maximum(tmax_c - tmin_c, 0.0)) * extraterrestrial_mj_m2_d


def clear_share(elevation_m: float) -> float:
    """Share of the radiation above the air that reaches the ground under a clear sky.

    Parameters
    ----------
    elevation_m : float
        [m]

    Returns
    -------
    float
        [1]

    References
    ----------
    fao56, eq. 37
    """
    return 0.75 + 2e-5 * elevation_m


def net_shortwave_mj_m2_d(solar_mj_m2_d: Array, albedo: float) -> Array:
    """Solar radiation that the ground keeps.

    Parameters
    ----------
    solar_mj_m2_d : array, any shape
        [MJ/m2/d]
    albedo : float
        Share thrown back. [1]

    Returns
    -------
    array, same shape
        [MJ/m2/d]

    References
    ----------
    fao56, eq. 38
    """
    return (1 - albedo) * solar_mj_m2_d


def net_longwave_mj_m2_d(
    tmax_c: Array, tmin_c: Array, ea_kpa: Array, solar_mj_m2_d: Array, clear_mj_m2_d: Array
) -> Array:
    """Heat that the ground loses to the sky.

    Parameters
    ----------
    tmax_c, tmin_c : array, same shape
        [C]
    ea_kpa : array, same shape
        Actual vapour pressure. [kPa]
    solar_mj_m2_d, clear_mj_m2_d : array, same shape
        Solar radiation, and what a clear sky would give; their ratio is kept in 0.3 to 1, in
        polar night 1. [MJ/m2/d]

    Returns
    -------
    array, same shape
        Outgoing is positive. [MJ/m2/d]

    References
    ----------
    fao56, eq. 39; the lower bound 0.3 is the ASCE standardized form, recalled
    """
    ratio = np.where(clear_mj_m2_d > 0, solar_mj_m2_d / np.maximum(clear_mj_m2_d, 1e-9), 1.0)
    sky = 1.35 * np.clip(ratio, 0.3, 1.0) - 0.35
    heat = ((tmax_c + 273.16) ** 4 + (tmin_c + 273.16) ** 4) / 2
    return 4.903e-9 * heat * (0.34 - 0.14 * np.sqrt(ea_kpa)) * sky


def soil_heat_month_mj_m2_d(before_c: Array, after_c: Array) -> Array:
    """Heat going into the soil in a month, from the months on either side.

    Parameters
    ----------
    before_c, after_c : array, shape (month,)
        Mean temperature of the month before and the month after. [C]

    Returns
    -------
    array, shape (month,)
        Into the soil is positive. [MJ/m2/d]

    References
    ----------
    fao56, eq. 43
    """
    return 0.07 * (after_c - before_c)


def soil_heat_from_month_before_mj_m2_d(before_c: Array, month_c: Array) -> Array:
    """Heat going into the soil in a month, when the month after is not known.

    Parameters
    ----------
    before_c, month_c : array, shape (month,)
        Mean temperature of the month before and of the month. [C]

    Returns
    -------
    array, shape (month,)
        Into the soil is positive. [MJ/m2/d]

    References
    ----------
    fao56, eq. 44
    """
    return 0.14 * (month_c - before_c)


def evaporation_mm(heat_mj_m2: Array) -> Array:
    """Water that an amount of heat evaporates.

    Parameters
    ----------
    heat_mj_m2 : array, any shape
        [MJ/m2]

    Returns
    -------
    array, same shape
        [mm]

    References
    ----------
    fao56, eq. 20
    """
    return 0.408 * heat_mj_m2


def wind_at_2m_m_s(wind_m_s: Array, height_m: float) -> Array:
    """Wind at 2 m from wind at another height over short grass.

    Parameters
    ----------
    wind_m_s : array, any shape
        [m/s]
    height_m : float
        Height of the gauge, above 0.1. [m]

    Returns
    -------
    array, same shape
        [m/s]

    References
    ----------
    fao56, eq. 47
    """
    return wind_m_s * (4.87 / float(np.log(67.8 * height_m - 5.42)))


def reference_et_mm_d(
    tmax_c: Array, tmin_c: Array, ea_kpa: Array, wind_m_s: Array, net_mj_m2_d: Array, gamma_kpa_c: float
) -> Array:
    """Water that short, well-watered grass uses in a day (Penman-Monteith).

    Parameters
    ----------
    tmax_c, tmin_c : array, same shape
        [C]
    ea_kpa : array, same shape
        Actual vapour pressure; air wetter than saturated counts as saturated. [kPa]
    wind_m_s : array, same shape
        Wind at 2 m. [m/s]
    net_mj_m2_d : array, same shape
        Net radiation less the heat going into the soil. [MJ/m2/d]
    gamma_kpa_c : float
        Psychrometric constant. [kPa/C]

    Returns
    -------
    array, same shape
        Not below 0. [mm/d]

    References
    ----------
    fao56, eq. 6
    """
    mean_c = (tmax_c + tmin_c) / 2
    slope = vapour_slope_kpa_c(mean_c)
    dryness = np.maximum(mean_saturation_kpa(tmax_c, tmin_c) - ea_kpa, 0.0)
    by_air = gamma_kpa_c * 900 / (mean_c + 273) * wind_m_s * dryness
    return np.maximum(
        (0.408 * slope * net_mj_m2_d + by_air) / _slope_and_wind(slope, wind_m_s, gamma_kpa_c), 0.0
    )


def _slope_and_wind(slope_kpa_c: Array, wind_m_s: Array, gamma_kpa_c: float) -> Array:
    """Denominator of the Penman-Monteith equation. [kPa/C]"""
    return slope_kpa_c + gamma_kpa_c * (1 + 0.34 * wind_m_s)


def sunlit_et_mm_d(
    tmax_c: Array, tmin_c: Array, wind_m_s: Array, net_shortwave: Array, gamma_kpa_c: float
) -> Array:
    """Part of the reference evapotranspiration that absorbed sunlight pays for.

    Under trees that pass the share ``tau`` the sward's own use is ``et0 - (1 - tau) * this``.

    Parameters
    ----------
    tmax_c, tmin_c, wind_m_s : array, same shape
        [C, C, m/s]
    net_shortwave : array, same shape
        Solar radiation kept. [MJ/m2/d]
    gamma_kpa_c : float
        Psychrometric constant. [kPa/C]

    Returns
    -------
    array, same shape
        [mm/d]

    References
    ----------
    fao56, eq. 6, the term in Rns
    """
    slope = vapour_slope_kpa_c((tmax_c + tmin_c) / 2)
    return 0.408 * slope * net_shortwave / _slope_and_wind(slope, wind_m_s, gamma_kpa_c)


def hargreaves_mm_d(tmax_c: Array, tmin_c: Array, extraterrestrial_mj_m2_d: Array) -> Array:
    """Reference evapotranspiration from temperature and latitude alone.

    Parameters
    ----------
    tmax_c, tmin_c : array, same shape
        [C]
    extraterrestrial_mj_m2_d : array, same shape
        Radiation above the air. [MJ/m2/d]

    Returns
    -------
    array, same shape
        Not below 0. [mm/d]

    References
    ----------
    fao56, eq. 52
    """
    mean_c = (tmax_c + tmin_c) / 2
    span = np.sqrt(np.maximum(tmax_c - tmin_c, 0.0))
    return np.maximum(0.0023 * (mean_c + 17.8) * span * 0.408 * extraterrestrial_mj_m2_d, 0.0)
