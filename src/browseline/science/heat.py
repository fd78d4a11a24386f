"""Heat and cold of animals: indices of temperature and humidity, and energy below the critical cold."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from browseline.science.weather import saturation_kpa

Array = NDArray[np.float64]


def thi(temp_c: Array, rh_pct: Array) -> Array:
    """Return the temperature-humidity index, on a scale like Fahrenheit; it ignores sun and wind.

    Parameters
    ----------
    temp_c, rh_pct : array, any shape
        Air temperature and relative humidity. [C, %]

    Returns
    -------
    array, same shape
        [1]

    References
    ----------
    vet_handbook_thi, section 14.2 (conflict K08: within 0.35 of nrc1971_thi between 15 and 45 C)
    """
    return 0.8 * temp_c + rh_pct / 100 * (temp_c - 14.4) + 46.4


def thi_first_form(temp_c: Array, rh_pct: Array) -> Array:
    """Return the same index by the older form, kept beside it.

    Parameters
    ----------
    temp_c, rh_pct : array, any shape
        Air temperature and relative humidity. [C, %]

    Returns
    -------
    array, same shape
        [1]

    References
    ----------
    nrc1971_thi, the equation as recalled (conflict K08)
    """
    return (1.8 * temp_c + 32) - (0.55 - 0.0055 * rh_pct) * (1.8 * temp_c - 26)


def humidity_pct(temp_c: Array, dew_c: Array) -> Array:
    """Return the relative humidity of air with a dew point, at most 100.

    Parameters
    ----------
    temp_c, dew_c : array, any shape
        Air temperature; dew point, for which the day's lowest temperature stands in. [C]

    Returns
    -------
    array, same shape
        [%]

    References
    ----------
    fao56, eq. 10 and 48
    """
    return np.minimum(100 * saturation_kpa(dew_c) / saturation_kpa(temp_c), 100.0)


def cold_energy_pct(critical_f: float, effective_f: float, pct_per_f: float) -> float:
    """Return how much more energy an animal needs below its critical temperature.

    Parameters
    ----------
    critical_f, effective_f : float
        Lower critical temperature of its coat; air temperature with wind. [F]
    pct_per_f : float
        More energy a degree. [%/F]

    Returns
    -------
    float
        0 at and above the critical temperature. [%]

    References
    ----------
    cow_cold_tables, 1 % per F
    """
    return max(critical_f - effective_f, 0.0) * pct_per_f
