"""Lengths, widths, ground and guards of a layout."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from browseline import tables
from browseline.farm.records import Farm, Planting, Shape
from browseline.layout.form import LaidPaddock
from browseline.layout.place import Plot
from browseline.layout.rule import TABLE, row_width_m
from browseline.layout.straight import Placed
from browseline.units import factor

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

M2_HA = factor("m2", "ha")
SAME_FENCE_M = 1.0


# ---------------------------------------------------------------- alleys and ground under rows


def alleys_m(plot: Plot) -> tuple[float, float, float] | None:
    """Return the narrowest, middle and widest alley between neighbouring sets of rows, or None. [m]

    Measured from each stem to the line of the next set, where it lies beside the stem.
    """
    sets = plot.rule.rows_in_set if plot.rule is not None and plot.how == "rule" else 1
    if plot.contour and sets == 1:
        return _nearest_m(plot)
    wide = [
        _beside_m(one.placed, other.placed)
        for number, (one, other) in enumerate(zip(plot.rows, plot.rows[1:], strict=False), start=1)
        if number % sets == 0
    ]
    found = np.concatenate(wide) if wide else np.empty(0)
    return (float(found.min()), float(np.median(found)), float(found.max())) if len(found) else None


def _nearest_m(plot: Plot) -> tuple[float, float, float] | None:
    """Return how far stems are from the nearest other row: of contours, neighbours are not in order. [m]"""
    import shapely

    lines = [shapely.MultiLineString([p for p in row.placed.lines if len(p) > 1]) for row in plot.rows]
    if len(lines) < 2:
        return None
    found, tree = [], shapely.STRtree(lines)
    near_m = 3 * (plot.rule.alley_m if plot.rule is not None else 1.0)
    for number, row in enumerate(plot.rows):
        beside = [n for n in tree.query(lines[number], "dwithin", distance=near_m) if n != number]
        kept = [lines[n] for n in beside] or lines[:number] + lines[number + 1 :]
        others = shapely.GeometryCollection(kept)
        found.append(shapely.distance(shapely.points(row.placed.east_m, row.placed.north_m), others))
    near = np.concatenate(found)
    return float(near.min()), float(np.median(near)), float(near.max())


def _beside_m(one: Placed, other: Placed) -> Floats:
    """Return how far each stem of a row is from the line of another that runs past it. [m]"""
    import shapely

    line = max((shapely.linestrings(part) for part in other.lines), key=lambda part: part.length)
    stems = shapely.points(one.east_m, one.north_m)
    if line.length == 0 or len(stems) == 0:
        return np.empty(0)
    at = shapely.line_locate_point(line, stems)
    past = (at > 0) & (at < line.length)
    return np.asarray(shapely.distance(stems[past], line))


def row_grounds(plots: Iterable[Plot], outlines: Mapping[str, Any]) -> dict[tuple[str, str], Any]:
    """Return the strips under rows by planting and paddock, each a shape on the plane."""
    import shapely

    found = {}
    for plot in plots:
        half_m = row_width_m(plot.planting) / 2
        lines = [shapely.linestrings(line) for row in plot.rows for line in row.placed.lines]
        strips = shapely.union_all(shapely.buffer(lines, half_m, cap_style="square")) if lines else None
        home = outlines.get(plot.planting.paddock or "")
        if strips is not None:
            found[plot.planting.id, plot.planting.paddock or ""] = (
                strips.intersection(home) if home is not None else strips
            )
    return found


def laid_paddocks(
    farm: Farm, grounds: Mapping[tuple[str, str], Any], places: Mapping[str, int]
) -> tuple[LaidPaddock, ...]:
    """Return every paddock with the ground under all its rows, strips that overlap counted once."""
    import shapely

    found = []
    for paddock in farm.paddocks:
        own = [strip for (_, home), strip in grounds.items() if home == paddock.id]
        under = float(shapely.union_all(own).area) * M2_HA if own else 0.0
        found.append(
            LaidPaddock(
                paddock.id,
                paddock.name,
                paddock.area_ha,
                under,
                paddock.row_area_ha,
                places.get(paddock.id, 0),
            )
        )
    return tuple(found)


# ---------------------------------------------------------------- fences and lanes


def geodesic_m(lines: Iterable[Sequence[tuple[float, float]]]) -> float:
    """Return the length of lines of longitude and latitude on the WGS84 ellipsoid. [m]"""
    from pyproj import Geod

    globe = Geod(ellps="WGS84")
    return float(sum(globe.line_length([x for x, _ in line], [y for _, y in line]) for line in lines))


def _lines(shapes: Iterable[Shape], kind: str) -> Iterator[Sequence[tuple[float, float]]]:
    for shape in shapes:
        if shape.kind == kind:
            yield from (part for part in (*shape.rings, shape.points) if len(part) > 1)


def lanes_m(farm: Farm) -> float:
    """Return the length of the lanes that are drawn as lines; of an outlined lane, half its edge. [m]"""
    lines = [s for s in farm.shapes if s.kind == "lane"]
    along = [s for s in lines if "Line" in s.geometry]
    around = [s for s in lines if "Polygon" in s.geometry]
    return geodesic_m(_lines(along, "lane")) + geodesic_m(_lines(around, "lane")) / 2


def fences_m(farm: Farm, outlines: Iterable[Any]) -> tuple[float, bool]:
    """Return the length of fences, and whether drawn; else that of outlines, shared edges once. [m]"""
    drawn = geodesic_m(_lines(farm.shapes, "fence"))
    if drawn:
        return drawn, True
    return _shared_once_m(list(outlines)), False


def _shared_once_m(areas: list[Any]) -> float:
    import shapely

    total = 0.0
    for number, area in enumerate(areas):
        edge = area.boundary
        total += float(edge.length)
        near = [a.boundary for a in areas[:number] if a.distance(area) < SAME_FENCE_M]
        if near:
            along = edge.intersection(shapely.union_all(near).buffer(SAME_FENCE_M))
            merged = shapely.line_merge(along) if along.geom_type == "MultiLineString" else along
            lengths = shapely.length(shapely.get_parts(merged))
            shared = lengths[lengths > 4 * SAME_FENCE_M]
            total -= float((shared - 2 * SAME_FENCE_M).sum())
    return total


# ---------------------------------------------------------------- guards


def guard_m(farm: Farm) -> float | None:
    """Return the height that a guard needs against the farm's own kinds of stock, or None. [m]"""
    kinds = {line.kind for mob in farm.mobs for line in mob.lines}
    known = [kind for kind in tables.applies(TABLE, "guard_needed") if kind in kinds]
    return max((tables.row(TABLE, "guard_needed", kind).middle() for kind in known), default=None)


def guards(planting: Planting, farm: Farm, trees: int) -> int:
    """Return how many trees need a guard: those to plant, and unguarded ones whose leader is in reach."""
    if not farm.mobs:
        return 0
    if planting.planned:
        return trees
    height_m = guard_m(farm)
    grown = planting.leader is not None and height_m is not None and planting.leader.to("m") >= height_m
    return 0 if planting.guard or grown else trees
