"""What animals need: energy of feed, intake by weight, water by weight and temperature, shared diets."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from browseline.units import factor

Array = NDArray[np.float64]
POUND_KG = factor("lb", "kg")
GALLON_L = factor("gal", "L")


def digestible_energy_mcal_d(tdn_kg_d: ArrayLike) -> Array:
    """Digestible energy of total digestible nutrients.

    Parameters
    ----------
    tdn_kg_d : array, any shape
        [kg/d]

    Returns
    -------
    array, shape of `tdn_kg_d`
        [Mcal/d]

    References
    ----------
    nmsu_sheep, 1 kg TDN = 4.4 Mcal
    """
    return np.asarray(4.4 * np.asarray(tdn_kg_d, float))


def metabolisable_energy_mcal_d(tdn_kg_d: ArrayLike) -> Array:
    """Metabolisable energy of total digestible nutrients.

    Parameters
    ----------
    tdn_kg_d : array, any shape
        [kg/d]

    Returns
    -------
    array, shape of `tdn_kg_d`
        [Mcal/d]

    References
    ----------
    nmsu_sheep, ME = 0.82 DE
    """
    return np.asarray(0.82 * digestible_energy_mcal_d(tdn_kg_d))


def horse_energy_mcal_d(weight_kg: ArrayLike) -> Array:
    """Digestible energy that an idle grown horse needs.

    Parameters
    ----------
    weight_kg : array, any shape
        [kg]

    Returns
    -------
    array, shape of `weight_kg`
        [Mcal/d]

    References
    ----------
    nrc2007_horses, recalled
    """
    return np.asarray(0.0333 * np.asarray(weight_kg, float))


def intake_pct(intake_kg_d: ArrayLike, weight_kg: ArrayLike) -> Array:
    """Dry matter eaten a day as a percentage of body weight.

    Parameters
    ----------
    intake_kg_d, weight_kg : array, any shape
        [kg/d], [kg]; any one unit of mass serves both

    Returns
    -------
    array, shape of both together
        [% BW/d]

    References
    ----------
    ohio_sheep2023, Table 1
    """
    return np.asarray(np.asarray(intake_kg_d, float) / np.asarray(weight_kg, float) / factor("%", "1"))


def scaled_by_weight(printed: ArrayLike, printed_weight_kg: ArrayLike, weight_kg: ArrayLike) -> Array:
    """What a table prints for one weight, for an animal of another: in proportion.

    Parameters
    ----------
    printed : array, any shape
        Intake or water a day, any unit.
    printed_weight_kg, weight_kg : array, any shape
        Weight that the table prints it for, and the animal's own. [kg]

    Returns
    -------
    array, shape of all together
        In the unit of `printed`.

    References
    ----------
    ohio_sheep2023, Table 1; livestock.md section 1
    """
    return np.asarray(np.asarray(printed, float) * np.asarray(weight_kg) / np.asarray(printed_weight_kg))


def summer_water_l_d(weight_kg: ArrayLike, gal_per_100_lb: float) -> Array:
    """Water that cattle drink in summer, by weight.

    Parameters
    ----------
    weight_kg : array, any shape
        [kg]
    gal_per_100_lb : float
        US gallons a day for each 100 lb. [gal/d]

    Returns
    -------
    array, shape of `weight_kg`
        [L/d]

    References
    ----------
    ksu_watering, summer rule
    """
    hundreds = np.asarray(weight_kg, float) / (100 * POUND_KG)
    return np.asarray(hundreds * gal_per_100_lb * GALLON_L)


def water_at_l_d(
    temp_c: ArrayLike, cool_c: ArrayLike, hot_c: ArrayLike, cool_l_d: ArrayLike, hot_l_d: ArrayLike
) -> Array:
    """Water at a temperature between two that a table prints; no less than the cool, no more than the hot.

    Parameters
    ----------
    temp_c, cool_c, hot_c : array, any shape
        The day's, and those of the table. [C]
    cool_l_d, hot_l_d : array, any shape
        Water at the two temperatures of the table. [L/d]

    Returns
    -------
    array, shape of all together
        [L/d]

    References
    ----------
    ours: a straight line between two printed values
    """
    part = (np.asarray(temp_c, float) - np.asarray(cool_c)) / (np.asarray(hot_c) - np.asarray(cool_c))
    return np.asarray(cool_l_d + np.clip(part, 0, 1) * (np.asarray(hot_l_d) - np.asarray(cool_l_d)))


def head_sharing_diet(head_alone: ArrayLike, overlap_pct: ArrayLike) -> Array:
    """Head of one of two kinds that run together, from its head alone and how far their diets overlap.

    Parameters
    ----------
    head_alone : array, any shape
        [head]
    overlap_pct : array, any shape
        Share of the diet that both eat. [%]

    Returns
    -------
    array, shape of both together
        [head]

    References
    ----------
    animut2008, abstract formula
    """
    shared = np.asarray(overlap_pct, float) * factor("%", "1")
    return np.asarray(np.asarray(head_alone, float) * ((1 - shared) + shared / 2))


def diet_overlap_pct(one_pct: ArrayLike, other_pct: ArrayLike) -> float:
    """Share of the diet that two kinds have in common: of each part what the lesser eater takes.

    Parameters
    ----------
    one_pct, other_pct : array, shape (part,)
        Grass, forbs, browse of each kind. [%]

    Returns
    -------
    float
        [%]

    References
    ----------
    ours: the smaller share of each part, summed
    """
    return float(np.sum(np.minimum(np.asarray(one_pct, float), np.asarray(other_pct, float))))
