"""How dense a stand is, in the units in which the measures are printed: inches, feet and acres."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Stand = Sequence[tuple[float, float]]


def _sums(stand: Stand) -> tuple[float, float, float]:
    """Return trees, sum of stems and sum of squares, per acre."""
    n, d = np.array([row[0] for row in stand]), np.array([row[1] for row in stand])
    return float(n.sum()), float((n * d).sum()), float((n * d**2).sum())


def basal_area_ft2_ac(stand: Stand) -> float:
    """Cross-section of all stems on an acre.

    Parameters
    ----------
    stand : sequence of (float, float)
        Trees an acre and their stem. [trees/ac, in]

    Returns
    -------
    float
        [ft2/ac]

    References
    ----------
    unit_definition, 0.005454 D^2
    """
    return 0.005454 * _sums(stand)[2]


def quadratic_mean_in(stand: Stand) -> float:
    """Stem of the tree of mean cross-section.

    Parameters
    ----------
    stand : sequence of (float, float)
        Trees an acre and their stem. [trees/ac, in]

    Returns
    -------
    float
        [in]

    References
    ----------
    unit_definition
    """
    trees, _, squares = _sums(stand)
    return float(np.sqrt(squares / trees))


def density_index(stand: Stand) -> float:
    """Trees an acre of 10 in that would crowd as much.

    Parameters
    ----------
    stand : sequence of (float, float)
        Trees an acre and their stem. [trees/ac, in]

    Returns
    -------
    float
        [trees/ac]

    References
    ----------
    reineke1933, exponent 1.605 as recalled
    """
    return _sums(stand)[0] * float((quadratic_mean_in(stand) / 10) ** 1.605)


def crown_competition_pct(stand: Stand) -> float:
    """Open-grown crowns of all trees over the acre.

    Parameters
    ----------
    stand : sequence of (float, float)
        Trees an acre and their stem. [trees/ac, in]

    Returns
    -------
    float
        [%]

    References
    ----------
    krajicek1961, constants as recalled
    """
    trees, stems, squares = _sums(stand)
    return 0.0175 * trees + 0.0205 * stems + 0.0060 * squares


def upland_stocking_pct(stand: Stand) -> float:
    """Stocking of upland hardwoods.

    Parameters
    ----------
    stand : sequence of (float, float)
        Trees an acre and their stem. [trees/ac, in]

    Returns
    -------
    float
        [%]

    References
    ----------
    gingrich1967, stocking equation as recalled
    """
    trees, stems, squares = _sums(stand)
    return -0.00507 * trees + 0.01698 * stems + 0.00317 * squares
