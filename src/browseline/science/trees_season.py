"""When leaves are on the trees: leaf-out and leaf-fall by latitude and height above the sea."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
YEAR_D = 365.0
HALF_YEAR_D = 182.5


def leaf_out_day(
    latitude_deg: float, elevation_m: float, offset_d: float,
    base_d: float, per_deg_d: float, per_m_d: float,
) -> float:  # fmt: skip
    """Day of the year on which leaves begin to open.

    Parameters
    ----------
    latitude_deg : float
        North is positive; in the south the day is half a year later. [deg]
    elevation_m : float
        Above the sea. [m]
    offset_d : float
        Of the species' group. [d]
    base_d, per_deg_d, per_m_d : float
        The day at 42.5 degrees and 340 m; days a degree; days a metre. [d, d/deg, d/m]

    Returns
    -------
    float
        1 is 1 January; may pass 365 in the south. [d]

    References
    ----------
    placeholder: trees.md 1.3, set to the anchors of panchen2014 and the rates of Hopkins
    """
    north = base_d + offset_d + per_deg_d * (abs(latitude_deg) - 42.5) + per_m_d * (elevation_m - 340)
    return north + (HALF_YEAR_D if latitude_deg < 0 else 0.0)


def leaf_fall_day(latitude_deg: float, base_d: float, per_deg_d: float) -> float:
    """Day of the year on which half of the leaves have fallen.

    Parameters
    ----------
    latitude_deg : float
        As in ``leaf_out_day``. [deg]
    base_d, per_deg_d : float
        The day at 42.5 degrees; days earlier a degree towards the pole. [d, d/deg]

    Returns
    -------
    float
        1 is 1 January; may pass 365 in the south. [d]

    References
    ----------
    placeholder: trees.md 1.3
    """
    north = base_d - per_deg_d * (abs(latitude_deg) - 42.5)
    return north + (HALF_YEAR_D if latitude_deg < 0 else 0.0)


def leaf_share(day_of_year: npt.ArrayLike, out_day: float, opening_d: float, fall_day: float) -> Array:
    """Share of the full leaf area that is on the tree.

    Leaves open evenly over ``opening_d``; the fall is a step on the day on which half are down, for no
    length of it was read.

    Parameters
    ----------
    day_of_year : array, shape (day,)
        1 is 1 January. [d]
    out_day, fall_day : float
        From ``leaf_out_day`` and ``leaf_fall_day``. [d]
    opening_d : float
        From the first leaf to full leaf. [d]

    Returns
    -------
    array, shape (day,)
        0 to 1. [1]

    References
    ----------
    placeholder: trees.md 1.3, full leaf three weeks later, linear
    """
    day = np.asarray(day_of_year, dtype=np.float64)
    since = np.mod(day - out_day, YEAR_D)
    length = np.mod(fall_day - out_day, YEAR_D)
    return np.asarray(np.where(since < length, np.minimum(since / opening_d, 1.0), 0.0), dtype=np.float64)
