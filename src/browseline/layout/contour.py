"""Rows on the contour: guide lines that keep their height, and parallels to them while they fall little.

Parallels keep the alley's width, so the farther from the guide, the more they leave the contour. A
parallel stands only where it falls less along itself than the bound; the ground that a family of rows
leaves free gets a guide of its own, an alley away from the rows before: the alley between is a wedge.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from browseline.layout.room import QUARTER, ROUND_UP
from browseline.layout.rule import Spaced
from browseline.layout.straight import Placed
from browseline.layout.terrain import Ground
from browseline.layout.trace import FLAT, parallel, trace

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

WINDOW_M, SAMPLE_M = 10.0, 5.0
MOST_SETS = 2000
MOST_GUIDES = 80
FINE = 50
LEAST_STEMS = 3
SPARE = 0.95


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

    found: list[Placed] = []
    least_m2 = LEAST_STEMS * rule.in_row_m * rule.alley_m
    for number in range(MOST_GUIDES):
        parts = [part for part in shapely.get_parts(left) if part.geom_type == "Polygon"]
        part = max(parts, key=lambda one: one.area, default=None)
        if part is None or part.area < least_m2:
            break
        rows = list(_family(part, rule, ground, number))
        found += rows
        lines = [shapely.linestrings(line) for row in rows for line in row.lines]
        taken = (
            shapely.union_all(shapely.buffer(lines, rule.alley_m * ROUND_UP, quad_segs=QUARTER))
            if lines
            else part
        )
        left = left.difference(taken)
        if lines and left.intersection(part).equals(part):
            left = left.difference(part)
    return sorted(found, key=lambda row: _middle_height(row, ground))


def _middle_height(row: Placed, ground: Ground) -> float:
    middle = len(row.east_m) // 2
    return float(ground.heights(row.east_m[middle : middle + 1], row.north_m[middle : middle + 1])[0])


def _family(part: Any, rule: Spaced, ground: Ground, number: int) -> Iterator[Placed]:
    """Yield the rows of one guide through a part of the room: its parallels up and down the hill."""
    start = _start(part, ground)
    guide = trace(part, ground, start) if start is not None else None
    if guide is None:
        return
    for side in (1, -1):
        for step in range(0 if side > 0 else 1, MOST_SETS):
            base_m = side * step * rule.period_m
            lines = [parallel(guide, base_m + row * rule.between_m) for row in range(rule.rows_in_set)]
            kept = [level(line.intersection(part), ground, rule.drift_frac) for line in lines]
            rows = [along(pieces, rule, ground, number) for pieces in kept]
            yield from (row for row in rows if row is not None)
            if not any(row is not None for row in rows):
                break


def _start(part: Any, ground: Ground) -> tuple[float, float] | None:
    """Return the place in a part nearest to its middle where the ground falls, or None."""
    import shapely

    middle = shapely.point_on_surface(part)
    west, south, east, north = part.bounds
    e, n = (a.ravel() for a in np.meshgrid(np.linspace(west, east, 25), np.linspace(south, north, 25)))
    e, n = np.append(e, middle.x), np.append(n, middle.y)
    rise_e, rise_n = ground.rises(e, n)
    falls = (np.hypot(rise_e, rise_n) > 2 * FLAT) & shapely.contains_xy(part, e, n)
    if not falls.any():
        return None
    away = np.where(falls, np.hypot(e - middle.x, n - middle.y), np.inf)
    best = int(np.argmin(away))
    return float(e[best]), float(n[best])


# ---------------------------------------------------------------- the rows of a line


def falls_m(part: Any, ground: Ground) -> tuple[Floats, Floats]:
    """Return along a line where windows of ten metres begin, and how much each falls over its length.

    Returns
    -------
    begins_m, fall_frac : array, shape (window,)
        [m], [m/m]; 0 where the ground is not known.
    """
    step_m = min(WINDOW_M, part.length)
    begins = np.linspace(0.0, part.length - step_m, max(int(part.length / SAMPLE_M), 1) + 1)
    low, high = (ground.heights(*_places(part, begins + more).T) for more in (0.0, step_m))
    return begins, np.nan_to_num(np.abs(high - low) / step_m)


def _places(part: Any, along_m: Floats) -> Floats:
    """Return the places of a line so far along it, shape (place, 2). [m]"""
    import shapely

    at = shapely.get_coordinates(part)
    far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(at, axis=0).T))])
    return np.column_stack([np.interp(along_m, far, at[:, 0]), np.interp(along_m, far, at[:, 1])])


def drift(line: Any, ground: Ground) -> float:
    """Return the steepest fall along a line over ten metres; 0 where nothing is known."""
    import shapely

    parts = [part for part in shapely.get_parts(line) if part.geom_type == "LineString" and part.length > 0]
    return max((float(falls_m(part, ground)[1].max()) for part in parts), default=0.0)


def level(lines: Any, ground: Ground, most_frac: float) -> list[Any]:
    """Return the stretches of some lines on which no ten metres fall more than a bound.

    A little of the bound is left, since the stems of a row begin elsewhere than the windows looked at.
    """
    import shapely
    from shapely.ops import substring

    found = []
    for part in shapely.get_parts(lines):
        if part.geom_type != "LineString" or part.length == 0:
            continue
        begins, fall = falls_m(part, ground)
        good = fall <= SPARE * most_frac
        if good.all():
            found.append(part)
            continue
        edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(int)))
        window = min(WINDOW_M, part.length)
        for first, last in zip(edges[::2], edges[1::2] - 1, strict=True):
            found.append(substring(part, float(begins[first]), float(begins[last]) + window))
    return [part for part in _apart(found) if part.length >= WINDOW_M]


def _apart(stretches: list[Any]) -> list[Any]:
    """Return stretches cut so that no two share ground."""
    import shapely

    kept: list[Any] = []
    for one in stretches:
        free = one.difference(shapely.union_all(kept)) if kept else one
        kept += [part for part in shapely.get_parts(free) if part.geom_type == "LineString"]
    return kept


def along(stretches: list[Any], rule: Spaced, ground: Ground, shift: int = 0) -> Placed | None:
    """Return the stems of a row along stretches of a line, or None where none stands.

    No stem is nearer to another than the spacing; stems of a bend that comes back keep an alley apart.
    """
    pieces: list[Floats] = []
    cut: list[Floats] = []
    falls: list[float] = []
    for stretch in stretches:
        stems = _steps(stretch, rule.in_row_m) if stretch.length > 0 else np.empty((0, 2))
        stems = stems[_clear(stems, pieces, rule)]
        if len(stems) < LEAST_STEMS:
            continue
        own = _between(stretch, stems)
        fall = fall_of(own, ground)
        if fall <= rule.drift_frac:
            pieces.append(stems)
            cut.append(own)
            falls.append(fall)
    if not pieces:
        return None
    at = np.concatenate(pieces)
    return Placed(tuple(cut), at[:, 0], at[:, 1], max(falls), shift)


def fall_of(places: Floats, ground: Ground) -> float:
    """Return the steepest fall along a line given by its places, as ``drift`` does."""
    import shapely

    return drift(shapely.linestrings(places), ground)


def _clear(stems: Floats, before: list[Floats], rule: Spaced) -> NDArray[np.bool_]:
    """Return which stems of a stretch stand clear of those before them in the row."""
    near = int(2 * rule.alley_m / rule.in_row_m) + 3
    kept = np.concatenate(before) if before else np.empty((0, 2))
    out = np.zeros(len(stems), dtype=bool)
    for number, stem in enumerate(stems):
        away = np.hypot(kept[:, 0] - stem[0], kept[:, 1] - stem[1])
        far = away[: max(len(kept) - near, 0)]
        out[number] = bool((away >= rule.in_row_m - 1e-6).all() and (far >= rule.alley_m - 1e-6).all())
        if out[number]:
            kept = np.vstack([kept, stem])
    return out


def _steps(part: Any, step_m: float) -> Floats:
    """Return places along a line, each as far from the one before as the spacing, both ends alike. [m]"""
    fine = np.linspace(0.0, part.length, max(int(part.length / step_m * FINE), 1) + 1)
    spots = _places(part, fine)
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


def _between(stretch: Any, stems: Floats) -> Floats:
    """Return a line from its first stem to its last. [m]"""
    import shapely

    a, b = shapely.line_locate_point(stretch, shapely.points(stems[[0, -1]]))
    at = shapely.get_coordinates(stretch)
    far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(at, axis=0).T))])
    inner = at[(far > a + 1e-6) & (far < b - 1e-6)]
    whole = np.concatenate([stems[:1], inner, stems[-1:]])
    return np.asarray(shapely.get_coordinates(shapely.simplify(shapely.linestrings(whole), 0.02)))
