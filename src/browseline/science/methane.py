"""Methane of animals: what they need in energy, what of it they belch, and what their dung gives off.

Arrays of any shape (members, lines of animals) in, the same shape out; energies a head and day.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
DAYS = 365.0
DRY_MATTER_MJ_KG = 18.45
METHANE_MJ_KG = 55.65


def maintenance_mj_d(weight_kg: Array, cfi: Array) -> Array:
    """Energy that keeps an animal as it is.

    Parameters
    ----------
    weight_kg, cfi : array, shape (...)
        Live weight; coefficient of the class. [kg; MJ/d/kg^0.75]

    Returns
    -------
    array, shape (...)
        [MJ/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.3
    """
    return np.asarray(np.asarray(cfi) * np.asarray(weight_kg, dtype=float) ** 0.75)


def cold_cfi(cfi: Array, winter_temp_c: Array) -> Array:
    """Coefficient of maintenance in a cold winter, cattle; as it is at 20 C and above.

    Parameters
    ----------
    cfi, winter_temp_c : array, shape (...)
        Mean of the winter months. [MJ/d/kg^0.75; C]

    Returns
    -------
    array, shape (...)
        [MJ/d/kg^0.75]

    References
    ----------
    ipcc2006_v4_ch10, Eq 10.2
    """
    return np.asarray(np.asarray(cfi) + 0.0048 * np.maximum(20.0 - np.asarray(winter_temp_c), 0.0))


def activity_mj_d(ca: Array, of: Array) -> Array:
    """Energy of walking and grazing.

    Parameters
    ----------
    ca, of : array, shape (...)
        Of cattle a share of maintenance; of sheep and goats energy a kg of live weight.
        [1, MJ/d; MJ/d/kg, kg]

    Returns
    -------
    array, shape (...)
        [MJ/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.4, Eq 10.5
    """
    return np.asarray(np.asarray(ca) * np.asarray(of, dtype=float))


def cattle_gain_mj_d(weight_kg: Array, mature_kg: Array, gain_kg_d: Array, c: float) -> Array:
    """Energy of the gain of cattle.

    Parameters
    ----------
    weight_kg, mature_kg : array, shape (...)
        Now; of an adult female in moderate condition, for which no default is published. [kg]
    gain_kg_d : array, shape (...)
        0 or above. [kg/d]
    c : float
        0.8 female, 1.0 castrate, 1.2 bull. [1]

    Returns
    -------
    array, shape (...)
        [MJ/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.6
    """
    size = np.asarray(weight_kg, dtype=float) / (c * np.asarray(mature_kg))
    return np.asarray(22.02 * size**0.75 * np.asarray(gain_kg_d) ** 1.097)


def small_gain_mj_d(start_kg: Array, end_kg: Array, a: float, b: float) -> Array:
    """Energy of the gain of sheep and goats over a year.

    Parameters
    ----------
    start_kg, end_kg : array, shape (...)
        At weaning, a year old (or at sale). [kg]
    a, b : float
        Of sex and kind. [MJ/kg; MJ/kg^2]

    Returns
    -------
    array, shape (...)
        [MJ/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.7
    """
    start, end = np.asarray(start_kg, dtype=float), np.asarray(end_kg, dtype=float)
    return np.asarray((end - start) * (a + 0.5 * b * (start + end)) / DAYS)


def cattle_milk_mj_d(milk_kg_d: Array, fat_pct: Array) -> Array:
    """Energy of the milk of cattle.

    Parameters
    ----------
    milk_kg_d, fat_pct : array, shape (...)
        [kg/d; %]

    Returns
    -------
    array, shape (...)
        [MJ/d]

    References
    ----------
    ipcc2006_v4_ch10, Eq 10.8
    """
    return np.asarray(np.asarray(milk_kg_d) * (1.47 + 0.40 * np.asarray(fat_pct)))


def small_milk_mj_d(milk_kg_d: Array, ev_mj_kg: float) -> Array:
    """Energy of the milk of sheep and goats.

    Parameters
    ----------
    milk_kg_d : array, shape (...)
        [kg/d]
    ev_mj_kg : float
        [MJ/kg]

    Returns
    -------
    array, shape (...)
        [MJ/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.9
    """
    return np.asarray(np.asarray(milk_kg_d) * ev_mj_kg)


def milk_of_lambs_kg_d(weaning_gain_kg: Array) -> Array:
    """Milk of a ewe, spread over the year, from what her lambs gained up to weaning.

    Parameters
    ----------
    weaning_gain_kg : array, shape (...)
        [kg]

    Returns
    -------
    array, shape (...)
        [kg/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.10: five kg of milk a kg of gain
    """
    return np.asarray(5.0 * np.asarray(weaning_gain_kg, dtype=float) / DAYS)


def pregnancy_mj_d(c: float, maintenance: Array, share_pregnant: Array) -> Array:
    """Energy of pregnancy, spread over the year.

    Parameters
    ----------
    c : float
        Of kind and litter. [1]
    maintenance, share_pregnant : array, shape (...)
        [MJ/d; 1]

    Returns
    -------
    array, shape (...)
        [MJ/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.13
    """
    return np.asarray(c * np.asarray(maintenance) * np.asarray(share_pregnant))


def wool_mj_d(wool_kg_yr: Array, ev_mj_kg: float) -> Array:
    """Energy of a year's wool, a day; 0 for hair sheep.

    Parameters
    ----------
    wool_kg_yr : array, shape (...)
        Clean and dry. [kg/yr]
    ev_mj_kg : float
        [MJ/kg]

    Returns
    -------
    array, shape (...)
        [MJ/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.12
    """
    return np.asarray(ev_mj_kg * np.asarray(wool_kg_yr, dtype=float) / DAYS)


def maintenance_ratio(digestible_pct: Array) -> Array:
    """Net energy for maintenance over digestible energy used.

    Parameters
    ----------
    digestible_pct : array, shape (...)
        Of gross energy, 45-85. [%]

    Returns
    -------
    array, shape (...)
        [1]

    References
    ----------
    ipcc2006_v4_ch10, Eq 10.14
    """
    de = np.asarray(digestible_pct, dtype=float)
    return np.asarray(1.123 - 4.092e-3 * de + 1.126e-5 * de**2 - 25.4 / de)


def growth_ratio(digestible_pct: Array) -> Array:
    """Net energy for growth over digestible energy used.

    Parameters
    ----------
    digestible_pct : array, shape (...)
        Of gross energy, 45-85. [%]

    Returns
    -------
    array, shape (...)
        [1]

    References
    ----------
    ipcc2006_v4_ch10, Eq 10.15
    """
    de = np.asarray(digestible_pct, dtype=float)
    return np.asarray(1.164 - 5.160e-3 * de + 1.308e-5 * de**2 - 37.4 / de)


def gross_energy_mj_d(keeping: Array, growing: Array, digestible_pct: Array) -> Array:
    """Gross energy eaten.

    Parameters
    ----------
    keeping : array, shape (...)
        Maintenance, activity, milk, work and pregnancy together. [MJ/d]
    growing : array, shape (...)
        Gain and wool together. [MJ/d]
    digestible_pct : array, shape (...)
        [%]

    Returns
    -------
    array, shape (...)
        [MJ/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.16
    """
    share = np.asarray(digestible_pct, dtype=float) / 100.0
    need = np.asarray(keeping) / maintenance_ratio(digestible_pct)
    return np.asarray((need + np.asarray(growing) / growth_ratio(digestible_pct)) / share)


def intake_kg_dm_d(gross_mj_d: Array) -> Array:
    """Dry matter of a gross energy.

    Parameters
    ----------
    gross_mj_d : array, shape (...)
        [MJ/d]

    Returns
    -------
    array, shape (...)
        [kg/d]

    References
    ----------
    ipcc2019_v4_ch10, 18.45 MJ a kg
    """
    return np.asarray(np.asarray(gross_mj_d, dtype=float) / DRY_MATTER_MJ_KG)


def enteric_kg_ch4_yr(gross_mj_d: Array, lost_pct: Array) -> Array:
    """Methane belched in a year by a head.

    Parameters
    ----------
    gross_mj_d, lost_pct : array, shape (...)
        Gross energy; its share lost as methane. [MJ/d; %]

    Returns
    -------
    array, shape (...)
        [kg CH4/yr]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.21
    """
    return np.asarray(np.asarray(gross_mj_d) * np.asarray(lost_pct) / 100.0 * DAYS / METHANE_MJ_KG)


def solids_kg_d(gross_mj_d: Array, digestible_pct: Array, urine: float, ash: float) -> Array:
    """Volatile solids in the dung of a head.

    Parameters
    ----------
    gross_mj_d, digestible_pct : array, shape (...)
        [MJ/d; %]
    urine, ash : float
        Energy in urine over gross energy; ash in dung. [1]

    Returns
    -------
    array, shape (...)
        [kg/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.24
    """
    gross = np.asarray(gross_mj_d, dtype=float)
    kept = 1.0 - np.asarray(digestible_pct, dtype=float) / 100.0 + urine
    return np.asarray(gross * kept * (1.0 - ash) / DRY_MATTER_MJ_KG)


def dung_kg_ch4(solids_kg: Array, bo_m3_kg: float, converted_pct: float, density_kg_m3: float) -> Array:
    """Methane that dung gives off.

    Parameters
    ----------
    solids_kg : array, shape (...)
        Volatile solids, of a day or a year. [kg]
    bo_m3_kg, converted_pct, density_kg_m3 : float
        Most methane a kg; share of it that comes about; of methane. [m3/kg; %; kg/m3]

    Returns
    -------
    array, shape (...)
        Over the same time. [kg CH4]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.23
    """
    return np.asarray(np.asarray(solids_kg, dtype=float) * bo_m3_kg * density_kg_m3 * converted_pct / 100.0)
