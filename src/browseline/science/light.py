"""Light on the ground under trees: crowns of ellipsoids, directions of sun and sky, a grid of cells.

A crown is an upright ellipsoid of even leaf density. Light of one direction that crosses a length L of
it is let through by exp(-k L). The light of a cell is the sum over directions of open light times what
all crowns let through. Trunks are left out. Rows of the grid go north, columns east, and the first cell
is the south-west one; places are those of cell centres.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, NamedTuple

import numpy as np

from browseline.science import light_tiles as tiles
from browseline.science.light_fade import add_light, add_open, hide, remember
from browseline.science.light_ground import empty_tile, land_lit, read_tile, steepest
from browseline.science.light_scene import Crowns, Directions, Grid, level_grid, rays_of, stand_of
from browseline.science.light_tiles import (
    COLS,
    ROWS,
    STRIDE,
    Bytes,
    Doubles,
    Floats,
    Ints,
    Rays,
    Stand,
    quick,
)

__all__ = ["Crowns", "Directions", "Grid", "Light", "depth_map", "level_grid", "light_map", "mean_by_area"]


class Light(NamedTuple):
    """Light of each cell, arrays of shape (row, col), float32.

    ``light_frac`` what the trees leave of the cell's own open light, 0 to 1 [1]; ``open_frac`` the
    cell's open light for an area of the map, over that of level ground without a horizon, which tilts
    and the land's own shade change [1]. Their product is light over that of level open ground.
    """

    light_frac: Floats
    open_frac: Floats


@quick
def _light_band(
    stand: Stand, rays: Rays, masks: Any, ground: Any, cell_m: float, row: int, arrays: Any, before: Any,
    out: Any, sky: Any,
) -> None:  # fmt: skip
    """Fill the light of a band of tiles."""
    for col in range(0, ground.shape[1], COLS):
        tile = read_tile(arrays, ground, cell_m, row, col)
        for ray in range(rays.weight.size):
            crowns = tiles.add_depth(tile, stand, rays, ray)
            mask = rays.mask[ray]
            if mask >= 0:
                remember(tile, before)
            if crowns > 0:
                add_light(tile, rays, ray)
            else:
                add_open(tile, rays, ray)
            if mask >= 0:
                hide(tile, masks[mask], row, col, before)
        _write_light(tile, out, sky, row, col)


@quick
def _write_light(tile: Any, out: Any, sky: Any, first_row: int, first_col: int) -> None:
    """Write a tile's light, as a share of its own open light, to the map."""
    for row in range(tile.rows):
        for col in range(tile.cols):
            i, r, c = row * STRIDE + col, first_row + row, first_col + col
            sky[r, c] = tile.open[i]
            out[r, c] = min(tile.light[i] / tile.open[i], tiles.ONE) if tile.open[i] > 0 else tiles.ONE


@quick
def _depth_band(
    stand: Stand, rays: Rays, ground: Any, cell_m: float, row: int, arrays: Any, out: Any
) -> None:
    """Fill the optical depth of a band of tiles for the first direction."""
    for col in range(0, ground.shape[1], COLS):
        tile = read_tile(arrays, ground, cell_m, row, col)
        tiles.add_depth(tile, stand, rays, 0)
        for i in range(tile.rows):
            for j in range(tile.cols):
                out[row + i, col + j] = tile.depth[i * STRIDE + j]


def in_bands(rows: int, work: Callable[[int], None], workers: int | None) -> None:
    """Do the work of every band of tiles, on as many cores as the process may use.

    Threads of Python's own call code that lets go of the interpreter, so that any number of maps may be
    made at once, in one process or several.

    Parameters
    ----------
    rows : int
        Rows of the grid. [1]
    work : callable
        Takes the first row of a band.
    workers : int, optional
        How many threads; all cores that the process may use where not told. [1]

    References
    ----------
    ours: no rule
    """
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    threads = min(workers or cores, -(-rows // ROWS))
    bands = range(0, rows, ROWS)
    if threads <= 1:
        for row in bands:
            work(row)
        return
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(work, bands))


def land_masks(directions: Directions, grid: Grid, workers: int | None = None) -> tuple[Ints, Bytes]:
    """What the land shades, for the directions that are lower than its steepest slope.

    Parameters
    ----------
    directions : Directions
        shape (direction,). [deg]
    grid : Grid
        The ground. [m]
    workers : int, optional
        Threads. [1]

    Returns
    -------
    tuple of array
        Row of the mask for each direction, -1 for none, shape (direction,); masks, 1 where lit, shape
        (mask, row, col). [1]

    References
    ----------
    ours: as ``land_lit``
    """
    slope = steepest(grid.ground_m, grid.cell_m)
    low = (np.tan(np.radians(90 - directions.zenith_deg)) < slope) & (directions.weight > 0)
    rows = np.where(low, np.cumsum(low) - 1, -1)
    masks = np.ones((int(low.sum()), *grid.ground_m.shape), np.uint8)
    which = np.flatnonzero(low)

    def work(n: int) -> None:
        azimuth, zenith = directions.azimuth_deg[which[n // ROWS]], directions.zenith_deg[which[n // ROWS]]
        masks[n // ROWS] = land_lit(grid.ground_m, grid.cell_m, float(azimuth), float(90 - zenith))

    in_bands(which.size * ROWS, work, workers)
    return rows, masks


def light_map(crowns: Crowns, grid: Grid, directions: Directions, workers: int | None = None) -> Light:
    """Light that reaches each cell through the crowns.

    Parameters
    ----------
    crowns : Crowns
        shape (tree,) each; they may stand beyond the grid. [m]
    grid : Grid
        Cells and their ground. [m]
    directions : Directions
        Sun and sky with their light on level open ground. [deg]
    workers : int, optional
        Threads; all cores that the process may use where not told. [1]

    Returns
    -------
    Light
        shape (row, col). A cell that no direction reaches counts as fully open to its 0 of light. [1]

    References
    ----------
    derived_here, trees.md section 3, 4 and 5 (Beer-Lambert along the chord of an ellipsoid)
    """
    ground = np.ascontiguousarray(grid.ground_m, np.float32)
    out, sky = np.empty_like(ground), np.empty_like(ground)
    rows, masks = land_masks(directions, grid, workers)
    stand, rays = stand_of(crowns, grid), rays_of(directions, rows)

    def work(row: int) -> None:
        before = np.zeros((2, ROWS * STRIDE), np.float32)
        _light_band(
            stand, rays, masks, ground, grid.cell_m, row, empty_tile(stand.x_m.size), before, out, sky
        )

    in_bands(ground.shape[0], work, workers)
    return Light(out, sky)


def depth_map(
    crowns: Crowns, grid: Grid, azimuth_deg: float, zenith_deg: float, workers: int | None = None
) -> Floats:
    """Optical depth of the crowns between each cell and one place of the sky.

    Parameters
    ----------
    crowns : Crowns
        shape (tree,) each. [m]
    grid : Grid
        Cells and their ground. [m]
    azimuth_deg, zenith_deg : float
        Where the light comes from. [deg]
    workers : int, optional
        Threads. [1]

    Returns
    -------
    array, shape (row, col), float32
        0 outside every shadow. [1]

    References
    ----------
    derived_here, trees.md section 3, 4
    """
    ground = np.ascontiguousarray(grid.ground_m, np.float32)
    out = np.empty_like(ground)
    one = Directions(np.array([azimuth_deg]), np.array([zenith_deg]), np.ones(1))
    stand, rays = stand_of(crowns, grid), rays_of(one)

    def work(row: int) -> None:
        _depth_band(stand, rays, ground, grid.cell_m, row, empty_tile(stand.x_m.size), out)

    in_bands(ground.shape[0], work, workers)
    return out


def mean_by_area(values: Floats, area_of_cell: Ints, areas: int) -> Doubles:
    """Mean of a map over each paddock.

    Parameters
    ----------
    values : array, shape (row, col)
        The map.
    area_of_cell : array of int, shape (row, col)
        Which paddock a cell belongs to, from 0; below 0 for none. [1]
    areas : int
        How many paddocks. [1]

    Returns
    -------
    array, shape (paddock,)
        Not a number for a paddock without a cell.

    References
    ----------
    ours: arithmetic mean
    """
    inside = area_of_cell >= 0
    where = area_of_cell[inside]
    cells = np.bincount(where, minlength=areas)
    total = np.bincount(where, weights=values[inside].astype(np.float64), minlength=areas)
    mean = np.full(areas, np.nan)
    np.divide(total, cells, out=mean, where=cells > 0)
    return mean
