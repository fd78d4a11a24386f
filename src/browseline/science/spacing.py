"""How many trees stand on a hectare by their spacing, and how wide an alley is that machines pass whole."""

from __future__ import annotations

import math

from browseline.units import factor

HA_M2 = factor("ha", "m2")


def trees_per_ha(in_row_m: float, alley_m: float, rows_in_set: int = 1, between_m: float = 0.0) -> float:
    """Trees on a hectare of sets of rows that go on without an edge.

    Parameters
    ----------
    in_row_m : float
        Stem to stem in the row. [m]
    alley_m : float
        Outer stem of a set to outer stem of the next. [m]
    rows_in_set : int
        1 for single rows, 2 for double, 3 for triple.
    between_m : float
        Row to row inside a set. [m]

    Returns
    -------
    float
        [trees/ha]

    References
    ----------
    derived_here, trees.md section 5 (ext_spacing_table and uc_walnut_cost print the same figures)
    """
    period_m = (rows_in_set - 1) * between_m + alley_m
    return HA_M2 * rows_in_set / (in_row_m * period_m)


def trees_per_ha_triangle(spacing_m: float) -> float:
    """Trees on a hectare where each stands equally far from six others.

    Parameters
    ----------
    spacing_m : float
        Stem to stem. [m]

    Returns
    -------
    float
        2/√3 (1.155) times the square's. [trees/ha]

    References
    ----------
    derived_here, trees.md section 5
    """
    return HA_M2 / (spacing_m**2 * math.sqrt(3) / 2)


def alley_for_passes_m(passes: int, implement_m: float, clearance_m: float) -> float:
    """Width of an alley that an implement covers in whole passes.

    Parameters
    ----------
    passes : int
        How often it goes along the alley.
    implement_m, clearance_m : float
        Its working width, and what is left free on each side. [m]

    Returns
    -------
    float
        Outer stem to outer stem. [m]

    References
    ----------
    ours: a sum; trees.md section 5 gives it as common practice
    """
    return passes * implement_m + 2 * clearance_m


def passes_in(alley_m: float, implement_m: float, clearance_m: float) -> float:
    """How many times an implement's width goes into an alley; whole if nothing is missed or doubled.

    Parameters
    ----------
    alley_m, implement_m, clearance_m : float
        Outer stem to outer stem, working width, what is left free on each side. [m]

    Returns
    -------
    float
        0 or more. [1]

    References
    ----------
    ours: alley_for_passes_m solved for the passes
    """
    return max((alley_m - 2 * clearance_m) / implement_m, 0.0)
