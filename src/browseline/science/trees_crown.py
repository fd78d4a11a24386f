"""Crowns: width by stem, leaf area and its density, and how much of the ground they cover."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def crown_width(dbh: npt.ArrayLike, b0: float, b1: float, b2: float = 0.0) -> Array:
    """Crown width by stem in the units that the row is printed in: b0 + b1 D + b2 D^2.

    Parameters
    ----------
    dbh : array
        In the row's unit: in, cm or m.
    b0, b1, b2 : float
        Of the row.

    Returns
    -------
    array, shape of ``dbh``
        In the row's unit, ft or m; not below 0.

    References
    ----------
    krajicek1961, open-grown; bechtold2003 and bechtold2004, stand-grown; smith1992; paine_hann1982
    """
    d = np.asarray(dbh, dtype=np.float64)
    return np.asarray(np.maximum(b0 + b1 * d + b2 * d**2, 0.0), dtype=np.float64)


def small_tree_factor(dbh_in: npt.ArrayLike, factors: Sequence[float]) -> Array:
    """Share of the crown width at 5 in that a thinner stem carries in a stand, straight between.

    Parameters
    ----------
    dbh_in : array
        As printed. [in]
    factors : sequence of 4 float
        At 1, 2, 3 and 4 in. [1]

    Returns
    -------
    array, shape of ``dbh_in``
        1 from 5 in on; below 1 in straight to 0. [1]

    References
    ----------
    bragg2001, as restated by toney2009
    """
    return np.asarray(np.interp(np.asarray(dbh_in, dtype=np.float64), range(6), (0.0, *factors, 1.0)))


def footprint_m2(crown_diameter_m: npt.ArrayLike) -> Array:
    """Ground under one round crown.

    Parameters
    ----------
    crown_diameter_m : array
        [m]

    Returns
    -------
    array, same shape
        [m2]

    References
    ----------
    unit_definition, area of a circle
    """
    return np.asarray(np.pi / 4 * np.asarray(crown_diameter_m, dtype=np.float64) ** 2)


def leaf_density_m2_m3(crown_lai: npt.ArrayLike, half_depth_m: npt.ArrayLike) -> Array:
    """Leaf area in a cubic metre of an ellipsoid crown.

    Parameters
    ----------
    crown_lai : array
        Leaf area over the crown's footprint. [1]
    half_depth_m : array, broadcast
        Half of the crown's height, above 0. [m]

    Returns
    -------
    array
        [m2/m3]

    References
    ----------
    derived_here: trees.md 1.3, LAI over 4/3 of the half depth
    """
    lai, half = np.asarray(crown_lai, dtype=np.float64), np.asarray(half_depth_m, dtype=np.float64)
    return np.asarray(lai / (4 / 3 * half))


def park_leaf_area_m2(crown_height_m: float, crown_diameter_m: float, shade_frac: float) -> float:
    """Leaf area of an open park tree by its crown and the shade it casts.

    Parameters
    ----------
    crown_height_m, crown_diameter_m : float
        [m]
    shade_frac : float
        Share of the sky hidden by the crown in leaf. [1]

    Returns
    -------
    float
        [m2]

    References
    ----------
    nowak1996, regression as recalled
    """
    surface = np.pi * crown_diameter_m * (crown_height_m + crown_diameter_m) / 2
    log = -4.3309 + 0.2942 * crown_height_m + 0.7312 * crown_diameter_m + 5.7217 * shade_frac
    return float(np.exp(log - 0.0148 * surface))


def cover_at_random(crown_area_share: npt.ArrayLike) -> Array:
    """Share of the ground under crowns that stand at random.

    Parameters
    ----------
    crown_area_share : array
        Sum of the crowns' footprints over the ground; may pass 1. [1]

    Returns
    -------
    array, same shape
        0 to 1. [1]

    References
    ----------
    derived_here: trees.md section 2, 1 - exp(-sum)
    """
    return np.asarray(1 - np.exp(-np.asarray(crown_area_share, dtype=np.float64)))


def cover_of_rows(radius_m: npt.ArrayLike, in_row_m: float, alley_m: float) -> Array:
    """Share of the ground under round crowns on a rectangular grid: the union, counted once.

    Of all crowns over a line along the rows the nearest row's reach farthest, so the union is that of one
    row within half an alley on both sides.

    Parameters
    ----------
    radius_m : array
        [m]
    in_row_m, alley_m : float
        Between trunks in the row, and between rows. [m]

    Returns
    -------
    array, same shape
        0 to 1. [1]

    References
    ----------
    derived_here: integral over half an alley of min(in_row, chord)
    """
    r = np.asarray(radius_m, dtype=np.float64)
    half, across = in_row_m / 2, alley_m / 2
    touching = np.minimum(np.sqrt(np.maximum(r**2 - half**2, 0.0)), across)
    area = in_row_m * touching + _chords(r, np.minimum(r, across)) - _chords(r, touching)
    return np.asarray(2 * area / (in_row_m * alley_m))


def _chords(r: Array, y: Array) -> Array:
    """Return the area of a circle between its middle line and a distance y from it. [m2]"""
    share = np.divide(y, r, out=np.zeros_like(r), where=r > 0)
    return np.asarray(y * np.sqrt(np.maximum(r**2 - y**2, 0.0)) + r**2 * np.arcsin(np.clip(share, 0.0, 1.0)))


def cover_of_gappy_rows(
    radius_m: npt.ArrayLike, in_row_m: float, alley_m: float, standing_frac: npt.ArrayLike, cells: int = 64
) -> Array:
    """Share of the ground under round crowns on a rectangular grid of which some trees are missing.

    A spot that k crowns of the full grid reach is open only where all k are missing, each by chance.

    Parameters
    ----------
    radius_m : array
        [m]
    in_row_m, alley_m : float
        Between places in the row, and between rows. [m]
    standing_frac : array, broadcast with ``radius_m``
        Share of the places with a standing tree. [1]
    cells : int
        Spots along each side of a quarter of the unit cell.

    Returns
    -------
    array
        0 to 1. [1]

    References
    ----------
    derived_here: expected union over the unit cell, at the middles of its spots
    """
    radius, standing = np.broadcast_arrays(
        np.asarray(radius_m, dtype=np.float64), np.asarray(standing_frac, dtype=np.float64)
    )
    reach = float(radius.max(initial=0.0))
    middles = (np.arange(cells) + 0.5) / cells / 2
    x, y = middles * in_row_m, middles * alley_m
    steps_x, steps_y = (int(np.ceil(reach / step)) + 1 for step in (in_row_m, alley_m))
    far_x = np.abs(x[:, None] - in_row_m * np.arange(-steps_x, steps_x + 1))
    far_y = np.abs(y[:, None] - alley_m * np.arange(-steps_y, steps_y + 1))
    squares = (far_x**2)[:, None, :, None] + (far_y**2)[None, :, None, :]
    nearest = np.sort(squares.reshape(cells * cells, -1), axis=1)
    most = int((nearest < reach**2).sum(axis=1).max(initial=0))
    # Of a spot that k crowns reach the k-th nearest trunk is within their radius, the next is not.
    within = [np.searchsorted(np.sort(nearest[:, k]), radius**2, side="left") for k in range(most)]
    shares = [np.ones(radius.shape), *(count / cells**2 for count in within), np.zeros(radius.shape)]
    open_frac = sum((shares[k] - shares[k + 1]) * (1 - standing) ** k for k in range(most + 1))
    return np.asarray(1 - open_frac)


def first_below(years: npt.ArrayLike, share: npt.ArrayLike, level: float) -> float | None:
    """First year in which a share stands below a level, or None.

    Parameters
    ----------
    years : array, shape (year,)
        In order. [yr]
    share : array, shape (year,)
        [1]
    level : float
        [1]

    Returns
    -------
    float or None
        [yr]

    References
    ----------
    ours: a look through the years
    """
    below = np.flatnonzero(np.asarray(share, dtype=np.float64) < level)
    return float(np.asarray(years, dtype=np.float64)[below[0]]) if below.size else None


def first_passing(years: npt.ArrayLike, share: npt.ArrayLike, level: float) -> float | None:
    """Time at which a growing share passes a level, straight between years, or None.

    Parameters
    ----------
    years : array, shape (year,)
        In order. [yr]
    share : array, shape (year,)
        [1]
    level : float
        [1]

    Returns
    -------
    float or None
        None where it never passes; the first year where it starts above. [yr]

    References
    ----------
    ours: straight between years
    """
    at, value = np.asarray(years, dtype=np.float64), np.asarray(share, dtype=np.float64)
    over = np.flatnonzero(value >= level)
    if not over.size:
        return None
    last = int(over[0])
    if last == 0:
        return float(at[0])
    part = (level - value[last - 1]) / (value[last] - value[last - 1])
    return float(at[last - 1] + part * (at[last] - at[last - 1]))
