"""Areas on the ellipsoid, what a position error does to them, and a flat picture to compare shapes in."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from browseline.farm.records import Ring, Shape
from browseline.units import factor

if TYPE_CHECKING:
    from pyproj import Proj

M2_HA = factor("m2", "ha")


def plane(shapes: Iterable[Shape]) -> Proj:
    """Return an equal-area plane (m) about the first place of some shapes (EPSG method 9820, WGS84)."""
    from pyproj import Proj

    lon, lat = next((spot for s in shapes for ring in (*s.rings, s.points) for spot in ring), (0.0, 0.0))
    return Proj(proj="laea", lat_0=lat, lon_0=lon, ellps="WGS84")


def geodesic_area_m2(rings: Sequence[Ring]) -> float:
    """Return the area that rings enclose on the WGS84 ellipsoid; holes turn clockwise. [m2]

    Edges are geodesics, as GeographicLib computes them.
    """
    from pyproj import Geod

    globe = Geod(ellps="WGS84")
    return float(sum(globe.polygon_area_perimeter([x for x, _ in r], [y for _, y in r])[0] for r in rings))


def area_sd_m2(rings_m: Sequence[Sequence[tuple[float, float]]], position_error_m: float) -> float:
    """Return the standard deviation of an area whose corners were each read with an error. [m2]

    First order in the error: the area is ½ Σ xᵢ(yᵢ₊₁ − yᵢ₋₁), so its variance is ¼ s² Σ |pᵢ₊₁ − pᵢ₋₁|²
    with s the error of one axis, the position error ÷ √2. For a square it is s × diagonal.

    Parameters
    ----------
    rings_m : sequence of rings
        Corners on a plane, first repeated at the end. [m]
    position_error_m : float
        Root mean square distance between a reading and the true place. [m]
    """
    axis = position_error_m / math.sqrt(2)
    spans = 0.0
    for ring in rings_m:
        corners = list(ring[:-1])
        for (x0, y0), (x2, y2) in zip(corners[-1:] + corners[:-1], corners[1:] + corners[:1], strict=True):
            spans += (x2 - x0) ** 2 + (y2 - y0) ** 2
    return 0.5 * axis * math.sqrt(spans)


def corners(ring_m: Sequence[tuple[float, float]], tolerance_m: float) -> list[tuple[float, float]]:
    """Return the corners of a ring; points nearer than the tolerance to the line between them go.

    Points that were walked one after the other share their error, so they must not be counted as
    independent readings; a ring of fewer than three corners is kept as it is.
    """
    import shapely

    kept = shapely.get_coordinates(shapely.simplify(shapely.LinearRing(ring_m), tolerance_m))
    return [(float(x), float(y)) for x, y in kept] if len(kept) > 3 else list(ring_m)


def measured(shape: Shape, flat: Proj, position_error_m: float | None) -> Shape:
    """Return a shape with its area and, where the position error is known, the area's spread. [ha]"""
    if not shape.rings or "Polygon" not in shape.geometry:
        return shape
    area = abs(geodesic_area_m2(shape.rings)) * M2_HA
    if position_error_m is None:
        return replace(shape, area_ha=area)
    rings = [corners(on_plane(ring, flat), position_error_m) for ring in shape.rings]
    return replace(shape, area_ha=area, area_sd_ha=area_sd_m2(rings, position_error_m) * M2_HA)


def on_plane(ring: Ring, flat: Proj) -> list[tuple[float, float]]:
    """Return a ring of longitude and latitude on a plane. [m]"""
    east, north = flat([x for x, _ in ring], [y for _, y in ring])
    return list(zip(east, north, strict=True))


def polygon(shape: Shape, flat: Proj) -> Any:
    """Return a shape as a shapely geometry on a plane: outer rings turn left, holes turn right."""
    import shapely

    outer: list[tuple[Any, list[Any]]] = []
    for ring in shape.rings:
        flat_ring = on_plane(ring, flat)
        if shapely.is_ccw(shapely.LinearRing(flat_ring)) or not outer:
            outer.append((flat_ring, []))
        else:
            outer[-1][1].append(flat_ring)
    made = [shapely.Polygon(shell, holes) for shell, holes in outer]
    return made[0] if len(made) == 1 else shapely.MultiPolygon(made)
