"""Ground under the light map: tiles with their plane, slopes, and what the land itself shades."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from browseline.science.light_tiles import COLS, LANES, ROWS, STRIDE, Bytes, Floats, Tile, quick

NO_LAND_M = -1e9  # lower than any ground, beyond the grid
SAME_M = 1e-3  # ground this little below the shadow line is lit still


def empty_tile(trees: int) -> tuple[Any, ...]:
    """Ten arrays that tiles are read into, one after the other.

    Parameters
    ----------
    trees : int
        Most crowns that may shade a tile: all there are. [1]

    Returns
    -------
    tuple of array
        Height, slope east and north, depth, light, open light, shape (ROWS x STRIDE,); highest ground
        of a row, shape (ROWS,); sides of a shadow, shape (ROWS + LANES,) twice; crowns, shape (trees + 1,).
        [m, 1]

    References
    ----------
    ours: no rule
    """
    cells = (np.zeros(ROWS * STRIDE, np.float32) for _ in range(6))
    sides = (np.zeros(ROWS + LANES, np.int32) for _ in range(2))
    return (*cells, np.zeros(ROWS), *sides, np.zeros(trees + 1, np.int64))


@quick
def _slope(ground: Any, row: int, col: int, down: int, right: int, cell_m: float) -> float:
    """Return the rise by central differences, one-sided at the edge."""
    to_row, to_col = min(row + down, ground.shape[0] - 1), min(col + right, ground.shape[1] - 1)
    of_row, of_col = max(row - down, 0), max(col - right, 0)
    steps = to_row - of_row + to_col - of_col
    return float((ground[to_row, to_col] - ground[of_row, of_col]) / (max(steps, 1) * cell_m))


@quick
def _read_cells(arrays: Any, ground: Any, cell_m: float, first_row: int, first_col: int, ref_m: float) -> Any:
    """Fill heights and slopes; return cells, mean height and mean slopes."""
    z, east, north = arrays[0], arrays[1], arrays[2]
    rows, cols = min(ROWS, ground.shape[0] - first_row), min(COLS, ground.shape[1] - first_col)
    height, lean_east, lean_north = 0.0, 0.0, 0.0
    for row in range(rows):
        for col in range(cols):
            i, r, c = row * STRIDE + col, first_row + row, first_col + col
            above = ground[r, c] - ref_m
            to_east, to_north = _slope(ground, r, c, 0, 1, cell_m), _slope(ground, r, c, 1, 0, cell_m)
            z[i], east[i], north[i] = above, to_east, to_north
            height, lean_east, lean_north = height + above, lean_east + to_east, lean_north + to_north
    cells = rows * cols
    return rows, cols, height / cells, lean_east / cells, lean_north / cells


@quick
def read_tile(arrays: Any, ground: Any, cell_m: float, first_row: int, first_col: int) -> Tile:
    """Ground of the tile whose first cell stands at a row and column.

    Parameters
    ----------
    arrays : tuple of array
        As ``empty_tile`` gives them; what they held is lost. [m, 1]
    ground : array, shape (row, col)
        Height. [m]
    cell_m : float
        Side of a cell. [m]
    first_row, first_col : int
        Of the tile in the ground. [1]

    Returns
    -------
    Tile
        Its sums are 0. [m]

    References
    ----------
    ours: plane of the mean height and mean slopes, and how far the ground leaves it
    """
    z, east, north, depth, light, sky, top, starts, ends, found = arrays
    depth[:], light[:], sky[:] = 0, 0, 0
    ref = float(ground[first_row, first_col])
    rows, cols, height, slope_e, slope_n = _read_cells(arrays, ground, cell_m, first_row, first_col, ref)
    plane = height - slope_e * (cols - 1) * cell_m / 2 - slope_n * (rows - 1) * cell_m / 2
    off, low, high = 0.0, 0.0, 0.0
    for row in range(rows):
        top[row] = z[row * STRIDE]
        for col in range(cols):
            above = float(z[row * STRIDE + col])
            off = max(off, abs(above - plane - slope_e * col * cell_m - slope_n * row * cell_m))
            top[row], low, high = max(top[row], above), min(low, above), max(high, above)
    return Tile(
        z, east, north, depth, light, sky, top, starts, ends, found, rows, cols, cell_m,
        first_col * cell_m, first_row * cell_m, ref, ref + low, ref + high, plane, slope_e, slope_n, off,
    )  # fmt: skip


def steepest(ground_m: Floats, cell_m: float) -> float:
    """Steepest slope between neighbouring cells: no land shades land when the sun stands above it.

    Parameters
    ----------
    ground_m : array, shape (row, col)
        Height of the ground. [m]
    cell_m : float
        Side of a cell. [m]

    Returns
    -------
    float
        Tangent, 0 on level ground. [1]

    References
    ----------
    ours: bound on the rise of a surface linear between its cells
    """
    rises = [float(np.abs(np.diff(ground_m, axis=axis)).max(initial=0.0)) for axis in (0, 1)]
    return math.hypot(*rises) / cell_m


@quick
def _sweep(ground: Any, step: int, lean: float, drop_m: float, line: Any, ahead: Any, lit: Any) -> None:
    """Carry the shadow line row by row away from the sun. ``lean``: columns aside for a row."""
    rows, cols = ground.shape
    whole = math.floor(lean)
    part = lean - whole
    for n in range(rows):
        row = rows - 1 - n if step > 0 else n
        for col in range(cols):
            left, right = col + whole, col + whole + 1
            one = ahead[left] if 0 <= left < cols else NO_LAND_M
            two = ahead[right] if 0 <= right < cols else NO_LAND_M
            line[col] = (1 - part) * one + part * two - drop_m
        for col in range(cols):
            height = float(ground[row, col])
            lit[row, col] = height >= line[col] - SAME_M
            ahead[col] = max(height, line[col])


def land_lit(ground_m: Floats, cell_m: float, azimuth_deg: float, elevation_deg: float) -> Bytes:
    """Whether each cell sees the sun past the land of the grid.

    Parameters
    ----------
    ground_m : array, shape (row, col)
        Height of the ground; rows go north, columns east. [m]
    cell_m : float
        Side of a cell. [m]
    azimuth_deg, elevation_deg : float
        Where the sun stands, clockwise from north, above 0 and up to 90. [deg]

    Returns
    -------
    array, shape (row, col)
        1 lit, 0 in the shade of the land. [1]

    References
    ----------
    ours: the line of the shadow is carried away from the sun, the higher of line and ground each row
    """
    sin, cos = math.sin(math.radians(azimuth_deg)), math.cos(math.radians(azimuth_deg))
    turned = abs(sin) > abs(cos)
    main, side = (sin, cos) if turned else (cos, sin)
    ground = np.ascontiguousarray(ground_m.T if turned else ground_m, dtype=np.float32)
    lit, line = np.ones(ground.shape, np.uint8), np.full(ground.shape[1], NO_LAND_M)
    drop_m = math.tan(math.radians(elevation_deg)) * cell_m / abs(main)
    _sweep(ground, 1 if main > 0 else -1, side / abs(main), drop_m, line, line.copy(), lit)
    return np.ascontiguousarray(lit.T) if turned else lit
