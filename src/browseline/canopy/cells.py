"""The ground that light falls on: square cells of the farm's plane, and which paddock each belongs to."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from browseline.farm.records import Farm
from browseline.layout.plane import geometry, plane_of
from browseline.layout.terrain import Ground
from browseline.science.light_scene import Grid

if TYPE_CHECKING:
    from browseline.layout.form import Layout

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
FINE_M = 1.0
MOST_CELLS = 250_000
ROUND_M = 5.0


@dataclass(frozen=True, eq=False)
class Cells:
    """Square cells of the plane; rows go north, columns east.

    Attributes
    ----------
    grid : Grid
        Places and height of the ground, 0 where it is not known. [m]
    paddocks : tuple of str
        Those that are on the map.
    paddock_of : array of int, shape (row, col)
        Which of ``paddocks`` a cell belongs to, -1 for none.
    outlines : dict
        Paddock to its shapely outline on the plane. [m]
    sloped : bool
        Whether the ground's height is known.
    """

    grid: Grid
    paddocks: tuple[str, ...]
    paddock_of: Ints
    outlines: dict[str, Any]
    sloped: bool

    @property
    def east_m(self) -> Array:
        """Return the middle of every column. [m]"""
        return self.grid.x_m + self.grid.cell_m * np.arange(self.paddock_of.shape[1], dtype=np.float64)

    @property
    def north_m(self) -> Array:
        """Return the middle of every row. [m]"""
        return self.grid.y_m + self.grid.cell_m * np.arange(self.paddock_of.shape[0], dtype=np.float64)


def cells_of(
    farm: Farm, ground: Ground | None = None, cell_m: float | None = None, most: int = MOST_CELLS
) -> Cells | None:
    """Return the cells of a farm's paddocks, parts as their whole; None where no paddock is on the map.

    Parameters
    ----------
    farm : Farm
        With its map.
    ground : Ground, optional
        Heights on the plane of that map; without it the land is level.
    cell_m : float, optional
        Side of a cell. By default a metre, or what keeps the number of cells in bounds. [m]
    most : int
        Most cells that a side not given is chosen for. [1]
    """
    import shapely

    plane = plane_of(farm.shapes)
    drawn = {shape.id: shape for shape in farm.shapes if shape.kind == "paddock"}
    outlines: dict[str, Any] = {}
    for p in farm.paddocks:
        own, whole = p.shape or p.id, next((one for one in p.parents if one in drawn), None)
        ident, shape = (p.id, own) if own in drawn else (whole, whole)
        if ident is not None and shape is not None:
            outlines.setdefault(ident, geometry(drawn[shape], plane))
    if not outlines:
        return None
    west, south, east, north = (float(x) for x in shapely.total_bounds([*outlines.values()]))
    west, south, east, north = west - ROUND_M, south - ROUND_M, east + ROUND_M, north + ROUND_M
    side = cell_m or max(FINE_M, math.sqrt((east - west) * (north - south) / most))
    cols, rows = math.ceil((east - west) / side), math.ceil((north - south) / side)
    # The cells lie about the middle, so that a mirrored farm has mirrored cells.
    x0 = (west + east) / 2 - side * (cols - 1) / 2
    y0 = (south + north) / 2 - side * (rows - 1) / 2
    height, known = _heights(ground, x0, y0, side, rows, cols)
    grid = Grid(x0, y0, side, height)
    return Cells(grid, tuple(outlines), _paddock_of(grid, outlines), outlines, known)


def _heights(
    ground: Ground | None, x0: float, y0: float, side: float, rows: int, cols: int
) -> tuple[npt.NDArray[np.float32], bool]:
    """Return the height of every cell; where the grid has a hole, its mean. [m]"""
    if ground is None:
        return np.zeros((rows, cols), np.float32), False
    east, north = np.meshgrid(x0 + side * np.arange(cols), y0 + side * np.arange(rows))
    height = ground.heights(east.ravel(), north.ravel()).reshape(rows, cols)
    if not np.isfinite(height).any():
        return np.zeros((rows, cols), np.float32), False
    return np.where(np.isfinite(height), height, np.nanmean(height)).astype(np.float32), True


def _paddock_of(grid: Grid, outlines: dict[str, Any]) -> Ints:
    """Return which outline the middle of each cell lies in."""
    import shapely

    of = np.full(grid.ground_m.shape, -1, dtype=np.int64)
    rows, cols = grid.ground_m.shape[0], grid.ground_m.shape[1]
    for number, outline in enumerate(outlines.values()):
        west, south, east, north = outline.bounds
        first_col, last_col = (math.floor((x - grid.x_m) / grid.cell_m) for x in (west, east))
        first_row, last_row = (math.floor((y - grid.y_m) / grid.cell_m) for y in (south, north))
        r = np.arange(max(first_row, 0), min(last_row + 2, rows))
        c = np.arange(max(first_col, 0), min(last_col + 2, cols))
        x, y = np.meshgrid(grid.x_m + grid.cell_m * c, grid.y_m + grid.cell_m * r)
        shapely.prepare(outline)
        part = of[r[0] : r[-1] + 1, c[0] : c[-1] + 1]
        part[shapely.contains_xy(outline, x, y)] = number
    return of


def strip_of(cells: Cells, layout: Layout, edges_m: tuple[float, ...], paddock: str) -> Ints:
    """Return in which strip from the nearest row each cell of a paddock lies, shape (row, col).

    Parameters
    ----------
    cells : Cells
    layout : Layout
        Its rows, on the same plane.
    edges_m : tuple of float
        Where one strip ends and the next begins, rising; the last has no far end. [m]
    paddock : str
        Cells of other paddocks are -1, as all are where it has no row.
    """
    import shapely

    out = np.full(cells.paddock_of.shape, -1, dtype=np.int64)
    lines = [shapely.LineString(line) for row in layout.rows if row.paddock == paddock
             for line in row.lines if len(line) > 1]  # fmt: skip
    if not lines or paddock not in cells.paddocks:
        return out
    r, c = np.nonzero(cells.paddock_of == cells.paddocks.index(paddock))
    far = shapely.distance(shapely.points(cells.east_m[c], cells.north_m[r]), shapely.MultiLineString(lines))
    out[r, c] = np.searchsorted(np.asarray(edges_m), far, side="right")
    return out
