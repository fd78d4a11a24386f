"""Farms in metres for the tests of layout: a field on the plane, things beside it, one planting."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

from pyproj import Proj

from browseline.farm.map_area import geodesic_area_m2
from browseline.farm.records import Farm, LayoutRule, Line, Mob, Paddock, Planting, Shape
from browseline.units import Quantity, parse

CENTRE = (41.0, -45.0)
Spot = tuple[float, float]


def q(text: str, dimension: str = "length") -> Quantity:
    return parse(text, dimension)


def world(
    points: Sequence[Spot], centre: Spot = CENTRE, turn_deg: float = 0.0, mirror: bool = False
) -> tuple[Spot, ...]:
    """Return metres east and north of a place as longitude and latitude, turned clockwise."""
    plane = Proj(proj="laea", lat_0=centre[0], lon_0=centre[1], ellps="WGS84")
    a = math.radians(turn_deg)
    out = []
    for x, y in points:
        e, n = x * math.cos(a) + y * math.sin(a), -x * math.sin(a) + y * math.cos(a)
        lon, lat = plane(-e if mirror else e, n, inverse=True)
        out.append((lon, lat))
    return tuple(out)


def box(wide: float, deep: float) -> tuple[Spot, ...]:
    """Return a rectangle about the middle, closed."""
    w, d = wide / 2, deep / 2
    return ((-w, -d), (w, -d), (w, d), (-w, d), (-w, -d))


def outline(ident: str, ring: Sequence[Spot], kind: str = "paddock", **how: object) -> Shape:
    """Return an outline of the map, drawn in metres."""
    at = world(ring, **how)  # type: ignore[arg-type]
    signed = geodesic_area_m2([at])
    kept = at if signed > 0 else at[::-1]
    return Shape(ident, kind, ident, "Polygon", (kept,), area_ha=abs(signed) / 10_000)


def line(ident: str, kind: str, points: Sequence[Spot], planting: str = "", **how: object) -> Shape:
    """Return a line of the map, drawn in metres."""
    at = world(points, **how)  # type: ignore[arg-type]
    return Shape(ident, kind, ident, "LineString", (), at, planting=planting)


def point(ident: str, kind: str, spot: Spot, planting: str = "", row: str = "", **how: object) -> Shape:
    """Return a point of the map, drawn in metres."""
    at = world([spot], **how)  # type: ignore[arg-type]
    return Shape(ident, kind, ident, "Point", (), at, planting=planting, row=row)


def planting(
    spacing: str = "20 ft", alley: str | None = "40 ft", rule: LayoutRule | None = None, **more: object
) -> Planting:
    """Return a planting in paddock 1 that keeps nothing off the fence unless the rule says so."""
    made: dict[str, object] = {
        "id": "trees", "name": "Trees", "species": "pear", "paddock": "1", "spacing": q(spacing),
        "alley": q(alley) if alley else None, "layout": rule or LayoutRule(from_fence=q("0 m")),
        "planned": True,
    }  # fmt: skip
    return Planting(**(made | more))  # type: ignore[arg-type]


def farm(field: Shape, plantings: Sequence[Planting], *others: Shape, stock: str = "cattle") -> Farm:
    """Return a farm of one field, with what stands on its map beside."""
    paddock = Paddock("1", "One", field.area_ha or 1.0, shape=field.id)
    mobs = (Mob("mob", "Mob", (Line(stock, "any", 10),)),) if stock else ()
    return Farm(
        "Case", "UTC", "acres", date(2026, 5, 1), (paddock,), mobs, shapes=(field, *others),
        plantings=tuple(p for p in plantings if not p.planned),
        planned=tuple(p for p in plantings if p.planned),
    )  # fmt: skip
