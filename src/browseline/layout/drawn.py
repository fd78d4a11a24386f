"""Rows that stand on the map: lines drawn for rows, and stems surveyed one by one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from browseline.farm.records import Farm, Planting, Shape
from browseline.layout.plane import Plane, geometry
from browseline.layout.straight import TOUCH_M, Placed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

SAME_ROW = 0.5
"""Stems less than this share of a spacing to the side of one another stand in one row."""
TO_AND_FRO = 1.2


@dataclass(frozen=True, slots=True, eq=False)
class Named:
    """A row of the map with its own word, its name, and its stems. [m]"""

    word: str
    name: str
    placed: Placed


def surveyed(farm: Farm, planting: Planting, plane: Plane) -> list[Named]:
    """Return the rows of a planting whose stems are points of the map; points that name a row form it.

    Points that name none are sorted into rows by the direction in which neighbours lie.
    """
    import shapely

    shapes = [s for s in farm.shapes if s.kind == "tree" and s.planting == planting.id]
    by_row: dict[str, list[Floats]] = {}
    for shape in shapes:
        by_row.setdefault(shape.row, []).append(shapely.get_coordinates(geometry(shape, plane)))
    loose = np.concatenate(by_row.pop("")) if "" in by_row else np.empty((0, 2))
    found = [Named(word, word, _as_walked(np.concatenate(parts))) for word, parts in by_row.items()]
    return found + [Named("", "", _in_order(stems)) for stems in _sorted_into_rows(loose)]


def drawn(farm: Farm, planting: Planting, plane: Plane, in_row_m: float | None) -> list[Named]:
    """Return the rows of a planting whose lines are on the map, stems at its spacing from the beginning.

    A row whose trees the farm counts without a spacing has them evenly from end to end.
    """
    counts = {row.id: row.trees for row in planting.rows}
    shapes = [s for s in farm.shapes if s.kind == "tree_row" and s.planting == planting.id]
    found = []
    for shape in shapes:
        word = _word(shape, planting)
        placed = _on_line(shape, plane, in_row_m, counts.get(word))
        if placed is not None:
            found.append(Named(word, shape.name, placed))
    return found


def _word(shape: Shape, planting: Planting) -> str:
    """Return what a row is called inside its planting: as it says, else its id without the planting's."""
    if shape.row:
        return shape.row
    begins = f"{planting.id}-"
    return shape.id.removeprefix(begins) if shape.id.startswith(begins) else shape.id


def _on_line(shape: Shape, plane: Plane, in_row_m: float | None, count: int | None) -> Placed | None:
    import shapely

    line = geometry(shape, plane)
    parts = [part for part in shapely.get_parts(line) if part.geom_type == "LineString" and part.length > 0]
    if not parts:
        return None
    lines = tuple(np.asarray(shapely.get_coordinates(part)) for part in parts)
    if in_row_m is None and not count:
        return Placed(lines, np.empty(0), np.empty(0))
    stems = [_spread(part, in_row_m, count if len(parts) == 1 else None) for part in parts]
    at = np.concatenate(stems)
    return Placed(lines, at[:, 0], at[:, 1])


def _spread(part: object, in_row_m: float | None, count: int | None) -> Floats:
    """Return stems on a line: a spacing apart, the rest at both ends alike; or so many from end to end."""
    import shapely

    length_m = float(shapely.length(part))
    if in_row_m is None:
        far: Floats = np.linspace(0.0, length_m, count or 2, dtype=np.float64)
    else:
        steps = math.floor((length_m + TOUCH_M) / in_row_m)
        far = np.asarray((length_m - steps * in_row_m) / 2 + in_row_m * np.arange(steps + 1), dtype=float)
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(part, far)))


# ---------------------------------------------------------------- stems without a row


def _sorted_into_rows(stems: Floats) -> list[Floats]:
    """Return stems row by row, from left to right of the rows' direction."""
    if len(stems) < 3:
        return [stems] if len(stems) else []
    from scipy.spatial import cKDTree

    found = cKDTree(stems).query(stems, k=2)
    distance, other = np.asarray(found[0], dtype=float), np.asarray(found[1], dtype=int)
    step = stems[other[:, 1]] - stems
    angle = np.arctan2(step[:, 0], step[:, 1])
    turn = math.atan2(float(np.sin(2 * angle).sum()), float(np.cos(2 * angle).sum())) / 2
    right = stems[:, 0] * math.cos(turn) - stems[:, 1] * math.sin(turn)
    order = np.argsort(right, kind="stable")
    wide = np.diff(right[order]) > SAME_ROW * float(np.median(distance[:, 1]))
    return [np.asarray(stems[part]) for part in np.split(order, np.flatnonzero(wide) + 1)]


def _as_walked(stems: Floats) -> Placed:
    """Return the stems of a named row in the order of the map; sorted where that goes to and fro."""
    ordered = _in_order(stems)
    sorted_m = _length_m(np.column_stack([ordered.east_m, ordered.north_m]))
    if len(stems) < 2 or _length_m(stems) > TO_AND_FRO * sorted_m:
        return ordered
    return Placed((stems,), stems[:, 0], stems[:, 1])


def _length_m(stems: Floats) -> float:
    return float(np.hypot(*np.diff(stems, axis=0).T).sum()) if len(stems) > 1 else 0.0


def _in_order(stems: Floats) -> Placed:
    """Return the stems of one row from its southern (of a level row its western) end."""
    middle = stems - stems.mean(axis=0)
    _, _, axes = np.linalg.svd(middle, full_matrices=False)
    axis = axes[0] if len(stems) > 1 else np.array([0.0, 1.0])
    if (round(axis[1], 6), axis[0]) < (0.0, 0.0):
        axis = -axis
    kept = stems[np.argsort(middle @ axis, kind="stable")]
    line = kept if len(kept) > 1 else np.concatenate([kept, kept])
    return Placed((np.asarray(line),), kept[:, 0], kept[:, 1])


def in_sequence(rows: Sequence[Named]) -> list[Named]:
    """Return rows from left to right across their direction, where they run alike; else as they came."""
    if len(rows) < 2:
        return list(rows)
    ends = np.array([[row.placed.lines[0][0], row.placed.lines[-1][-1]] for row in rows])
    along = ends[:, 1] - ends[:, 0]
    turn = (
        math.atan2(
            float(np.sin(2 * np.arctan2(along[:, 0], along[:, 1])).sum()),
            float(np.cos(2 * np.arctan2(along[:, 0], along[:, 1])).sum()),
        )
        / 2
    )
    middle = ends.mean(axis=1)
    right = middle[:, 0] * math.cos(turn) - middle[:, 1] * math.sin(turn)
    return [rows[i] for i in np.argsort(np.round(right, 3), kind="stable")]
