"""Nitrogen of dung, fertiliser and residues, and the nitrous oxide that comes of it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from browseline.units import factor

Array = NDArray[np.float64]
DAYS = 365.0
N2O_OF_N = factor("kg N2O-N", "kg N2O")
PROTEIN_OF_N = 6.25
ENERGY_MJ_KG = 18.45


def excreted_by_rate(rate_kg_1000kg_d: Array, weight_kg: Array) -> Array:
    """Nitrogen (or volatile solids) that a head gives off in a year, from a rate by weight.

    Parameters
    ----------
    rate_kg_1000kg_d, weight_kg : array, shape (...)
        [kg/1000 kg/d; kg]

    Returns
    -------
    array, shape (...)
        [kg/yr]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.30 (Eq 10.22A for solids)
    """
    return np.asarray(np.asarray(rate_kg_1000kg_d) * np.asarray(weight_kg, dtype=float) / 1000.0 * DAYS)


def eaten_kg_n_d(gross_mj_d: Array, protein_pct: Array) -> Array:
    """Nitrogen eaten.

    Parameters
    ----------
    gross_mj_d, protein_pct : array, shape (...)
        Gross energy; crude protein of the dry matter. [MJ/d; %]

    Returns
    -------
    array, shape (...)
        [kg/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.32
    """
    dry = np.asarray(gross_mj_d, dtype=float) / ENERGY_MJ_KG
    return np.asarray(dry * np.asarray(protein_pct) / 100.0 / PROTEIN_OF_N)


def kept_in_gain_kg_n_d(gain_kg_d: Array, gain_mj_d: Array) -> Array:
    """Nitrogen kept in the gain of cattle; nothing where there is no gain.

    Parameters
    ----------
    gain_kg_d, gain_mj_d : array, shape (...)
        Gain and its net energy. [kg/d; MJ/d]

    Returns
    -------
    array, shape (...)
        [kg/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.33
    """
    gain, energy = np.asarray(gain_kg_d, dtype=float), np.asarray(gain_mj_d, dtype=float)
    return np.asarray((268.0 * gain - 7.03 * energy) / 1000.0 / PROTEIN_OF_N)


def kept_in_milk_kg_n_d(milk_kg_d: Array, protein_pct: Array) -> Array:
    """Nitrogen in milk.

    Parameters
    ----------
    milk_kg_d, protein_pct : array, shape (...)
        [kg/d; %]

    Returns
    -------
    array, shape (...)
        [kg/d]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.33
    """
    return np.asarray(np.asarray(milk_kg_d, dtype=float) * np.asarray(protein_pct) / 100.0 / 6.38)


def excreted_kg_n_yr(eaten_kg_d: Array, kept_kg_d: Array) -> Array:
    """Nitrogen that a head gives off in a year: eaten less kept.

    Parameters
    ----------
    eaten_kg_d, kept_kg_d : array, shape (...)
        [kg/d]

    Returns
    -------
    array, shape (...)
        [kg/yr]

    References
    ----------
    ipcc2019_v4_ch10, Eq 10.31A
    """
    return np.asarray((np.asarray(eaten_kg_d, dtype=float) - np.asarray(kept_kg_d)) * DAYS)


def direct_kg_n2o(n_kg: Array, emitted: Array) -> Array:
    """Nitrous oxide from where the nitrogen lies.

    Parameters
    ----------
    n_kg, emitted : array, shape (...)
        Nitrogen; its share given off as nitrous oxide (EF1, EF3). [kg; 1]

    Returns
    -------
    array, shape (...)
        [kg N2O]

    References
    ----------
    ipcc2019_v4_ch11, Eq 11.1
    """
    return np.asarray(np.asarray(n_kg, dtype=float) * np.asarray(emitted) * N2O_OF_N)


def indirect_kg_n2o(n_kg: Array, lost: Array, emitted: Array) -> Array:
    """Nitrous oxide from nitrogen that went elsewhere: into the air (EF4), or into water (EF5).

    Parameters
    ----------
    n_kg, lost, emitted : array, shape (...)
        Nitrogen; share lost; share of that given off. [kg; 1; 1]

    Returns
    -------
    array, shape (...)
        [kg N2O]

    References
    ----------
    ipcc2019_v4_ch11, Eq 11.9, Eq 11.10
    """
    return direct_kg_n2o(np.asarray(n_kg, dtype=float) * np.asarray(lost), emitted)


def residue_kg_n_ha(grain_kg_dm_ha: Array, r_ag: float, rs: float, n_ag: float, n_bg: float) -> Array:
    """Nitrogen in what a crop leaves above and below ground.

    Parameters
    ----------
    grain_kg_dm_ha : array, shape (...)
        Dry matter harvested. [kg/ha]
    r_ag, rs : float
        Straw over grain; roots over straw and grain. [1]
    n_ag, n_bg : float
        Nitrogen in straw; in roots. [1]

    Returns
    -------
    array, shape (...)
        [kg/ha]

    References
    ----------
    ipcc2019_v4_ch11, Eq 11.6, Eq 11.7
    """
    grain = np.asarray(grain_kg_dm_ha, dtype=float)
    straw = grain * r_ag
    return np.asarray(straw * n_ag + (grain + straw) * rs * n_bg)
