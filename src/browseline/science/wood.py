"""Wood and carbon of trees: biomass from the stem, its parts, roots, and the error of a sample of stems.

Every function takes arrays of any shape (members, trees) and gives the same shape back.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def aboveground_kg(dbh_cm: Array, b0: float, b1: float) -> Array:
    """Dry matter above ground of one tree from its stem.

    No correction for the bias of logarithms is made; forest trees of about 2.5 cm and more.

    Parameters
    ----------
    dbh_cm : array, shape (...)
        Diameter at breast height; 0 gives 0. [cm]
    b0, b1 : float
        Of the species group. [1]

    Returns
    -------
    array, shape (...)
        [kg]

    References
    ----------
    jenkins2003, Table 4; chojnacky2014, Table 5: exp(b0 + b1 ln dbh)
    """
    stem = np.asarray(dbh_cm, dtype=float)
    return np.asarray(np.exp(b0) * stem**b1)


def breast_height_cm(root_collar_cm: Array) -> Array:
    """Stem at breast height of a woodland tree measured at its root collar.

    Parameters
    ----------
    root_collar_cm : array, shape (...)
        [cm]

    Returns
    -------
    array, shape (...)
        [cm]

    References
    ----------
    chojnacky2014: ln dbh = -0.35031 + 1.03991 ln drc
    """
    return np.asarray(np.exp(-0.35031) * np.asarray(root_collar_cm, dtype=float) ** 1.03991)


def part_share(dbh_cm: Array, a0: float, a1: float) -> Array:
    """Share of a part (foliage, bark, stem wood, coarse roots) in the dry matter above ground.

    Parameters
    ----------
    dbh_cm : array, shape (...)
        Above 0; stem parts are meant for 12.7 cm and more. [cm]
    a0, a1 : float
        Of the part. [1, cm]

    Returns
    -------
    array, shape (...)
        [1]

    References
    ----------
    jenkins2003, Table 6: exp(a0 + a1 / dbh)
    """
    return np.asarray(np.exp(a0 + a1 / np.asarray(dbh_cm, dtype=float)))


def branch_share(foliage: Array, bark: Array, stem: Array) -> Array:
    """Share of branches: what foliage, bark and stem wood leave.

    Parameters
    ----------
    foliage, bark, stem : array, shape (...)
        Shares of the dry matter above ground. [1]

    Returns
    -------
    array, shape (...)
        [1]

    References
    ----------
    jenkins2003, Table 6, by difference
    """
    return np.asarray(1.0 - (np.asarray(foliage) + bark + stem))


def temperate_roots_t_ha(aboveground_t_ha: Array) -> Array:
    """Roots of a whole temperate stand.

    Parameters
    ----------
    aboveground_t_ha : array, shape (...)
        Dry matter; 0 gives 0. [t/ha]

    Returns
    -------
    array, shape (...)
        Dry matter. [t/ha]

    References
    ----------
    cairns1997: exp(-1.0587 + 0.8836 ln A + 0.2840)
    """
    return np.asarray(np.exp(-1.0587 + 0.2840) * np.asarray(aboveground_t_ha, dtype=float) ** 0.8836)


def stand_roots_t_ha(aboveground_t_ha: Array) -> Array:
    """Roots of a whole stand of forest or woodland.

    Parameters
    ----------
    aboveground_t_ha : array, shape (...)
        Dry matter. [t/ha]

    Returns
    -------
    array, shape (...)
        Dry matter. [t/ha]

    References
    ----------
    mokany2006, Eq 1: 0.489 A^0.890
    """
    return np.asarray(0.489 * np.asarray(aboveground_t_ha, dtype=float) ** 0.890)


def sampling_error(values: Array, population: int) -> float:
    """Standard error of the mean of a sample drawn from so many, the whole counted.

    It says what another choice of trees would change; what a wrong equation would change is in none of it.

    Parameters
    ----------
    values : array, shape (sampled,)
        In any unit.
    population : int
        All trees; measuring every one leaves no error. [trees]

    Returns
    -------
    float
        In the unit of ``values``; NaN for fewer than two values of more trees.

    References
    ----------
    ours: s / sqrt(n) sqrt(1 - n / N), the simple random sample without replacement
    """
    found = np.asarray(values, dtype=float)
    drawn = len(found)
    if drawn >= population:
        return 0.0
    if drawn < 2:
        return float("nan")
    return float(found.std(ddof=1) / np.sqrt(drawn) * np.sqrt(1.0 - drawn / population))


def student_factor(sampled: int, share: float) -> float:
    """Standard errors from the mean of a sample to either end of its range.

    Parameters
    ----------
    sampled : int
        At least 2. [1]
    share : float
        Of samples whose range holds the truth: 0.9. [1]

    Returns
    -------
    float
        [1]

    References
    ----------
    ours: Student's distribution with one degree of freedom fewer than values
    """
    from scipy.special import stdtrit

    return float(stdtrit(sampled - 1, 0.5 + share / 2))


def equation_range(log_error: float, share: float) -> tuple[float, float]:
    """Factors on a biomass within which one tree lies of its equation, for errors normal in the logarithm.

    Shared by all trees of the group in a whole stand, so it never shrinks with their number.

    Parameters
    ----------
    log_error : float
        Root mean square error of the logarithm. [1]
    share : float
        [1]

    Returns
    -------
    (low, high) : floats
        [1]

    References
    ----------
    jenkins2003, Table 4 (error of one tree on the logarithm)
    """
    from scipy.special import ndtri

    half = float(ndtri(0.5 + share / 2)) * log_error
    return float(np.exp(-half)), float(np.exp(half))
