"""Grazing arithmetic done by hand: demand, paddocks, areas, days of grass. Any one set of units serves."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def demand_kg_d(head: ArrayLike, weight_kg: ArrayLike, intake_frac: ArrayLike) -> float:
    """What a mob eats in a day.

    Parameters
    ----------
    head, weight_kg, intake_frac : array, shape (class,)
        Number, live weight [kg], and dry matter eaten a day over live weight [1/d].

    Returns
    -------
    float
        Dry matter. [kg/d]

    References
    ----------
    grazing_guide_paddock; forage.md section 5
    """
    return float(np.sum(np.asarray(head, float) * np.asarray(weight_kg) * np.asarray(intake_frac)))


def animal_units(head: ArrayLike, units_per_head: ArrayLike) -> float:
    """Animal units of a herd, a label only: conventions differ.

    Parameters
    ----------
    head, units_per_head : array, shape (class,)
        [head], [1]

    Returns
    -------
    float
        [1]

    References
    ----------
    psu_four_steps
    """
    return float(np.sum(np.asarray(head, float) * np.asarray(units_per_head)))


def animal_units_by_weight(weight_kg: ArrayLike, base_kg: float, power: float = 1.0) -> Array:
    """Animal units of one head by its weight, or by its metabolic weight with a power of 0.75.

    Parameters
    ----------
    weight_kg : array, any shape
        [kg]
    base_kg : float
        Weight of one unit. [kg]

    Returns
    -------
    array, shape of `weight_kg`
        [1]

    References
    ----------
    unl_beef2023; manske1998
    """
    return np.asarray((np.asarray(weight_kg, float) / base_kg) ** power)


def paddocks_needed(rest_d: float, stay_d: float, groups: int = 1) -> float:
    """Paddocks that give each its rest, one more a group; round up to lay them out.

    Parameters
    ----------
    rest_d, stay_d : float
        [d]
    groups : int
        Groups that graze at a time.

    Returns
    -------
    float
        [paddocks]

    References
    ----------
    psu_four_steps
    """
    return rest_d / stay_d + groups


def resting_frac(groups: int, paddocks: int) -> float:
    """Share of the paddocks that rests while each group stands in one of them.

    Parameters
    ----------
    groups, paddocks : int

    Returns
    -------
    float
        [1]

    References
    ----------
    derived_here, 1 - groups/paddocks
    """
    return 1 - groups / paddocks


def available_kg_ha(start_cm: ArrayLike, stop_cm: ArrayLike, kg_ha_cm: ArrayLike) -> Array:
    """Herbage above the leave-at height; 0 when below it.

    Parameters
    ----------
    start_cm, stop_cm : array, any shape
        [cm]
    kg_ha_cm : array, shape that stretches to them
        [kg/ha/cm]

    Returns
    -------
    array, shape of all together
        [kg/ha]

    References
    ----------
    umaine_lesson1, appendix D
    """
    above = np.maximum(0, np.asarray(start_cm, float) - np.asarray(stop_cm, float))
    return np.asarray(above * np.asarray(kg_ha_cm, float))


def offer_kg_d(demand_kg_d: ArrayLike, share_eaten: ArrayLike) -> Array:
    """What disappears from the sward while a mob eats its fill: the rest is trodden or soiled.

    Parameters
    ----------
    demand_kg_d, share_eaten : array, any shape
        What is eaten [kg/d], and its share of what disappears [1].

    Returns
    -------
    array, shape of both together
        [kg/d]

    References
    ----------
    grazing_guide_paddock, paddock size
    """
    return np.asarray(np.asarray(demand_kg_d, float) / np.asarray(share_eaten, float))


def area_ha(demand_kg_d: float, stay_d: float, available_kg_ha: float, share_eaten: float) -> float:
    """Area that feeds a mob for a stay.

    Parameters
    ----------
    demand_kg_d, stay_d, available_kg_ha, share_eaten : float
        [kg/d], [d], [kg/ha], [1]

    Returns
    -------
    float
        [ha]

    References
    ----------
    psu_agronomy_guide, Table 1.8-9
    """
    return demand_kg_d * stay_d / (available_kg_ha * share_eaten)


def mean_cover_kg_ha(mass_kg_ha: ArrayLike, paddock_ha: ArrayLike) -> float:
    """Mean mass of the farm, each paddock by its area.

    Parameters
    ----------
    mass_kg_ha, paddock_ha : array, shape (paddock,)
        [kg/ha], [ha]

    Returns
    -------
    float
        [kg/ha]

    References
    ----------
    uk_coop_guide, farm cover
    """
    area = np.asarray(paddock_ha, float)
    return float(np.sum(np.asarray(mass_kg_ha, float) * area) / np.sum(area))


def rate_between_kg_ha_d(after_kg_ha: float, before_kg_ha: float, days: float) -> float:
    """Growth a day that brought one mass to another; days of rest from the same three turned round.

    Parameters
    ----------
    after_kg_ha, before_kg_ha, days : float
        Mass left by one grazing, mass before the next, and the days between. [kg/ha], [kg/ha], [d]

    Returns
    -------
    float
        [kg/ha/d]

    References
    ----------
    weak_dairy_qa, worked answer
    """
    return (before_kg_ha - after_kg_ha) / days


def as_fed_kg(dry_kg: float, moisture_frac: float) -> float:
    """Fresh mass that holds a dry mass.

    Parameters
    ----------
    dry_kg, moisture_frac : float
        [kg], [1]

    Returns
    -------
    float
        As fed. [kg]

    References
    ----------
    ok_stick_manual, whose printed 50 is an error: 30 lb at 60 % moisture is 75
    """
    return dry_kg / (1 - moisture_frac)


def grass_ahead_d(
    paddock_ha: ArrayLike, height_cm: ArrayLike, stop_cm: ArrayLike, kg_ha_cm: ArrayLike,
    share_eaten: ArrayLike, demand_kg_d: float, growth_kg_ha_d: ArrayLike = 0.0,
) -> float:  # fmt: skip
    """Days until open paddocks stand at their leave-at height, the herd eating its fill.

    Parameters
    ----------
    paddock_ha, height_cm, stop_cm, kg_ha_cm, share_eaten, growth_kg_ha_d : array, shape (paddock,)
        Open paddocks only. [ha], [cm], [cm], [kg/ha/cm], [1], [kg/ha/d]
    demand_kg_d : float
        Of all mobs on grass. [kg/d]

    Returns
    -------
    float
        Infinite where growth keeps up with demand. [d]

    References
    ----------
    derived_here, forage.md section 5, "Grass ahead"
    """
    eaten_of_area = np.asarray(paddock_ha, float) * np.asarray(share_eaten, float)
    feed = float(np.sum(eaten_of_area * available_kg_ha(height_cm, stop_cm, kg_ha_cm)))
    need = demand_kg_d - float(np.sum(eaten_of_area * np.asarray(growth_kg_ha_d, float)))
    return feed / need if need > 0 else float("inf")
