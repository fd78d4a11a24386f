"""Sun and day: declination, radiation above the air, day length, the share of scattered light."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def declination_rad(day_of_year: Array) -> Array:
    """Angle of the noon sun north of the equator.

    Parameters
    ----------
    day_of_year : array, shape (day,)
        1 is 1 January. [d]

    Returns
    -------
    array, shape (day,)
        North is positive. [rad]

    References
    ----------
    fao56, eq. 24
    """
    return np.asarray(0.409 * np.sin(2 * np.pi * day_of_year / 365 - 1.39), dtype=np.float64)


def inverse_distance(day_of_year: Array) -> Array:
    """Inverse relative distance between earth and sun.

    Parameters
    ----------
    day_of_year : array, shape (day,)
        1 is 1 January. [d]

    Returns
    -------
    array, shape (day,)
        0.967 to 1.033. [1]

    References
    ----------
    fao56, eq. 23
    """
    return np.asarray(1 + 0.033 * np.cos(2 * np.pi * day_of_year / 365), dtype=np.float64)


def sunset_hour_angle_rad(latitude_deg: float, day_of_year: Array) -> Array:
    """Hour angle at which the sun's middle meets the level horizon, without refraction.

    Parameters
    ----------
    latitude_deg : float
        North is positive. [deg]
    day_of_year : array, shape (day,)
        1 is 1 January. [d]

    Returns
    -------
    array, shape (day,)
        0 where the sun stays down all day, pi where it stays up. [rad]

    References
    ----------
    fao56, eq. 25
    """
    cosine = -np.tan(np.radians(latitude_deg)) * np.tan(declination_rad(day_of_year))
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)), dtype=np.float64)


def extraterrestrial_mj_m2_d(latitude_deg: float, day_of_year: Array) -> Array:
    """Radiation of a day on level ground if there were no air.

    Parameters
    ----------
    latitude_deg : float
        North is positive. [deg]
    day_of_year : array, shape (day,)
        1 is 1 January. [d]

    Returns
    -------
    array, shape (day,)
        0 in polar night. [MJ/m2/d]

    References
    ----------
    fao56, eq. 21; solar constant 0.0820 MJ/m2/min
    """
    latitude = np.radians(latitude_deg)
    decline = declination_rad(day_of_year)
    sunset = sunset_hour_angle_rad(latitude_deg, day_of_year)
    path = sunset * np.sin(latitude) * np.sin(decline) + np.cos(latitude) * np.cos(decline) * np.sin(sunset)
    above = 1440 / np.pi * 0.0820 * inverse_distance(day_of_year) * path
    return np.asarray(np.maximum(above, 0.0), dtype=np.float64)


def day_length_h(latitude_deg: float, day_of_year: Array) -> Array:
    """Hours from sunrise to sunset of the sun's middle, without refraction.

    Parameters
    ----------
    latitude_deg : float
        North is positive. [deg]
    day_of_year : array, shape (day,)
        1 is 1 January. [d]

    Returns
    -------
    array, shape (day,)
        0 to 24. [h]

    References
    ----------
    fao56, eq. 34
    """
    return np.asarray(24 / np.pi * sunset_hour_angle_rad(latitude_deg, day_of_year), dtype=np.float64)


def diffuse_share(clearness: Array) -> Array:
    """Share of an hour's light on level ground that comes scattered from the sky.

    Parameters
    ----------
    clearness : array, any shape
        Light at the ground over light above the air, 0 to 1. [1]

    Returns
    -------
    array, same shape
        0.165 to 1. [1]

    References
    ----------
    erbs1982, hourly correlation
    """
    kt = np.clip(clearness, 0.0, 1.0)
    middle = 0.9511 - 0.1604 * kt + 4.388 * kt**2 - 16.638 * kt**3 + 12.336 * kt**4
    return np.where(kt <= 0.22, 1 - 0.09 * kt, np.where(kt <= 0.80, middle, 0.165))
