"""Board feet in a log by the rules in trade, as they are printed: inches inside bark, feet, board feet."""

from __future__ import annotations

import numpy as np

from browseline.units import factor

SECTION_FT = 4.0


def doyle_bf(small_end_in: float, length_ft: float) -> float:
    """Board feet by the Doyle rule.

    Parameters
    ----------
    small_end_in : float
        Diameter of the small end inside the bark; not above 4 in gives 0. [in]
    length_ft : float
        [ft]

    Returns
    -------
    float
        Board feet. [1]

    References
    ----------
    unit_definition, trees.md section 4, (D - 4)^2 L / 16
    """
    return max(small_end_in - 4.0, 0.0) ** 2 * length_ft / 16


def scribner_bf(small_end_in: float, length_ft: float) -> float:
    """Board feet by the Scribner formula.

    Parameters
    ----------
    small_end_in : float
        Diameter of the small end inside the bark. [in]
    length_ft : float
        [ft]

    Returns
    -------
    float
        Board feet. [1]

    References
    ----------
    unit_definition, trees.md section 4, (0.79 D^2 - 2 D - 4) L / 16
    """
    return max(0.79 * small_end_in**2 - 2 * small_end_in - 4, 0.0) * length_ft / 16


def international_bf(small_end_in: float, length_ft: float) -> float:
    """Board feet by the International 1/4-inch rule, 4 ft by 4 ft.

    The log is half an inch thicker every 4 ft down; whole sections only.

    Parameters
    ----------
    small_end_in : float
        Diameter of the small end inside the bark. [in]
    length_ft : float
        [ft]

    Returns
    -------
    float
        Board feet. [1]

    References
    ----------
    unit_definition, trees.md section 4, 0.905 (0.22 D^2 - 0.71 D) a section
    """
    ends = small_end_in + 0.5 * np.arange(int(length_ft // SECTION_FT))
    return float(0.905 * np.maximum(0.22 * ends**2 - 0.71 * ends, 0.0).sum())


def butt_log_in(dbh_in: float, form_class: float) -> float:
    """Small end of the first 16-ft log of a standing tree.

    Parameters
    ----------
    dbh_in : float
        Stem at breast height, with bark. [in]
    form_class : float
        Girard form class: small end inside bark in hundredths of the stem. [%]

    Returns
    -------
    float
        [in]

    References
    ----------
    mesavage_girard1946
    """
    return dbh_in * form_class * factor("%", "1")
