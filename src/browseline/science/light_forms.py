"""Shade in closed form: one crown, trees at random, hedgerows, alleys; what the maps are held to."""

from __future__ import annotations

import math

import numpy as np

from browseline.science.light_tiles import Doubles


def shadow_area_m2(radius_m: float, half_depth_m: float, elevation_deg: float) -> float:
    """Ground that an upright ellipsoid shades on the level, whatever the sun's azimuth.

    Parameters
    ----------
    radius_m, half_depth_m : float
        Half-axes across and upright. [m]
    elevation_deg : float
        Of the sun, above 0. [deg]

    Returns
    -------
    float
        [m2]

    References
    ----------
    derived_here, trees.md section 3, 3
    """
    cot = 1 / math.tan(math.radians(elevation_deg))
    return math.pi * radius_m * math.hypot(radius_m, half_depth_m * cot)


def longest_chord_m(radius_m: float, half_depth_m: float, elevation_deg: float) -> float:
    """Longest way of a ray through an upright ellipsoid.

    Parameters
    ----------
    radius_m, half_depth_m : float
        Half-axes across and upright. [m]
    elevation_deg : float
        Of the ray. [deg]

    Returns
    -------
    float
        [m]

    References
    ----------
    derived_here, trees.md section 3, 4
    """
    up = math.radians(elevation_deg)
    return 2 / math.hypot(math.cos(up) / radius_m, math.sin(up) / half_depth_m)


def shadow_interception(depth: float) -> float:
    """Share of the light that an even ellipsoid takes, over the whole of its shadow.

    Parameters
    ----------
    depth : float
        Optical depth of the longest chord, 0 or more. [1]

    Returns
    -------
    float
        0 to 1. [1]

    References
    ----------
    derived_here, trees.md section 3, 6; its series below 0.01
    """
    if depth < 0.01:
        return 2 * depth / 3 - depth**2 / 4 + depth**3 / 15
    return 1 - 2 * (1 - (1 + depth) * math.exp(-depth)) / depth**2


def thin_interception_m2(radius_m: float, half_depth_m: float, elevation_deg: float, per_m: float) -> float:
    """Optical depth summed over the ground: what a crown takes if thin, and never less than it takes.

    Parameters
    ----------
    radius_m, half_depth_m : float
        Half-axes across and upright. [m]
    elevation_deg : float
        Of the sun, above 0. [deg]
    per_m : float
        Optical depth of a metre of crown. [1/m]

    Returns
    -------
    float
        [m2]

    References
    ----------
    derived_here, trees.md section 3, 7
    """
    return per_m * 4 / 3 * math.pi * radius_m**2 * half_depth_m / math.sin(math.radians(elevation_deg))


def light_at_random(trees_per_m2: float, taken_m2: float) -> float:
    """Direct light through trees that stand at random.

    Parameters
    ----------
    trees_per_m2 : float
        [1/m2]
    taken_m2 : float
        Shaded ground of one tree times the share taken. [m2]

    Returns
    -------
    float
        [1]

    References
    ----------
    derived_here, trees.md section 3, 8
    """
    return math.exp(-trees_per_m2 * taken_m2)


def light_apart(trees_per_m2: float, taken_m2: float) -> float:
    """Direct light through trees whose shadows do not meet.

    Parameters
    ----------
    trees_per_m2 : float
        [1/m2]
    taken_m2 : float
        Shaded ground of one tree times the share taken. [m2]

    Returns
    -------
    float
        [1]

    References
    ----------
    derived_here, trees.md section 3, 8
    """
    return 1 - trees_per_m2 * taken_m2


def hedgerow_share(
    height_m: float, width_m: float, spacing_m: float, turn_deg: Doubles, elevation_deg: Doubles
) -> Doubles:
    """Shaded share of the ground between endless opaque hedgerows.

    Parameters
    ----------
    height_m, width_m, spacing_m : float
        Of a hedgerow, and from one to the next. [m]
    turn_deg : array, any shape
        Sun's azimuth less the row's. [deg]
    elevation_deg : array, same shape
        Of the sun, above 0. [deg]

    Returns
    -------
    array, same shape
        0 to 1. [1]

    References
    ----------
    derived_here, trees.md section 3, 9
    """
    aside = np.abs(np.sin(np.radians(turn_deg))) / np.tan(np.radians(elevation_deg))
    return np.minimum(1.0, (width_m + height_m * aside) / spacing_m)


def thin_hedge_m2_m(height_m: float, width_m: float, elevation_deg: float, per_m: float) -> float:
    """What a thin porous hedge takes for each metre of row, whichever way it runs.

    Parameters
    ----------
    height_m, width_m : float
        Of the hedge. [m]
    elevation_deg : float
        Of the sun, above 0. [deg]
    per_m : float
        Optical depth of a metre. [1/m]

    Returns
    -------
    float
        [m2/m]

    References
    ----------
    derived_here, trees.md section 3, 9
    """
    return per_m * width_m * height_m / math.sin(math.radians(elevation_deg))


def alley_sky_mean(width_m: float, height_m: float) -> float:
    """Share of an even sky that the floor of an alley between opaque walls sees.

    Parameters
    ----------
    width_m, height_m : float
        Of the alley and its walls. [m]

    Returns
    -------
    float
        [1]

    References
    ----------
    derived_here, trees.md section 3, 10
    """
    return math.hypot(1, height_m / width_m) - height_m / width_m


def alley_sky_middle(width_m: float, height_m: float) -> float:
    """Share of an even sky that the middle of an alley between opaque walls sees.

    Parameters
    ----------
    width_m, height_m : float
        Of the alley and its walls. [m]

    Returns
    -------
    float
        [1]

    References
    ----------
    derived_here, trees.md section 3, 10
    """
    return width_m / 2 / math.hypot(width_m / 2, height_m)


def diffuse_through(leaf_area_index: float, across_ray: float) -> float:
    """Light of an even sky that a closed canopy lets through.

    Parameters
    ----------
    leaf_area_index : float
        Leaf area over ground area. [1]
    across_ray : float
        Share of leaf area that stands across a ray: 0.5 for leaves turned every way. [1]

    Returns
    -------
    float
        [1]

    References
    ----------
    derived_here, trees.md section 3, 10
    """
    from scipy.special import expn

    return float(2 * expn(3, across_ray * leaf_area_index))


def bare_share(shade_in_leaf: float, shade_leafless: float) -> float:
    """Depth of a leafless crown over that of the same crown in leaf, from the shade of both.

    Parameters
    ----------
    shade_in_leaf, shade_leafless : float
        Share of light taken along the same ray, above 0 and below 1. [1]

    Returns
    -------
    float
        [1]

    References
    ----------
    derived_here, trees.md 1.3: depth is -ln(1 - shade)
    """
    return math.log(1 - shade_leafless) / math.log(1 - shade_in_leaf)


def depth_per_m(leaf_m2_m3: Doubles, across_ray: float, in_leaf: Doubles, bare: Doubles) -> Doubles:
    """Optical depth of a metre of crown, in leaf, leafless, or between.

    Parameters
    ----------
    leaf_m2_m3 : array, shape (tree,)
        Leaf area density in full leaf. [m2/m3]
    across_ray : float
        Share of leaf area that stands across a ray. [1]
    in_leaf : array, shape (tree,)
        Share of the leaves that are out, 0 to 1. [1]
    bare : array, shape (tree,)
        Depth of the leafless crown over that in full leaf. [1]

    Returns
    -------
    array, shape (tree,)
        [1/m]

    References
    ----------
    ours: twigs stand in for the leaves that are out, so depth runs straight from leafless to full leaf
    """
    return leaf_m2_m3 * across_ray * (bare + (1 - bare) * in_leaf)
