"""A line that keeps its height through a place, and parallels to a line."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from browseline.layout.room import QUARTER
from browseline.layout.terrain import Ground

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

STEP_M = 2.0
MOST_STEPS, LONGEST = 600, 3
BEYOND = 0.5
FLAT = 0.002
CLOSES_AFTER = 5


def trace(part: Any, ground: Ground, start: tuple[float, float]) -> Any:
    """Return the contour through a place, uphill on its left, past the edges of a part; None if flat.

    Each step goes along the contour by the slope half-way (Runge–Kutta of the second order) and is set
    back to the starting height along the slope. Past the part, and off the grid, the line goes straight on.
    """
    import shapely

    west, south, east, north = part.bounds
    far_m = math.hypot(east - west, north - south) + 1
    step_m = max(STEP_M, far_m / MOST_STEPS)
    edge_m = BEYOND * far_m
    frame = (west - edge_m, south - edge_m, east + edge_m, north + edge_m)
    height = _one(ground, ground.height_m, *start)
    forth = _walk(ground, start, height, step_m, frame)
    if len(forth) > 2 and forth[-1] == start:
        return shapely.LineString(forth)  # round a top or a hollow
    back = _walk(ground, start, height, -step_m, frame)
    if len(forth) < 2 or len(back) < 2:
        return None
    line = [_onward(back, far_m), *reversed(back[1:]), *forth, _onward(forth, far_m)]
    return shapely.LineString(line)


def _onward(walked: list[tuple[float, float]], far_m: float) -> tuple[float, float]:
    """Return a place straight on from the end of a walk. [m]"""
    (a, b), (c, d) = walked[-2:]
    share = far_m / math.hypot(c - a, d - b)
    return c + (c - a) * share, d + (d - b) * share


def _walk(
    ground: Ground, start: tuple[float, float], height: float, step_m: float, frame: tuple[float, ...]
) -> list[tuple[float, float]]:
    """Return the places of a walk along the contour, until it comes round, leaves a frame or the grid.

    Uphill is on the left, on the right of a walk with a step below 0; a round ends at its beginning. [m]
    """
    found = [start]
    west, south, east, north = frame
    e, n = start
    for _ in range(LONGEST * MOST_STEPS):
        first = _direction(ground, e, n)
        if first is None or not (west <= e <= east and south <= n <= north):
            break
        going = _direction(ground, e + first[0] * step_m / 2, n + first[1] * step_m / 2) or first
        e, n = _levelled(ground, e + going[0] * step_m, n + going[1] * step_m, height)
        if len(found) > CLOSES_AFTER and math.hypot(e - start[0], n - start[1]) < abs(step_m):
            return [*found, start]
        found.append((e, n))
    return found


def _direction(ground: Ground, e: float, n: float) -> tuple[float, float] | None:
    rise_e, rise_n = _rise(ground, e, n)
    steep = math.hypot(rise_e, rise_n)
    if not steep > FLAT:
        return None
    return rise_n / steep, -rise_e / steep


def _levelled(ground: Ground, e: float, n: float, height: float) -> tuple[float, float]:
    """Return a place moved down or up the slope to a height, by half a step at most. [m]"""
    rise_e, rise_n = _rise(ground, e, n)
    steep = math.hypot(rise_e, rise_n)
    off = _one(ground, ground.height_m, e, n) - height
    if not steep > FLAT or not math.isfinite(off):
        return e, n
    move = max(min(off / steep, STEP_M / 2), -STEP_M / 2)
    return e - move * rise_e / steep, n - move * rise_n / steep


def _rise(ground: Ground, e: float, n: float) -> tuple[float, float]:
    return _one(ground, ground.rise_east, e, n), _one(ground, ground.rise_north, e, n)


def _one(ground: Ground, values: Floats, e: float, n: float) -> float:
    """Return a grid's value at one place, linear between cells; NaN off the grid."""
    row, column = (n - ground.south_m) / ground.cell_m, (e - ground.west_m) / ground.cell_m
    r, c = math.floor(row), math.floor(column)
    if not (0 <= r < values.shape[0] - 1 and 0 <= c < values.shape[1] - 1):
        return math.nan
    up, right = row - r, column - c
    low = float(values[r, c]) * (1 - right) + float(values[r, c + 1]) * right
    high = float(values[r + 1, c]) * (1 - right) + float(values[r + 1, c + 1]) * right
    return low * (1 - up) + high * up


def parallel(line: Any, distance_m: float) -> Any:
    """Return a line at a distance to the left of another; the longest part where it falls apart."""
    import shapely

    if distance_m == 0:
        return line
    made = shapely.offset_curve(line, distance_m, join_style="round", quad_segs=QUARTER)
    parts = shapely.get_parts(made)
    return max(parts, key=lambda part: part.length) if len(parts) else shapely.LineString()
