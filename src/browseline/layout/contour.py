"""Rows on the contour: a guide line that keeps its height, and parallels to it while they fall little.

Parallels keep the alley's width, so the farther from the guide, the more they leave the contour. Where
one would fall more than the bound along itself, the next guide is traced there on the contour, never
nearer than an alley to the row before it: the alley between the two is a wedge.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from browseline.layout.rule import Spaced
from browseline.layout.straight import Placed
from browseline.layout.terrain import Ground

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

STEP_M = 2.0
WINDOW_M = 10.0
FLAT = 0.002
MOST_SETS = 2000
MOST_TRIES = 12
FINE = 50


def slope_in(area: Any, ground: Ground) -> tuple[float, float] | None:
    """Return the middle slope of an area and the bearing of its contour, or None where nothing is known.

    Returns
    -------
    tuple of float
        Rise over run [1], and degrees clockwise from north, 0 to 180.
    """
    import shapely

    west, south, east, north = area.bounds
    e, n = np.meshgrid(np.linspace(west, east, 40), np.linspace(south, north, 40))
    held = shapely.contains_xy(area, e.ravel(), n.ravel())
    rise_e, rise_n = ground.rises(e.ravel()[held], n.ravel()[held])
    known = np.isfinite(rise_e) & np.isfinite(rise_n)
    if not known.any():
        return None
    steep = float(np.median(np.hypot(rise_e[known], rise_n[known])))
    uphill = math.atan2(float(rise_e[known].mean()), float(rise_n[known].mean()))
    return steep, (math.degrees(uphill) + 90) % 180


def contour_rows(left: Any, rule: Spaced, ground: Ground) -> list[Placed]:
    """Return the rows on the contour, from the lowest to the highest; none on ground without a fall.

    Parameters
    ----------
    left : shapely geometry
        Where stems may stand, on the plane. [m]
    rule : Spaced
    ground : Ground
    """
    import shapely

    if left.is_empty:
        return []
    middle = shapely.point_on_surface(left)
    guide = trace(left, ground, (middle.x, middle.y))
    if guide is None:
        return []
    up = list(_sets(left, rule, ground, guide, 1))
    down = list(_sets(left, rule, ground, guide, -1))
    found = []
    for base, side, shift in [*reversed(down[1:]), *up]:
        rows = range(rule.rows_in_set)
        for row in rows if side > 0 else reversed(rows):
            line = parallel(base, side * row * rule.between_m)
            placed = along(left, line, rule, ground, shift)
            if placed is not None:
                found.append(placed)
    return found


# ---------------------------------------------------------------- sets of rows up and down the hill


def _sets(left: Any, rule: Spaced, ground: Ground, guide: Any, side: int) -> Iterator[tuple[Any, int, int]]:
    """Yield the first line of each set on one side of a guide, its side, and how often a guide was new.

    The guide's own line comes first. Uphill is to the left of a guide.
    """
    base, number, shift = guide, 0, 0
    last = guide
    for _ in range(MOST_SETS):
        line = parallel(base, side * number * rule.period_m)
        if number and drift(left, line, ground) > rule.drift_frac:
            fresh = _fresh(left, rule, ground, last, side)
            if fresh is not None:
                base, line, number, shift = fresh, fresh, 0, shift + 1
        if not _reaches(left, line):
            return
        yield line, side, shift
        last, number = line, number + 1


def _reaches(left: Any, line: Any) -> bool:
    return not line.is_empty and bool(line.intersects(left))


def _fresh(left: Any, rule: Spaced, ground: Ground, last: Any, side: int) -> Any:
    """Return a new guide beyond the last row, at least an alley from it everywhere in the room."""
    import shapely

    held = last.intersection(left)
    if held.is_empty:
        return None
    away_m = rule.period_m
    for _ in range(MOST_TRIES):
        beyond = parallel(last, side * away_m)
        inside = beyond.intersection(left)
        if inside.is_empty:
            return None
        spot = shapely.point_on_surface(inside)
        guide = trace(left, ground, (spot.x, spot.y))
        if guide is None:
            return None
        gap_m = _gap_m(guide, last, left)
        if gap_m >= rule.period_m - 1e-6:
            return guide
        away_m += rule.period_m - gap_m
    return None


def _gap_m(guide: Any, last: Any, left: Any) -> float:
    """Return the least distance between two lines inside the room. [m]"""
    here, there = guide.intersection(left), last
    return float(here.distance(there)) if not here.is_empty else math.inf


def parallel(line: Any, distance_m: float) -> Any:
    """Return a line at a distance to the left of another; the longest part where it falls apart."""
    import shapely

    if distance_m == 0:
        return line
    made = shapely.offset_curve(line, distance_m, join_style="round", quad_segs=8)
    parts = shapely.get_parts(made)
    return max(parts, key=lambda part: part.length) if len(parts) else shapely.LineString()


# ---------------------------------------------------------------- one line


def trace(left: Any, ground: Ground, start: tuple[float, float]) -> Any:
    """Return the contour through a place, uphill on its left, out to both sides of the room; None if flat.

    Each step goes along the contour by the slope half-way (Runge–Kutta of the second order) and is set
    back to the starting height down the slope. Off the grid the line goes straight on.
    """
    import shapely

    west, south, east, north = left.bounds
    reach_m = math.hypot(east - west, north - south) + 4 * STEP_M
    height = float(ground.heights(np.array([start[0]]), np.array([start[1]]))[0])
    forth = _walk(ground, start, height, reach_m, 1)
    back = _walk(ground, start, height, reach_m, -1)
    if len(forth) < 2 or len(back) < 2:
        return None
    line = shapely.LineString([*reversed(back[1:]), *forth])
    return line if line.is_simple else None


def _walk(
    ground: Ground, start: tuple[float, float], height: float, reach_m: float, way: int
) -> list[tuple[float, float]]:
    """Return the places of a walk along the contour that begins at a place, uphill on the left. [m]"""
    found = [start]
    e, n = start
    going: tuple[float, float] | None = None
    for _ in range(int(reach_m / STEP_M)):
        direction = _direction(ground, e, n, way)
        if direction is not None:
            half = _direction(ground, e + direction[0] * STEP_M / 2, n + direction[1] * STEP_M / 2, way)
            going = half or direction
        if going is None:
            break
        e, n = e + going[0] * STEP_M, n + going[1] * STEP_M
        e, n = _levelled(ground, e, n, height)
        found.append((e, n))
    return found


def _direction(ground: Ground, e: float, n: float, way: int) -> tuple[float, float] | None:
    rise_e, rise_n = _rise(ground, e, n)
    steep = math.hypot(rise_e, rise_n)
    if not steep > FLAT:
        return None
    return way * rise_n / steep, -way * rise_e / steep


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


def drift(left: Any, line: Any, ground: Ground) -> float:
    """Return the steepest fall along a line over ten metres, inside a room; 0 where nothing is known."""
    import shapely

    worst = 0.0
    for part in shapely.get_parts(line if left is None else line.intersection(left)):
        if part.geom_type != "LineString" or part.length == 0:
            continue
        step_m = min(WINDOW_M, part.length)
        begins = np.linspace(0.0, part.length - step_m, max(int(part.length / 5), 1) + 1)
        a, b = (shapely.line_interpolate_point(part, begins + more) for more in (0.0, step_m))
        fall = ground.heights(shapely.get_x(b), shapely.get_y(b))
        fall = np.abs(fall - ground.heights(shapely.get_x(a), shapely.get_y(a))) / step_m
        worst = max(worst, float(np.nanmax(fall, initial=0.0)))
    return worst


def along(left: Any, line: Any, rule: Spaced, ground: Ground | None, shift: int = 0) -> Placed | None:
    """Return the stems of a row along a line, never nearer to one another than the spacing; or None."""
    import shapely

    pieces: list[Floats] = []
    for part in shapely.get_parts(line.intersection(left)):
        if part.geom_type == "LineString" and part.length > 0:
            stems = _steps(part, rule.in_row_m)
            if pieces:
                clear = np.hypot(*(stems - pieces[-1][-1]).T) >= rule.in_row_m - 1e-9
                stems = stems[clear]
            if len(stems):
                pieces.append(stems)
    if not pieces:
        return None
    at = np.concatenate(pieces)
    fall = drift(left, line, ground) if ground is not None else None
    return Placed(tuple(_between(line, piece) for piece in pieces), at[:, 0], at[:, 1], fall, shift)


def _steps(part: Any, step_m: float) -> Floats:
    """Return places along a line, each as far from the one before as the spacing, both ends alike. [m]"""
    import shapely

    fine = np.linspace(0.0, part.length, max(int(part.length / step_m * FINE), 1) + 1)
    spots = shapely.get_coordinates(shapely.line_interpolate_point(part, fine))
    first = _walked(spots, 0, step_m)
    rest_m = part.length - fine[first[-1]]
    again = _walked(spots, int(np.searchsorted(fine, rest_m / 2)), step_m)
    return np.asarray(spots[again if len(again) >= len(first) else first])


def _walked(spots: Floats, begin: int, step_m: float) -> list[int]:
    """Return which of many places a walk stops at that goes a step as the crow flies each time."""
    kept = [begin]
    while True:
        at = kept[-1]
        ahead = spots[at + 1 : at + 1 + 3 * FINE] - spots[at]
        far = np.hypot(ahead[:, 0], ahead[:, 1]) >= step_m - 1e-9
        if not far.any():
            return kept
        kept.append(at + 1 + int(np.argmax(far)))


def _between(line: Any, stems: Floats) -> Floats:
    """Return a line from its first stem to its last. [m]"""
    import shapely
    from shapely.ops import substring

    a, b = (float(line.project(shapely.Point(spot))) for spot in (stems[0], stems[-1]))
    cut = substring(line, a, b)
    made = shapely.get_coordinates(shapely.simplify(cut, 0.05))
    return np.asarray(made) if len(made) > 1 else np.asarray([stems[0], stems[0]])
