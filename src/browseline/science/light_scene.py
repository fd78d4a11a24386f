"""What the light map is made from: crowns, a grid of cells, directions; and how the loops read them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from browseline.science.light_tiles import Doubles, Floats, Ints, Rays, Stand

CROWNS_A_BIN = 12
NO_CROWN_M = -1e9  # the top of an empty bin: below any ground


class Crowns(NamedTuple):
    """Crowns, arrays of shape (tree,).

    ``x_m, y_m`` of the trunk; ``ground_m`` of its foot; ``centre_m`` height of the crown's centre above
    the foot; ``radius_m`` across and ``half_depth_m`` upright half-axes; ``depth_per_m`` optical depth of
    a metre of crown, which is leaf area density times the share of leaves across the ray. [m, 1/m]
    """

    x_m: Doubles
    y_m: Doubles
    ground_m: Doubles
    centre_m: Doubles
    radius_m: Doubles
    half_depth_m: Doubles
    depth_per_m: Doubles


class Grid(NamedTuple):
    """Square cells: centre of the south-west cell, side, height of the ground (row, col). [m]"""

    x_m: float
    y_m: float
    cell_m: float
    ground_m: Floats


class Directions(NamedTuple):
    """Where light comes from, arrays of shape (direction,).

    ``azimuth_deg`` clockwise from north, ``zenith_deg`` from straight up, below 90; ``weight`` the light
    of the direction on level open ground, in any unit. [deg, deg, 1]
    """

    azimuth_deg: Doubles
    zenith_deg: Doubles
    weight: Doubles


def level_grid(x_m: float, y_m: float, cell_m: float, rows: int, cols: int) -> Grid:
    """Grid of level ground at height 0.

    Parameters
    ----------
    x_m, y_m : float
        Centre of the south-west cell. [m]
    cell_m : float
        Side of a cell. [m]
    rows, cols : int
        How many north and east. [1]

    Returns
    -------
    Grid
        [m]

    References
    ----------
    ours: definition
    """
    return Grid(x_m, y_m, cell_m, np.zeros((rows, cols), np.float32))


def rays_of(directions: Directions, mask: Ints | None = None) -> Rays:
    """Directions as the inner loops read them.

    Parameters
    ----------
    directions : Directions
        Those of weight 0 are left out. [deg]
    mask : array of int, shape (direction,), optional
        Row of the land's mask, -1 for none. [1]

    Returns
    -------
    Rays
        Weights as shares of their sum. [1]

    Raises
    ------
    ValueError
        If a direction is not above the horizon, or no weight is above 0.

    References
    ----------
    ours: definition
    """
    kept = directions.weight > 0
    if not kept.any() or (directions.weight < 0).any():
        raise ValueError("directions need weights of 0 or more, and one above 0")
    azimuth, zenith = np.radians(directions.azimuth_deg[kept]), np.radians(directions.zenith_deg[kept])
    if not ((zenith >= 0) & (np.cos(zenith) > 1e-3)).all():
        raise ValueError("a direction lies below the horizon or along it")
    weight = directions.weight[kept] / directions.weight.sum()
    rows = np.full(weight.size, -1) if mask is None else mask[kept]
    sin_el, cos_el = np.cos(zenith), np.sin(zenith)
    return Rays(np.sin(azimuth), np.cos(azimuth), sin_el, cos_el, cos_el / sin_el, 1 / sin_el, weight, rows)


def stand_of(crowns: Crowns, grid: Grid) -> Stand:
    """Crowns sorted into bins, in metres from the first cell; those without leaf are left out.

    Parameters
    ----------
    crowns : Crowns
        shape (tree,) each. [m]
    grid : Grid
        The ground they shade. [m]

    Returns
    -------
    Stand
        [m]

    Raises
    ------
    ValueError
        If a place, size or density is not a number, or one of these is below 0.

    References
    ----------
    ours: bins of about 12 crowns
    """
    given = [np.asarray(values, np.float64) for values in crowns]
    if not all(np.isfinite(values).all() for values in given) or any((v < 0).any() for v in given[4:]):
        raise ValueError("crowns need places, sizes and densities that are numbers, sizes not below 0")
    kept = (given[4] > 0) & (given[5] > 0) & (given[6] > 0)
    x, y, foot, centre, radius, half, per = (values[kept] for values in given)
    x, y, z = x - grid.x_m, y - grid.y_m, foot + centre
    if x.size == 0:
        none = np.zeros(0)
        return Stand(none, none, none, none, none, none, np.zeros(1, np.int64), np.zeros((0, 8)),
                     np.ones(6), np.zeros(4))  # fmt: skip
    wide, high = max(float(np.ptp(x)), 1.0), max(float(np.ptp(y)), 1.0)
    side = max(np.sqrt(wide * high * CROWNS_A_BIN / x.size), max(wide, high) / 1000)
    across, up = int(wide // side) + 1, int(high // side) + 1
    where = ((y - y.min()) // side).astype(np.int64) * across + ((x - x.min()) // side).astype(np.int64)
    order = np.argsort(where, kind="stable")
    starts = np.searchsorted(where[order], np.arange(across * up + 1))
    x, y, z, radius, half, per = (values[order] for values in (x, y, z, radius, half, per))
    bins = np.array([side, across, up, x.min(), y.min(), 0.0])
    reach = np.array([z.min(), z.max(), radius.max(), half.max()])
    return Stand(x, y, z, radius, half, per, starts, _bounds(x, y, z, radius, half, starts), bins, reach)


def _bounds(x: Doubles, y: Doubles, z: Doubles, radius: Doubles, half: Doubles, starts: Ints) -> Doubles:
    """Return least and most x, y, z, widest and deepest of each bin, shape (bin, 8)."""
    bounds = np.zeros((starts.size - 1, 8))
    bounds[:, 5] = NO_CROWN_M
    full = np.flatnonzero(np.diff(starts))
    at = starts[:-1][full]
    for column, values in ((0, x), (2, y), (4, z)):
        bounds[full, column] = np.minimum.reduceat(values, at)
        bounds[full, column + 1] = np.maximum.reduceat(values, at)
    for column, values in ((6, radius), (7, half)):
        bounds[full, column] = np.maximum.reduceat(values, at)
    return bounds
