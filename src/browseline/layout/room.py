"""Where the stems of a planting may stand: its paddock without what they keep off."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from browseline.farm.records import Farm, Shape
from browseline.layout.form import KeptOff
from browseline.layout.plane import Plane, geometry

QUARTER = 16
ROUND_UP = 1 / math.cos(math.pi / (4 * QUARTER))
"""A round buffer of that many pieces a quarter lies inside its circle by the cosine of half a piece."""
MITRE = 5.0
ACROSS_DEG = 30.0
GRID_M = 1e-6


@dataclass(frozen=True, slots=True)
class Thing:
    """A shape of the map on the plane that stems keep off: ``what`` is a kind of ``rule.KINDS``."""

    what: str
    name: str
    geometry: Any
    half_width_m: float = 0.0


def things(farm: Farm, plane: Plane) -> tuple[Thing, ...]:
    """Return everything on the map that stems keep off, paddock outlines left out."""
    made = (_thing(shape, plane) for shape in farm.shapes)
    return tuple(thing for thing in made if thing is not None and not thing.geometry.is_empty)


AS_FENCE = ("fence", "lane", "yard", "sacrifice")
AS_THEY_ARE = ("building", "overhead_line", "buried_line", "water", "keep_out")


def _thing(shape: Shape, plane: Plane) -> Thing | None:
    if shape.kind == "boundary":
        return Thing("boundary", shape.name, geometry(shape, plane))
    if shape.kind in AS_FENCE:
        return Thing("fence", shape.name, geometry(shape, plane), (shape.width_m or 0.0) / 2)
    if shape.kind in AS_THEY_ARE:
        return Thing(shape.kind, shape.name, geometry(shape, plane))
    return None


def distances(kept: Iterable[KeptOff]) -> dict[str, float]:
    """Return how far stems keep off each kind; off what nobody may enter, by nothing. [m]"""
    return {one.what: one.distance_m for one in kept} | {"keep_out": 0.0}


def room(paddock: Any, around: Sequence[Thing], off_m: dict[str, float]) -> Any:
    """Return the part of a paddock where stems may stand.

    Parameters
    ----------
    paddock : shapely polygon
        Its outline counts as a fence.
    around : sequence of Thing
    off_m : dict
        Distance by kind; a kind that is missing is not kept off. [m]
    """
    import shapely

    left = inside(paddock, off_m.get("fence", 0.0))
    near = paddock.buffer(max(off_m.values(), default=0.0) + 1)
    taken = []
    for thing in around:
        distance_m = off_m.get(thing.what)
        if distance_m is None:
            continue
        if thing.what == "boundary":
            inner = areas_of(inside(thing.geometry, distance_m))
            left = shapely.intersection(areas_of(left), inner, grid_size=GRID_M)
        elif thing.geometry.intersects(near.buffer(thing.half_width_m)):
            taken.append(outside(thing.geometry, distance_m + thing.half_width_m))
    return without(left, shapely.union_all(taken)) if taken else left


def without(area: Any, taken: Any) -> Any:
    """Return an area without another, both on a grid of a micrometre.

    Edges that all but lie on one another (a headland as wide as the room kept off the fence) can cost a
    whole piece of the area where places are floats; on a grid they cannot.
    """
    import shapely

    return shapely.difference(areas_of(area), areas_of(taken), grid_size=GRID_M)


def areas_of(shape: Any) -> Any:
    """Return what of a shape has an area: a line or a point takes none and gives none."""
    import shapely

    parts = shapely.get_parts(shape)
    return shapely.union_all(parts[shapely.get_dimensions(parts) == 2])


def inside(area: Any, distance_m: float) -> Any:
    """Return the part of an area at least so far from its edge; exact at straight edges."""
    return area.buffer(-distance_m, join_style="mitre", mitre_limit=MITRE) if distance_m else area


def outside(thing: Any, distance_m: float) -> Any:
    """Return a thing with all that is nearer than a distance; corners reach a little farther."""
    if distance_m == 0:
        return thing
    if "Point" in thing.geom_type:
        return thing.buffer(distance_m * ROUND_UP, quad_segs=QUARTER)
    return thing.buffer(distance_m, cap_style="square", join_style="mitre", mitre_limit=MITRE)


def without_headland(left: Any, paddock: Any, bearing_deg: float, headland_m: float) -> Any:
    """Return the room without the strips along the edges at which rows end.

    An edge counts where it runs more than 30 degrees off the rows.
    """
    import shapely

    if headland_m == 0:
        return left
    across = [
        shapely.LineString([a, b])
        for part in shapely.get_parts(paddock)
        for ring in (part.exterior, *part.interiors)
        for a, b in pairwise(ring.coords)
        if between_deg(bearing_of(a, b), bearing_deg) > ACROSS_DEG
    ]
    if not across:
        return left
    return without(left, shapely.union_all(shapely.buffer(across, headland_m, quad_segs=QUARTER)))


def bearing_of(a: Sequence[float], b: Sequence[float]) -> float:
    """Return the direction from one place to another, clockwise from north. [deg]"""
    return math.degrees(math.atan2(b[0] - a[0], b[1] - a[1])) % 360


def between_deg(one_deg: float, other_deg: float) -> float:
    """Return the angle between two lines, 0 to 90. [deg]"""
    turned = abs(one_deg - other_deg) % 180
    return min(turned, 180 - turned)


def long_side_deg(area: Any) -> float:
    """Return the bearing of an area's long side; of a square, of the side nearer to north. [deg]"""
    import shapely

    box = shapely.minimum_rotated_rectangle(area)
    if box.geom_type != "Polygon":
        return 0.0
    ring = list(box.exterior.coords)[:3]
    sides = [(math.dist(a, b), bearing_of(a, b) % 180) for a, b in pairwise(ring)]
    longest = max(length for length, _ in sides)
    alike = [bearing for length, bearing in sides if length > longest * (1 - 1e-6)]
    return min(alike, key=lambda bearing: between_deg(bearing, 0.0))
