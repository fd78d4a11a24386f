"""The ground's height on the plane of the farm, from an elevation grid."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from browseline.layout.plane import Plane

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

MOST_CELLS = 4_000_000
SMOOTH_M = 6.0
"""Standard deviation of the smoothing: rows follow the lie of the land, not a rut."""


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """Heights on a square grid of the plane, smoothed, with the fall to east and to north.

    ``west_m`` and ``south_m`` are the middle of the first cell; rows of the arrays run north. NaN is
    "not known". [m]
    """

    west_m: float
    south_m: float
    cell_m: float
    height_m: Floats
    rise_east: Floats
    rise_north: Floats

    def heights(self, east_m: Floats, north_m: Floats) -> Floats:
        """Return the height of the ground at some places, NaN off the grid. [m]"""
        return _at(self, self.height_m, east_m, north_m)

    def rises(self, east_m: Floats, north_m: Floats) -> tuple[Floats, Floats]:
        """Return how much the ground rises to the east and to the north. [m/m]"""
        return _at(self, self.rise_east, east_m, north_m), _at(self, self.rise_north, east_m, north_m)


def _at(ground: Ground, values: Floats, east_m: Floats, north_m: Floats) -> Floats:
    from scipy.ndimage import map_coordinates

    row = (np.asarray(north_m, dtype=float) - ground.south_m) / ground.cell_m
    column = (np.asarray(east_m, dtype=float) - ground.west_m) / ground.cell_m
    found = map_coordinates(values, np.stack([row, column]), order=1, mode="constant", cval=np.nan)
    return np.asarray(found, dtype=float)


def ground_of(height_m: Floats, west_m: float, south_m: float, cell_m: float) -> Ground:
    """Return heights on the plane's own grid as ground, smoothed. [m]"""
    smooth = _smoothed(np.asarray(height_m, dtype=float), SMOOTH_M / cell_m)
    rise_north, rise_east = np.gradient(smooth, cell_m)
    return Ground(west_m, south_m, cell_m, smooth, np.asarray(rise_east), np.asarray(rise_north))


def _smoothed(height_m: Floats, sigma: float) -> Floats:
    """Return heights smoothed by a normal window; holes stay holes and weigh nothing. [m]"""
    from scipy.ndimage import gaussian_filter

    known = np.isfinite(height_m)
    middle = float(height_m[known].mean()) if known.any() else 0.0
    filled = np.where(known, height_m - middle, 0.0)
    weight = np.asarray(gaussian_filter(known.astype(float), sigma, mode="mirror"))
    smooth = np.asarray(gaussian_filter(filled, sigma, mode="mirror")) / np.maximum(weight, 1e-9) + middle
    return np.where(known, smooth, np.nan)


def read_ground(path: Path, plane: Plane, box_m: tuple[float, float, float, float]) -> Ground:
    """Return the ground inside a box of the plane from a GeoTIFF of any reference system.

    Parameters
    ----------
    path : Path
        One band of elevations in metres, found sound by ``farm.terrain.check_terrain``.
    plane : Plane
    box_m : tuple of float
        West, south, east, north. [m]
    """
    import rasterio
    from pyproj import Transformer

    west, south, east, north = box_m
    with rasterio.open(path, driver="GTiff") as grid:
        turn = Transformer.from_crs("EPSG:4326", grid.crs, always_xy=True)
        cell_m = _cell_m(grid, turn, plane, box_m)
        columns = np.arange(west, east + cell_m, cell_m)
        rows = np.arange(south, north + cell_m, cell_m)
        e, n = np.meshgrid(columns, rows)
        x, y = turn.transform(*plane.world(e.ravel(), n.ravel()))
        height = _read(grid, np.asarray(x), np.asarray(y)).reshape(e.shape)
    return ground_of(height, west, south, cell_m)


def _cell_m(grid: Any, turn: Any, plane: Plane, box_m: tuple[float, float, float, float]) -> float:
    """Return the side of the grid's own cells on the plane, or wider where there would be too many. [m]"""
    west, south, east, north = box_m
    middle = np.array([(west + east) / 2]), np.array([(south + north) / 2])
    x, y = (float(part[0]) for part in turn.transform(*plane.world(*middle)))
    column, row = _through(~grid.transform, x, y)
    spots = [_through(grid.transform, column + dc, row + dr) for dc, dr in ((0, 0), (1, 0), (0, 1))]
    back = [turn.transform(*spot, direction="INVERSE") for spot in spots]
    at = np.column_stack(plane.flat([lon for lon, _ in back], [lat for _, lat in back]))
    own = min(math.dist(at[0], at[1]), math.dist(at[0], at[2]))
    return max(own, math.sqrt((east - west) * (north - south) / MOST_CELLS), 0.5)


def _through(matrix: Any, x: Any, y: Any) -> tuple[Any, Any]:
    """Return places carried through an affine map."""
    a, b, c, d, e, f = tuple(matrix)[:6]
    return a * x + b * y + c, d * x + e * y + f


def _read(grid: Any, x: Floats, y: Floats) -> Floats:
    """Return the heights of a raster at places of its own system, linear between cells. [m]"""
    from rasterio.windows import Window
    from scipy.ndimage import map_coordinates

    column, row = _through(~grid.transform, x, y)
    left, top = max(int(column.min()) - 2, 0), max(int(row.min()) - 2, 0)
    right = min(int(column.max()) + 3, grid.width)
    bottom = min(int(row.max()) + 3, grid.height)
    if right <= left or bottom <= top:
        return np.full(len(x), np.nan)
    band = grid.read(1, window=Window(left, top, right - left, bottom - top), masked=True)
    values = np.ma.filled(band.astype(float), np.nan)
    spots = np.stack([row - top - 0.5, column - left - 0.5])
    found = map_coordinates(values, spots, order=1, mode="constant", cval=np.nan)
    return np.asarray(found, dtype=float)
