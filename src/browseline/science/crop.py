"""An annual crop beside trees and stock: gases of its nitrogen, land equivalents, the air as a scale.

Arrays of any shape (year, member) in, the same shape out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from browseline.science import nitrogen

Array = NDArray[np.float64]
CO2_OF_CARBON_IN_AIR = 3.664
"""As the Global Carbon Budget turns carbon of the air into carbon dioxide (44 / 12 is 3.667)."""


def crop_kg_n2o_ha(
    fertiliser_kg_n_ha: Array,
    residue_kg_n_ha: Array,
    emitted: Array,
    air_lost: Array,
    air_emitted: Array,
    water_lost: Array,
    water_emitted: Array,
) -> Array:
    """Nitrous oxide of a hectare of a crop: where its nitrogen lies, by way of the air, by way of water.

    Fertiliser goes into the air as ammonia; water carries off a share of fertiliser and residues.

    Parameters
    ----------
    fertiliser_kg_n_ha, residue_kg_n_ha : array, shape (...)
        [kg N/ha]
    emitted, air_emitted, water_emitted : array, shape (...)
        [kg N2O-N/kg N]
    air_lost, water_lost : array, shape (...)
        [1]

    Returns
    -------
    array, shape (way, ...)
        Direct of fertiliser, direct of residues, by air, by water. [kg N2O/ha]

    References
    ----------
    ipcc2019_v4_ch11, Eq 11.1, 11.9, 11.10
    """
    spread, left = np.asarray(fertiliser_kg_n_ha, dtype=float), np.asarray(residue_kg_n_ha, dtype=float)
    return np.stack(np.broadcast_arrays(
        nitrogen.direct_kg_n2o(spread, emitted),
        nitrogen.direct_kg_n2o(left, emitted),
        nitrogen.indirect_kg_n2o(spread, air_lost, air_emitted),
        nitrogen.indirect_kg_n2o(spread + left, water_lost, water_emitted),
    ))  # fmt: skip


def land_equivalent(together: Array, alone: Array) -> Array:
    """Land that products would need if each stood alone, over the land on which they stand together.

    Parameters
    ----------
    together, alone : array, shape (product, ...)
        Yield of each product on the same area: in the mixture, and alone; ``alone`` above 0 where anything
        is yielded. [any, the same for one product]

    Returns
    -------
    array, shape (...)
        Above 1 the mixture needs less land. A product that yields nothing either way adds nothing. [1]

    References
    ----------
    ours: sum of yield together / yield alone, as the ratio is defined in the trade
    """
    mixed, sole = np.asarray(together, dtype=float), np.asarray(alone, dtype=float)
    parts = np.divide(mixed, sole, out=np.where(mixed > 0, np.inf, 0.0), where=sole > 0)
    return np.asarray(parts.sum(axis=0))


def air_gt_co2(ppm: Array, gt_c_ppm: float) -> Array:
    """Carbon dioxide that a part per million of the air is.

    Parameters
    ----------
    ppm : array, shape (...)
        [ppm]
    gt_c_ppm : float
        [Gt C/ppm]

    Returns
    -------
    array, shape (...)
        [Gt CO2]

    References
    ----------
    global_carbon_budget, Table 1
    """
    return np.asarray(np.asarray(ppm, dtype=float) * gt_c_ppm * CO2_OF_CARBON_IN_AIR)
