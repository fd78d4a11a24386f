"""Wood in a log by the rules in trade, as they are printed: inches inside bark, feet, board feet; cubic.

The log rules take one log or arrays of small ends, shape (...), of one length.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from browseline.units import factor

Array = NDArray[np.float64]
Ends = Array | float

SECTION_FT = 4.0


def doyle_bf(small_end_in: Ends, length_ft: float) -> Array:
    """Board feet by the Doyle rule.

    Parameters
    ----------
    small_end_in : array, shape (...), or float
        Diameter of the small end inside the bark; not above 4 in gives 0. [in]
    length_ft : float
        [ft]

    Returns
    -------
    array, shape (...)
        Board feet. [1]

    References
    ----------
    unit_definition, trees.md section 4, (D - 4)^2 L / 16
    """
    return np.asarray(np.maximum(np.asarray(small_end_in) - 4.0, 0.0) ** 2 * length_ft / 16)


def scribner_bf(small_end_in: Ends, length_ft: float) -> Array:
    """Board feet by the Scribner formula.

    Parameters
    ----------
    small_end_in : array, shape (...), or float
        Diameter of the small end inside the bark. [in]
    length_ft : float
        [ft]

    Returns
    -------
    array, shape (...)
        Board feet. [1]

    References
    ----------
    unit_definition, trees.md section 4, (0.79 D^2 - 2 D - 4) L / 16
    """
    end = np.asarray(small_end_in, dtype=float)
    return np.asarray(np.maximum(0.79 * end**2 - 2 * end - 4, 0.0) * length_ft / 16)


def international_bf(small_end_in: Ends, length_ft: float) -> Array:
    """Board feet by the International 1/4-inch rule, 4 ft by 4 ft.

    The log is half an inch thicker every 4 ft down; whole sections only.

    Parameters
    ----------
    small_end_in : array, shape (...), or float
        Diameter of the small end inside the bark. [in]
    length_ft : float
        [ft]

    Returns
    -------
    array, shape (...)
        Board feet. [1]

    References
    ----------
    unit_definition, trees.md section 4, 0.905 (0.22 D^2 - 0.71 D) a section
    """
    ends = np.asarray(small_end_in, dtype=float)[..., None] + 0.5 * np.arange(int(length_ft // SECTION_FT))
    return np.asarray(0.905 * np.maximum(0.22 * ends**2 - 0.71 * ends, 0.0).sum(axis=-1))


def butt_log_in(dbh_in: Ends, form_class: float) -> Array:
    """Small end of the first 16-ft log of a standing tree.

    Parameters
    ----------
    dbh_in : array, shape (...), or float
        Stem at breast height, with bark. [in]
    form_class : float
        Girard form class: small end inside bark in hundredths of the stem. [%]

    Returns
    -------
    array, shape (...)
        [in]

    References
    ----------
    mesavage_girard1946
    """
    return np.asarray(np.asarray(dbh_in) * form_class * factor("%", "1"))


def two_logs_bf(dbh_in: Ends, printed_dbh_in: Array, printed_bf: Array) -> Array:
    """Board feet of two 16-ft logs of a standing tree, looked up in a printed table.

    The rule for the upper log's taper is not printed, so nothing is said outside the table.

    Parameters
    ----------
    dbh_in : array, shape (...), or float
        Stem at breast height, with bark. [in]
    printed_dbh_in, printed_bf : array, shape (row,)
        The table, thin trees first; between two rows on the line. [in, 1]

    Returns
    -------
    array, shape (...)
        Board feet; NaN for a thinner or thicker stem than the table's. [1]

    References
    ----------
    mesavage_girard1946, form class 78, Scribner
    """
    return np.asarray(np.interp(dbh_in, printed_dbh_in, printed_bf, left=np.nan, right=np.nan))


def section_m2(diameter_m: Ends) -> Array:
    """Cross-section of a round stem.

    Parameters
    ----------
    diameter_m : array, shape (...), or float
        [m]

    Returns
    -------
    array, shape (...)
        [m2]

    References
    ----------
    unit_definition
    """
    return np.asarray(np.pi / 4 * np.square(np.asarray(diameter_m, dtype=float)))


def smalian_m3(large_m2: Ends, small_m2: Ends, length_m: Ends) -> Array:
    """Volume of a log from the cross-sections of its ends.

    Parameters
    ----------
    large_m2, small_m2, length_m : array, shape (...), or float
        [m2, m2, m]

    Returns
    -------
    array, shape (...)
        [m3]

    References
    ----------
    unit_definition, trees.md section 4, L (A1 + A2) / 2
    """
    return np.asarray(length_m * (np.asarray(large_m2) + small_m2) / 2)


def huber_m3(middle_m2: Ends, length_m: Ends) -> Array:
    """Volume of a log from its cross-section halfway.

    Parameters
    ----------
    middle_m2, length_m : array, shape (...), or float
        [m2, m]

    Returns
    -------
    array, shape (...)
        [m3]

    References
    ----------
    unit_definition, trees.md section 4, L Am
    """
    return np.asarray(np.asarray(length_m) * middle_m2)


def newton_m3(large_m2: Ends, middle_m2: Ends, small_m2: Ends, length_m: Ends) -> Array:
    """Volume of a log from three cross-sections.

    Parameters
    ----------
    large_m2, middle_m2, small_m2, length_m : array, shape (...), or float
        [m2, m2, m2, m]

    Returns
    -------
    array, shape (...)
        [m3]

    References
    ----------
    unit_definition, trees.md section 4, L (A1 + 4 Am + A2) / 6
    """
    return np.asarray(length_m * (np.asarray(large_m2) + 4 * np.asarray(middle_m2) + small_m2) / 6)


def stem_m3(dbh_cm: Ends, height_m: Ends, form: Ends) -> Array:
    """Volume of a whole stem from its thickness, height and form.

    Parameters
    ----------
    dbh_cm, height_m : array, shape (...), or float
        [cm, m]
    form : array, shape (...), or float
        Volume over that of a cylinder of the breast-height section. [1]

    Returns
    -------
    array, shape (...)
        [m3]

    References
    ----------
    memory_unsourced, trees.md section 4, 0.42 BA H
    """
    thick = np.asarray(dbh_cm, dtype=float) * factor("cm", "m")
    return np.asarray(form * section_m2(thick) * height_m)
