"""The flat picture of a farm: metres east and north of the middle of its map."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from browseline.farm.map_area import polygon
from browseline.farm.records import Shape

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from pyproj import Proj

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Plane:
    """An equal-area plane about one place (EPSG method 9820, WGS84); its north is true north there."""

    longitude_deg: float
    latitude_deg: float
    proj: Proj

    def flat(self, longitude_deg: Sequence[float], latitude_deg: Sequence[float]) -> tuple[Floats, Floats]:
        """Return metres east and north of the middle. [m]"""
        east, north = self.proj(np.asarray(longitude_deg, dtype=float), np.asarray(latitude_deg, dtype=float))
        return np.asarray(east), np.asarray(north)

    def world(self, east_m: Floats, north_m: Floats) -> tuple[Floats, Floats]:
        """Return longitude and latitude of places on the plane. [deg]"""
        lon, lat = self.proj(np.asarray(east_m), np.asarray(north_m), inverse=True)
        return np.asarray(lon), np.asarray(lat)


def plane_of(shapes: Iterable[Shape]) -> Plane:
    """Return the plane in the middle of some shapes."""
    from pyproj import Proj

    spots = [spot for s in shapes for ring in (*s.rings, s.points) for spot in ring] or [(0.0, 0.0)]
    lon, lat = ((min(part) + max(part)) / 2 for part in zip(*spots, strict=True))
    return Plane(lon, lat, Proj(proj="laea", lat_0=lat, lon_0=lon, ellps="WGS84"))


def geometry(shape: Shape, plane: Plane) -> Any:
    """Return a shape as a shapely geometry on the plane; of an outline, what encloses ground."""
    import shapely

    if "Polygon" in shape.geometry:
        made = shapely.get_parts(shapely.make_valid(polygon(shape, plane.proj)))
        parts = [p for part in made for p in shapely.get_parts(part) if p.geom_type == "Polygon"]
        return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)
    made = [_coordinates(ring, plane) for ring in (*shape.rings, shape.points) if ring]
    if "Point" in shape.geometry:
        points = shapely.points(np.concatenate(made))
        return points[0] if len(points) == 1 else shapely.MultiPoint(points)
    lines = [shapely.LineString(line) for line in made]
    return lines[0] if len(lines) == 1 else shapely.MultiLineString(lines)


def _coordinates(ring: Sequence[tuple[float, float]], plane: Plane) -> Floats:
    return np.column_stack(plane.flat([x for x, _ in ring], [y for _, y in ring]))
