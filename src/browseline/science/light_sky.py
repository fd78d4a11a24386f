"""Where light comes from: the sun by time, the sky by patches, and how much of each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from browseline.science import sun
from browseline.science.light_scene import Directions
from browseline.science.light_tiles import Doubles

LOWEST_DEG = 3.0
"""The light of a sun lower than this is counted to the sky: it is little, and its shadows have no end."""
SKY_RINGS, SKY_SECTORS = 9, 18


class SunTimes(NamedTuple):
    """Where the sun stands at times, arrays of shape (time,), those above the horizon alone.

    ``azimuth_deg`` clockwise from north, ``zenith_deg`` without refraction, ``day_of_year`` 1 is
    1 January. [deg, deg, d]
    """

    azimuth_deg: Doubles
    zenith_deg: Doubles
    day_of_year: Doubles


def sun_place(days_since_2000: Doubles, latitude_deg: float, longitude_deg: float) -> tuple[Doubles, Doubles]:
    """Azimuth and zenith angle of the sun.

    Parameters
    ----------
    days_since_2000 : array, shape (time,)
        Days since noon UTC of 1 January 2000. [d]
    latitude_deg, longitude_deg : float
        North and east are positive. [deg]

    Returns
    -------
    tuple of array, shape (time,)
        Azimuth clockwise from north, 0 to 360, and zenith angle without refraction. [deg]

    References
    ----------
    ours: low-precision formulas of the Astronomical Almanac as Michalsky (1988) prints them, recalled, and
    held to pvlib's positions within 0.02 deg
    """
    n, latitude = days_since_2000, np.radians(latitude_deg)
    anomaly = np.radians(357.528 + 0.9856003 * n)
    mean_deg = 280.460 + 0.9856474 * n
    longitude = np.radians(mean_deg + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly))
    tilt = np.radians(23.439 - 0.0000004 * n)
    ascension = np.arctan2(np.cos(tilt) * np.sin(longitude), np.cos(longitude))
    decline = np.arcsin(np.sin(tilt) * np.sin(longitude))
    hour_ut = (n + 0.5) % 1.0 * 24
    sidereal_h = 6.697375 + 0.0657098242 * n + hour_ut
    hour_angle = np.radians(15 * sidereal_h + longitude_deg) - ascension
    north = np.sin(decline) * np.cos(latitude) - np.cos(decline) * np.cos(hour_angle) * np.sin(latitude)
    east = -np.cos(decline) * np.sin(hour_angle)
    up = np.sin(decline) * np.sin(latitude) + np.cos(decline) * np.cos(latitude) * np.cos(hour_angle)
    return np.degrees(np.arctan2(east, north)) % 360, np.degrees(np.arccos(np.clip(up, -1, 1)))


def sun_times(
    year: int, days_of_year: Sequence[int], step_min: float, latitude_deg: float, longitude_deg: float
) -> SunTimes:
    """Places of the sun through some days, the steps of each day set off against the others'.

    Parameters
    ----------
    year : int
        Calendar year.
    days_of_year : sequence of int
        1 is 1 January. [d]
    step_min : float
        Time from one place to the next. [min]
    latitude_deg, longitude_deg : float
        North and east are positive. [deg]

    Returns
    -------
    SunTimes
        Of each day the times with the sun above the horizon, symmetric about its noon.

    References
    ----------
    ours: as ``sun_place``; the steps of successive days are shifted by the golden section of a step
    """
    new_year = float(
        (np.datetime64(f"{year}-01-01T00") - np.datetime64("2000-01-01T12")) / np.timedelta64(1, "D")
    )
    steps = np.arange(0.0, 1.0, step_min / 1440)
    days = np.asarray(days_of_year, np.float64)
    shift = (np.arange(days.size) * (np.sqrt(5) - 1) / 2 + 0.5) % 1.0 * step_min / 1440
    # Of the hours UTC that hold the local day, so that no day is cut in two at its noon.
    starts = days - 1 - longitude_deg / 360
    hours = starts[:, None] + steps[None, :] + shift[:, None]
    azimuth, zenith = sun_place(new_year + hours.ravel(), latitude_deg, longitude_deg)
    up = zenith < 90
    return SunTimes(azimuth[up], zenith[up], np.repeat(days, steps.size)[up])


def clear_global_w_m2(zenith_deg: Doubles) -> Doubles:
    """Light of sun and sky on level ground under a clear sky.

    Parameters
    ----------
    zenith_deg : array, any shape
        Of the sun, below 90. [deg]

    Returns
    -------
    array, same shape
        [W/m2]

    References
    ----------
    ours: the equation of Haurwitz (1945), recalled and held to pvlib's
    """
    up = np.cos(np.radians(zenith_deg))
    return np.asarray(1098 * up * np.exp(-0.059 / up), dtype=np.float64)


def beam_share(global_w_m2: Doubles, zenith_deg: Doubles, day_of_year: Doubles) -> Doubles:
    """Share of the light on level ground that comes straight from the sun.

    Parameters
    ----------
    global_w_m2 : array, shape (time,)
        Light of sun and sky on level ground. [W/m2]
    zenith_deg : array, shape (time,)
        Of the sun, below 90. [deg]
    day_of_year : array, shape (time,)
        1 is 1 January. [d]

    Returns
    -------
    array, shape (time,)
        0 to 0.835. [1]

    References
    ----------
    erbs1982 by clearness; fao56, solar constant 0.0820 MJ/m2/min, which is 1366.7 W/m2
    """
    above = 1366.7 * sun.inverse_distance(day_of_year) * np.cos(np.radians(zenith_deg))
    return np.asarray(1 - sun.diffuse_share(global_w_m2 / above), dtype=np.float64)


def sky_patches(rings: int = SKY_RINGS, sectors: int = SKY_SECTORS, overcast: bool = False) -> Directions:
    """Even patches of the whole sky, each ring turned by half a patch against the one below.

    Parameters
    ----------
    rings, sectors : int
        Patches from horizon to zenith, and around. [1]
    overcast : bool
        Brighter towards the zenith as under the standard overcast sky, else as bright everywhere.

    Returns
    -------
    Directions
        shape (rings x sectors,); weights sum to 1, the light on level ground.

    References
    ----------
    derived_here, trees.md section 3, 10
    """
    edges = np.linspace(0, np.pi / 2, rings + 1)
    # A ring's light is the difference of sin^2 of its edges; it stands where that light is halved.
    low, high = np.sin(edges[:-1]) ** 2, np.sin(edges[1:]) ** 2
    zenith = np.arcsin(np.sqrt((low + high) / 2))
    weight = (high - low) * ((1 + 2 * np.cos(zenith)) / 3 if overcast else 1.0)
    turn = (np.arange(rings) % 2)[:, None] / 2
    azimuth = (np.arange(sectors)[None, :] + turn) * 360 / sectors
    each = np.repeat(weight / weight.sum() / sectors, sectors)
    return Directions(azimuth.ravel(), np.repeat(np.degrees(zenith), sectors), each)


def sun_and_sky(times: SunTimes, global_w_m2: Doubles, sky: Directions) -> Directions:
    """Directions of a time's light: the sun where it stood, and the sky with what it scattered.

    Parameters
    ----------
    times : SunTimes
        shape (time,). [deg]
    global_w_m2 : array, shape (time,)
        Light on level open ground at each. [W/m2]
    sky : Directions
        Patches of the sky, shape (patch,). [deg]

    Returns
    -------
    Directions
        shape (time + patch,); weights are shares of the light on level open ground. [1]

    References
    ----------
    erbs1982 for the split; the sky as bright as its patches say
    """
    share = beam_share(global_w_m2, times.zenith_deg, times.day_of_year)
    total = global_w_m2.sum()
    high = times.zenith_deg <= 90 - LOWEST_DEG
    beam = (global_w_m2 * share)[high] / total
    scattered = (1 - beam.sum()) * sky.weight / sky.weight.sum()
    return Directions(
        np.concatenate((times.azimuth_deg[high], sky.azimuth_deg)),
        np.concatenate((times.zenith_deg[high], sky.zenith_deg)),
        np.concatenate((beam, scattered)),
    )


def days_light(
    year: int,
    days_of_year: Sequence[int],
    latitude_deg: float,
    longitude_deg: float,
    of_clear: float = 1.0,
    step_min: float = 30.0,
) -> Directions:
    """Directions of the light of some days, by clear-sky light times one share.

    Parameters
    ----------
    year : int
        Calendar year.
    days_of_year : sequence of int
        1 is 1 January; a dozen days of a month give its map. [d]
    latitude_deg, longitude_deg : float
        North and east are positive. [deg]
    of_clear : float
        Light recorded or expected over that of a clear sky, above 0. [1]
    step_min : float
        Time between places of the sun: 30 for maps, 60 for means. [min]

    Returns
    -------
    Directions
        Sun of every step, then 9 x 18 patches of sky. [1]

    Raises
    ------
    ValueError
        If the sun stays down on all these days.

    References
    ----------
    erbs1982 for the split; ours, as ``sun_times`` and ``clear_global_w_m2``, for the rest
    """
    times = sun_times(year, days_of_year, step_min, latitude_deg, longitude_deg)
    if times.zenith_deg.size == 0:
        raise ValueError("the sun does not rise on these days")
    return sun_and_sky(times, of_clear * clear_global_w_m2(times.zenith_deg), sky_patches())


def above_horizon(directions: Directions, azimuth_deg: Doubles, elevation_deg: Doubles) -> Directions:
    """Directions with those behind a far horizon left dark.

    Parameters
    ----------
    directions : Directions
        shape (direction,). [deg]
    azimuth_deg, elevation_deg : array, shape (point,)
        The horizon, azimuths rising from 0 to below 360; between points it runs straight. [deg]

    Returns
    -------
    Directions
        shape (direction,), weight 0 below the horizon. [1]

    References
    ----------
    ours: linear between the points
    """
    height = np.interp(directions.azimuth_deg, azimuth_deg, elevation_deg, period=360)
    seen = 90 - directions.zenith_deg >= height
    return directions._replace(weight=np.where(seen, directions.weight, 0.0))
