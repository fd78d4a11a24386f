"""The inner loops of the light map: crowns splat their optical depth into tiles that stay in cache.

A tile is 48 rows by 96 columns of ground. For each direction every crown whose shadow may touch the
tile adds its depth, row by row, in chunks of 16 cells that the compiler turns into vector code; then
the tile's depths become light. Within a direction a ray is told by where it passes the height of the
crown's centre: along the sun and across it, in units of the shadow's half-axes, both linear in the
cell's place and height. The crown is met where their squares sum to less than 1.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from browseline.science.compiled import UNCOUNTED, njit

Doubles = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]
Ints = npt.NDArray[np.int64]

_HOW: Any = {
    "cache": True,
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract", "nnan", "ninf", "nsz"},
    **UNCOUNTED,
}
quick: Any = njit(**_HOW)
"""Compiled with fused multiply-add; no value here is ever infinite or undefined."""
within: Any = njit(forceinline=True, **_HOW)
"""The same, made part of its caller: a call would hand over each array of a tile piece by piece."""

ROWS, COLS, LANES = 48, 96, 16
STRIDE = COLS + LANES  # a chunk may run past the last column
FAR_COLS = 512.0  # the middle of a shadow farther off than this is told from here
F, U, WHOLE = np.float32, np.uint64, np.int32
ZERO, ONE = F(0), F(1)


class Stand(NamedTuple):
    """Crowns sorted into square bins, bin by bin.

    ``x_m, y_m, z_m`` centre from the grid's first cell and above sea level, ``radius_m, half_m``,
    ``per_m`` optical depth of a metre: arrays of shape (tree,). ``starts`` shape (bin + 1,);
    ``bounds`` shape (bin, 8): least and most x, y, z, then the widest radius and deepest half-depth.
    ``bins`` shape (6,): bin side [m], bins across, bins up, x and y of the first bin [m], unused.
    ``reach`` shape (4,): least and most z, widest radius, deepest half-depth. [m]
    """

    x_m: Doubles
    y_m: Doubles
    z_m: Doubles
    radius_m: Doubles
    half_m: Doubles
    per_m: Doubles
    starts: Ints
    bounds: Doubles
    bins: Doubles
    reach: Doubles


class Rays(NamedTuple):
    """Directions to the sky, arrays of shape (direction,).

    Sine and cosine of azimuth and of elevation, cotangent and cosecant of elevation, weight as a share
    of the open light, and the row of the terrain mask (-1: the land shades nothing in this direction).
    """

    sin_az: Doubles
    cos_az: Doubles
    sin_el: Doubles
    cos_el: Doubles
    cot_el: Doubles
    csc_el: Doubles
    weight: Doubles
    mask: Ints


class Tile(NamedTuple):
    """Ground of one tile, flat arrays of ROWS x STRIDE, and its plane.

    ``z`` above ``ref_m``, slopes east and north, depth, light and open light; ``top`` highest ground by
    row; ``starts, ends`` sides of a shadow by row; ``found`` crowns that may shade the tile. ``x_m, y_m``
    of the first cell; plane ``at + east x + north y`` within ``off_m``.
    """

    z: Floats
    east: Floats
    north: Floats
    depth: Floats
    light: Floats
    open: Floats
    top: Doubles
    starts: Any
    ends: Any
    found: Any
    rows: int
    cols: int
    cell_m: float
    x_m: float
    y_m: float
    ref_m: float
    low_m: float
    high_m: float
    plane_m: float
    plane_east: float
    plane_north: float
    off_m: float


@within
def _chunk(tile: Tile, at: Any, e0: Any, ex: Any, ez: Any, f0: Any, fx: Any, depth: Any) -> None:
    """Add a crown's depth to 16 cells that lie below all of it."""
    z, total = tile.z, tile.depth
    for lane in range(LANES):
        i = at + U(lane)
        e = e0 + ex * F(lane) + ez * z[i]
        f = f0 + fx * F(lane)
        total[i] += depth * math.sqrt(max(ONE - e * e - f * f, ZERO))


@within
def _chunk_beside(
    tile: Tile, at: Any, e0: Any, ex: Any, ez: Any, f0: Any, fx: Any, depth: Any, u0: Any, ux: Any, uz: Any
) -> None:
    """Add a crown's depth to 16 cells that may lie in it or above it: only what is ahead counts."""
    z, total = tile.z, tile.depth
    for lane in range(LANES):
        i = at + U(lane)
        e = e0 + ex * F(lane) + ez * z[i]
        f = f0 + fx * F(lane)
        half = math.sqrt(max(ONE - e * e - f * f, ZERO))
        middle = u0 + ux * F(lane) + uz * z[i]
        total[i] += depth * F(0.5) * (half + min(max(middle, -half), half))


@within
def _clip(value: float, low: int, high: int) -> int:
    """Return a whole number within bounds, whatever the value."""
    return math.floor(min(max(value, float(low)), float(high)))


@within
def _outline(tile: Tile, e: Any, f: Any) -> Any:
    """Return rows and sides of a shadow, in cells, from its forms (at 0, per column, row, metre up).

    On the tile's plane it is an ellipse, drawn wider by what the ground departs from the plane.
    """
    wide = 1.001 + e[3] * tile.off_m
    p0, px = e[0] + e[3] * tile.plane_m, e[1] + e[3] * tile.plane_east * tile.cell_m
    py, fx, fy = e[2] + e[3] * tile.plane_north * tile.cell_m, f[1], f[2]
    turn = px * fy - py * fx
    per_turn = 1 / math.copysign(max(abs(turn), 1e-9), turn)
    mid_col, mid_row = (f[0] * py - p0 * fy) * per_turn, (p0 * fx - f[0] * px) * per_turn
    xx = px * px + fx * fx
    reach, per_xx = wide * math.sqrt(xx) * abs(per_turn), 1 / xx
    first, last = _clip(mid_row - reach + 1, 0, tile.rows), _clip(mid_row + reach, -1, tile.rows - 1)
    thin = per_xx / per_turn
    far, near, lean = F(wide * wide * per_xx), F(thin * thin), F(-(px * py + fx * fy) * per_xx)
    return first, last, mid_col, mid_row, far, near, lean


@within
def _sides(
    tile: Tile, first: int, last: int, mid_row: Any, mid_col: Any, far: Any, near: Any, lean: Any
) -> None:
    """Write the first and last column of a shadow in each of its rows, 16 rows at a time."""
    starts, ends, edge = tile.starts, tile.ends, F(tile.cols - 1)
    for row0 in range(first, last + 1, LANES):
        for lane in range(LANES):
            i = U(row0) + U(lane)
            dy = F(row0) + F(lane) - mid_row
            side, middle = math.sqrt(max(far - near * dy * dy, ZERO)), mid_col + lean * dy
            starts[i] = WHOLE(min(max(middle - side, ZERO), edge + ONE) + F(0.999))
            ends[i] = WHOLE(min(max(middle + side, -ONE), edge) + ONE) - WHOLE(1)


@within
def _crown(tile: Tile, stand: Stand, n: int, rays: Rays, ray: int) -> None:
    """Add one crown's depth to the tile for one direction."""
    cot, cell, a, c = rays.cot_el[ray], tile.cell_m, stand.radius_m[n], stand.half_m[n]
    sin, cos = rays.sin_az[ray] * cell, rays.cos_az[ray] * cell
    x, y, dz = (stand.x_m[n] - tile.x_m) / cell, (stand.y_m[n] - tile.y_m) / cell, stand.z_m[n] - tile.ref_m
    along, across = 1 / math.sqrt(a * a + c * c * cot * cot), 1 / a
    half = a * c * along * rays.csc_el[ray]  # half the longest chord
    ahead, depth = sin * x + cos * y, F(2 * stand.per_m[n] * half)
    e = (along * (ahead - cot * dz), -along * sin, -along * cos, along * cot)
    f = (across * (cos * x - sin * y), -across * cos, across * sin)
    # How far ahead the middle of the chord lies, in half chords.
    flat, steep = half * rays.cos_el[ray] * across * across, half * rays.sin_el[ray] / (c * c)
    u = (flat * ahead + steep * dz, -flat * sin, -flat * cos, -steep)
    first, last, mid_col, mid_row, far, near, lean = _outline(tile, e, f)
    # From here float32, with places told from the shadow's middle so that nothing large is taken off.
    col0, row0 = min(max(mid_col, -FAR_COLS), FAR_COLS), min(max(mid_row, -FAR_COLS), FAR_COLS)
    e0, ex, ey, ez = F(e[0] + e[1] * col0 + e[2] * row0), F(e[1]), F(e[2]), F(e[3])
    f0, fx, fy = F(f[0] + f[1] * col0 + f[2] * row0), F(f[1]), F(f[2])
    u0, ux, uy, uz = F(u[0] + u[1] * col0 + u[2] * row0), F(u[1]), F(u[2]), F(u[3])
    col_, row_ = F(col0), F(row0)
    _sides(tile, first, last, F(mid_row), F(mid_col), far, near, lean)
    for row in range(first, last + 1):
        start, end = tile.starts[row], tile.ends[row]
        up, beside = F(row) - row_, dz - c < tile.top[row]
        while start <= end:
            at, to = U(row * STRIDE + start), F(start) - col_
            es, fs = e0 + ey * up + ex * to, f0 + fy * up + fx * to
            if beside:
                us = u0 + uy * up + ux * to
                _chunk_beside(tile, at, es, ex, ez, fs, fx, depth, us, ux, uz)
            else:
                _chunk(tile, at, es, ex, ez, fs, fx, depth)
            start += LANES


@within
def _extent(wide: float, deep: float, rays: Rays, ray: int) -> Any:
    """Return how far a shadow reaches east and north of its middle, on level ground."""
    sin, cos, cot = rays.sin_az[ray], rays.cos_az[ray], rays.cot_el[ray]
    along, across = wide * wide + deep * deep * cot * cot, wide * wide
    return math.sqrt(along * sin * sin + across * cos * cos), math.sqrt(
        along * cos * cos + across * sin * sin
    )


@within
def _touches(tile: Tile, low: Any, high: Any, deep: float, extent: Any, rays: Rays, ray: int) -> bool:
    """Whether crowns between two corners (x, y, z) may shade the tile."""
    sin, cos, cot = rays.sin_az[ray], rays.cos_az[ray], rays.cot_el[ray]
    if high[2] + deep < tile.low_m:
        return False
    least, most = cot * (low[2] - tile.high_m), cot * (high[2] - tile.low_m)
    to_x, to_y = tile.x_m + (tile.cols - 1) * tile.cell_m, tile.y_m + (tile.rows - 1) * tile.cell_m
    return bool(
        low[0] - max(least * sin, most * sin) - extent[0] <= to_x
        and high[0] - min(least * sin, most * sin) + extent[0] >= tile.x_m
        and low[1] - max(least * cos, most * cos) - extent[1] <= to_y
        and high[1] - min(least * cos, most * cos) + extent[1] >= tile.y_m
    )


@within
def crown_touches(tile: Tile, stand: Stand, n: int, rays: Rays, ray: int) -> bool:
    """Whether one crown may shade the tile.

    Parameters
    ----------
    tile : Tile
        Ground. [m]
    stand : Stand
        Crowns. [m]
    n : int
        Which of them. [1]
    rays : Rays
        shape (direction,). [1]
    ray : int
        Which of them. [1]

    Returns
    -------
    bool
        Never false where it does. [1]

    References
    ----------
    ours: box around the shadow, between the lowest and highest ground of the tile
    """
    spot = (stand.x_m[n], stand.y_m[n], stand.z_m[n])
    extent = _extent(stand.radius_m[n], stand.half_m[n], rays, ray)
    return bool(_touches(tile, spot, spot, stand.half_m[n], extent, rays, ray))


@within
def _bin(tile: Tile, stand: Stand, n: int, rays: Rays, ray: int, count: int) -> int:
    """List the crowns of one bin that may shade the tile; return how many are listed now."""
    b = stand.bounds[n]
    extent = _extent(b[6], b[7], rays, ray)
    if not _touches(tile, (b[0], b[2], b[4]), (b[1], b[3], b[5]), b[7], extent, rays, ray):
        return count
    # The shadow's middle, were it to fall on ground of the tile's middle height, and how far off it may be.
    by_x, by_y = rays.cot_el[ray] * rays.sin_az[ray], rays.cot_el[ray] * rays.cos_az[ray]
    mid_z, off_z = (tile.low_m + tile.high_m) / 2, (tile.high_m - tile.low_m) / 2
    half_x, half_y = (tile.cols - 1) * tile.cell_m / 2, (tile.rows - 1) * tile.cell_m / 2
    mid_x, mid_y = tile.x_m + half_x - mid_z * by_x, tile.y_m + half_y - mid_z * by_y
    off_x, off_y = half_x + off_z * abs(by_x) + extent[0], half_y + off_z * abs(by_y) + extent[1]
    x, y, z, found = stand.x_m, stand.y_m, stand.z_m, tile.found
    for i in range(stand.starts[n], stand.starts[n + 1]):
        found[count] = i
        near_x, near_y = abs(x[i] - z[i] * by_x - mid_x) <= off_x, abs(y[i] - z[i] * by_y - mid_y) <= off_y
        count += int(near_x) & int(near_y)
    return count


@within
def _span(first_m: float, last_m: float, lean: float, heights: Any, ext_m: float, bins: Any) -> Any:
    """Return the first and last bin, along one axis, from which a tile can be shaded."""
    side, count, origin = bins
    low = first_m + min(heights[0] * lean, heights[1] * lean) - ext_m - origin
    high = last_m + max(heights[0] * lean, heights[1] * lean) + ext_m - origin
    return _clip(low / side, 0, count), _clip(high / side, -1, count - 1)


@quick
def add_depth(tile: Tile, stand: Stand, rays: Rays, ray: int) -> int:
    """Add the depth of all crowns to the tile for one direction.

    Parameters
    ----------
    tile : Tile
        Ground and its sums, changed in place. [m]
    stand : Stand
        Crowns. [m]
    rays : Rays
        shape (direction,). [1]
    ray : int
        Which of them. [1]

    Returns
    -------
    int
        How many crowns may shade the tile: with none its depths stay 0. [1]

    References
    ----------
    ours: bins that may reach the tile, then their crowns
    """
    if stand.x_m.size == 0:
        return 0
    wide, deep, cot = stand.reach[2], stand.reach[3], rays.cot_el[ray]
    lower = max(stand.reach[0] - tile.high_m, -deep)
    heights = (lower * cot, max(stand.reach[1] - tile.low_m, lower) * cot)
    ext = math.sqrt(wide * wide + deep * deep * cot * cot)
    side, across, up, x0, y0 = stand.bins[0], stand.bins[1], stand.bins[2], stand.bins[3], stand.bins[4]
    to_x, to_y = tile.x_m + (tile.cols - 1) * tile.cell_m, tile.y_m + (tile.rows - 1) * tile.cell_m
    left, right = _span(tile.x_m, to_x, rays.sin_az[ray], heights, ext, (side, int(across), x0))
    bottom, top = _span(tile.y_m, to_y, rays.cos_az[ray], heights, ext, (side, int(up), y0))
    count = 0
    for row in range(bottom, top + 1):
        for col in range(left, right + 1):
            count = _bin(tile, stand, row * int(across) + col, rays, ray, count)
    for n in range(count):
        _crown(tile, stand, tile.found[n], rays, ray)
    return count
