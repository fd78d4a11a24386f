"""Straight rows by a bearing: sets of rows over the room there is, the same margin left and right."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from browseline.layout.rule import Spaced

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

TOUCH_M = 1e-3
"""What a map's rounding may take off a row before a tree fewer stands in it."""


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """One row as it was placed: its pieces and its stems on the plane. [m]"""

    lines: tuple[Floats, ...]
    east_m: Floats
    north_m: Floats
    drift_frac: float | None = None
    shift: int = 0


def straight_rows(left: Any, rule: Spaced, bearing_deg: float) -> list[Placed]:
    """Return the rows that fit, from left to right of the bearing, each from its beginning to its end.

    Stems stand across from one another (or half a spacing shifted, row by row); both margins of the
    rows, and both ends, are alike.

    Parameters
    ----------
    left : shapely geometry
        Where stems may stand, on the plane. [m]
    rule : Spaced
    bearing_deg : float
        Clockwise from north. [deg]
    """
    import shapely

    if left.is_empty:
        return []
    turn = math.radians(bearing_deg)
    turned = shapely.transform(left, lambda at: _turned(at, turn))
    low, _, high, _ = turned.bounds
    across = _across(low, high, rule)
    pieces = _pieces(turned, across)
    if not pieces:
        return []
    first, last = min(p[1] for p in pieces), max(p[2] for p in pieces)
    begin = first + _margin(last - first, rule.in_row_m)
    found = []
    for row, v in enumerate(across):
        own = [(a, b) for r, a, b in pieces if r == row]
        shifted = rule.in_row_m / 2 if rule.staggered and row % 2 else 0.0
        made = [_stems(a, b, begin + shifted, rule.in_row_m) for a, b in own]
        kept = [(piece, u) for piece, u in zip(own, made, strict=True) if len(u)]
        if kept:
            found.append(_placed(v, kept, turn))
    return found


def _turned(at: Floats, turn: float) -> Floats:
    """Return places as right of and along the bearing. [m]"""
    sine, cosine = math.sin(turn), math.cos(turn)
    return np.column_stack([at[:, 0] * cosine - at[:, 1] * sine, at[:, 0] * sine + at[:, 1] * cosine])


def _margin(length_m: float, step_m: float) -> float:
    """Return what is left at each end of a length that steps fill from the middle. [m]"""
    return (length_m - math.floor((length_m + TOUCH_M) / step_m) * step_m) / 2


def _across(low: float, high: float, rule: Spaced) -> list[float]:
    """Return how far right each row stands: sets over the whole width, centred. [m]"""
    set_m = (rule.rows_in_set - 1) * rule.between_m
    free_m = high - low - set_m
    if free_m < -TOUCH_M:
        return []
    sets = math.floor((free_m + TOUCH_M) / rule.period_m) + 1
    begin = low + (free_m - (sets - 1) * rule.period_m) / 2
    return [
        begin + s * rule.period_m + r * rule.between_m for s in range(sets) for r in range(rule.rows_in_set)
    ]


def _pieces(turned: Any, across: list[float]) -> list[tuple[int, float, float]]:
    """Return row, beginning and end of each piece of a row inside the room, in order. [m]"""
    import shapely

    if not across:
        return []
    low, bottom, high, top = turned.bounds
    kept = [min(max(v, low + TOUCH_M / 2), high - TOUCH_M / 2) if high - low > TOUCH_M else v for v in across]
    lines = shapely.linestrings([[[v, bottom - 1], [v, top + 1]] for v in kept])
    cut = shapely.intersection(lines, turned)
    parts, row = shapely.get_parts(cut, return_index=True)
    found = []
    for part, r in zip(parts, row, strict=True):
        if part.geom_type == "LineString" and part.length > 0:
            _, a, _, b = part.bounds
            found.append((int(r), a, b))
        elif part.geom_type == "Point" and not part.is_empty:
            found.append((int(r), part.y, part.y))
    return sorted(found)


def _stems(a: float, b: float, begin: float, step_m: float) -> Floats:
    """Return the places along a piece where stems stand. [m]"""
    first = math.ceil((a - begin - TOUCH_M) / step_m)
    last = math.floor((b - begin + TOUCH_M) / step_m)
    return begin + step_m * np.arange(first, last + 1, dtype=float)


def _placed(v: float, kept: list[tuple[tuple[float, float], Floats]], turn: float) -> Placed:
    lines = tuple(_back(np.array([v, v]), np.array([u[0], u[-1]]), turn) for _, u in kept)
    along = np.concatenate([u for _, u in kept])
    at = _back(np.full(len(along), v), along, turn)
    return Placed(lines, at[:, 0], at[:, 1])


def _back(right: Floats, along: Floats, turn: float) -> Floats:
    """Return places right of and along the bearing as east and north. [m]"""
    sine, cosine = math.sin(turn), math.cos(turn)
    return np.column_stack([right * cosine + along * sine, -right * sine + along * cosine])
