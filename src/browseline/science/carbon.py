"""Carbon that moves: fuel, lime and urea, soil under a changed use, wood that decays, and warming metrics.

Positive is into the air. Arrays of any shape (year, member) in, the same shape out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from browseline.units import factor

Array = NDArray[np.float64]
CO2_OF_C = factor("kg C", "kg CO2")
SETTLED_YR = 20.0


def co2_of_carbon(carbon: Array) -> Array:
    """Carbon dioxide of carbon.

    Parameters
    ----------
    carbon : array, shape (...)
        [kg C, or t C]

    Returns
    -------
    array, shape (...)
        [kg CO2, or t CO2]

    References
    ----------
    unit_definition, 44 / 12
    """
    return np.asarray(np.asarray(carbon, dtype=float) * CO2_OF_C)


def tree_kg_co2(aboveground_kg: Array, root_share: Array, carbon_share: Array) -> Array:
    """Carbon dioxide that a tree with its roots holds.

    Parameters
    ----------
    aboveground_kg : array, shape (...)
        Dry matter. [kg]
    root_share, carbon_share : array, shape (...)
        Roots over what stands above ground; carbon in dry matter. [1]

    Returns
    -------
    array, shape (...)
        [kg CO2]

    References
    ----------
    ipcc2006_v4_ch04, Eq 2.8 of the generic methods; unit_definition
    """
    dry = np.asarray(aboveground_kg, dtype=float) * (1.0 + np.asarray(root_share))
    return co2_of_carbon(dry * np.asarray(carbon_share))


def fuel_kg_co2(volume_gal: Array, kg_co2_gal: float) -> Array:
    """Carbon dioxide of fuel burned.

    Parameters
    ----------
    volume_gal : array, shape (...)
        [US gal]
    kg_co2_gal : float
        [kg CO2/gal]

    Returns
    -------
    array, shape (...)
        [kg CO2]

    References
    ----------
    epa_ef_hub
    """
    return np.asarray(np.asarray(volume_gal, dtype=float) * kg_co2_gal)


def work_rate_ha_h(width_m: float, speed_km_h: float, efficiency: float) -> float:
    """Ground that a machine covers in an hour.

    Parameters
    ----------
    width_m, speed_km_h : float
        [m; km/h]
    efficiency : float
        Share of the time and width that counts. [1]

    Returns
    -------
    float
        [ha/h]

    References
    ----------
    asabe_d497, field capacity
    """
    return width_m * speed_km_h / 10.0 * efficiency


def work_fuel_l_ha(turning_kw: float, pulling_kw: float, l_kwh: float, ha_h: float) -> float:
    """Fuel that work takes on a hectare.

    Parameters
    ----------
    turning_kw, pulling_kw : float
        Power at the shaft; to move. [kW]
    l_kwh, ha_h : float
        [L/kWh; ha/h]

    Returns
    -------
    float
        [L/ha]

    References
    ----------
    asabe_ep496
    """
    return (turning_kw + pulling_kw) * l_kwh / ha_h


def soil_change_t_c(stock_t_ha: float, before: float, after: float, year: Array) -> Array:
    """Carbon that soil gains in a year after its use changed; nothing before, nothing after 20 years.

    A projection from defaults, never a measurement.

    Parameters
    ----------
    stock_t_ha : float
        Reference stock of climate and soil, 0-30 cm. [t C/ha]
    before, after : float
        Product of the factors of use, management and input. [1]
    year : array, shape (...)
        Whole years since the change; the first is 0. [yr]

    Returns
    -------
    array, shape (...)
        Above 0 is a gain. [t C/ha/yr]

    References
    ----------
    ipcc2006_v4_ch02, Eq 2.25
    """
    passed = np.asarray(year, dtype=float)
    yearly = stock_t_ha * (after - before) / SETTLED_YR
    return np.where((passed >= 0) & (passed < SETTLED_YR), yearly, 0.0)


def decay_1_yr(half_life_yr: Array) -> Array:
    """Yearly decay constant of a half-life; what has none is gone at once.

    Parameters
    ----------
    half_life_yr : array, shape (...)
        [yr]

    Returns
    -------
    array, shape (...)
        Infinite for 0. [1/yr]

    References
    ----------
    eu_2018_841, Art. 9; ipcc2019_v4_ch12, Eq 12.2
    """
    life = np.asarray(half_life_yr, dtype=float)
    return np.asarray(np.divide(np.log(2.0), life, out=np.full(life.shape, np.inf), where=life > 0))


def left_after(years: Array, half_life_yr: Array) -> Array:
    """Share of carbon left in wood that came in at once.

    Parameters
    ----------
    years, half_life_yr : array, shape (...)
        Years 0 or above. [yr]

    Returns
    -------
    array, shape (...)
        [1]

    References
    ----------
    ipcc2019_v4_ch12, Eq 12.2
    """
    passed, life = np.broadcast_arrays(np.asarray(years, dtype=float), np.asarray(half_life_yr, dtype=float))
    halves = np.divide(passed, life, out=np.full(passed.shape, np.inf), where=life > 0)
    return np.where(passed > 0, np.exp2(-halves), 1.0)


def products_stock(inflow: Array, half_life_yr: Array | float, start: Array | float = 0.0) -> Array:
    """Carbon in wood products at the end of each year, its inflow spread over the year.

    Parameters
    ----------
    inflow : array, shape (year, ...)
        [t C/yr]
    half_life_yr : array, shape (...), or float
        0 keeps nothing. [yr]
    start : array, shape (...), or float
        At the beginning of the first year. [t C]

    Returns
    -------
    array, shape (year, ...)
        [t C]

    References
    ----------
    ipcc2019_v4_ch12, Eq 12.2: e^-k C + (1 - e^-k) / k inflow
    """
    flow = np.asarray(inflow, dtype=float)
    k = decay_1_yr(np.asarray(half_life_yr, dtype=float))
    kept, entered = np.exp(-k), -np.expm1(-k) / k
    made, stock = np.empty(flow.shape), np.broadcast_to(np.asarray(start, dtype=float), flow.shape[1:])
    for year in range(len(flow)):
        stock = kept * stock + entered * flow[year]
        made[year] = stock
    return made
