"""What is wrong with the shapes of a map: crossing, lying on each other, swapped, far away."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from statistics import median
from typing import TYPE_CHECKING, Any

from browseline.errors import Level
from browseline.farm.map_area import plane, polygon
from browseline.farm.map_geojson import Maps
from browseline.farm.records import Place, Shape

if TYPE_CHECKING:
    from pyproj import Proj

FAR_M = 50_000.0
OVERLAP_ERROR = 0.20
OVERLAP_QUESTION = 0.03
_SPOT = re.compile(r"\[(\S+) (\S+)\]")


def check_map(maps: Maps, place: Place | None) -> None:
    """Add findings about the shapes of a map.

    Parameters
    ----------
    maps : Maps
        The shapes, and the list that findings are added to. A shape that crosses itself is taken out.
    place : Place or None
        Where the farm lies, to notice swapped coordinates.
    """
    check_swapped(maps, place)
    if not maps.shapes:
        return
    flat = plane(maps.shapes)
    areas = [(s, polygon(s, flat)) for s in maps.shapes if "Polygon" in s.geometry]
    crossing = {s.id for s, made in areas if _crosses(maps, s, made, flat)}
    maps.shapes = [s for s in maps.shapes if s.id not in crossing]


def where(maps: Maps, shape: Shape) -> str:
    """Return the file and the shape, as a finding says it."""
    return f'{maps.name} {shape.kind} "{shape.name}"'


# ---------------------------------------------------------------- swapped and far


def check_swapped(maps: Maps, place: Place | None) -> None:
    """Say of shapes far from the rest whether swapping longitude and latitude would bring them home."""
    firsts = [(s, (*s.rings, s.points)[0][0]) for s in maps.shapes]
    if not firsts:
        return
    home = _home([spot for _, spot in firsts], place)
    swapped: set[str] = set()
    far: set[str] = set()
    for shape, (lon, lat) in firsts:
        if _distance_m(home, (lon, lat)) <= FAR_M:
            continue
        near_when_swapped = abs(lon) <= 90 and _distance_m(home, (lat, lon)) <= FAR_M
        (swapped if near_when_swapped else far).add(shape.id)
        if near_when_swapped:
            maps.finding("map.swapped", where(maps, shape))
    for shape, spot in firsts:
        if shape.id in far:
            kilometres = round(_distance_m(home, spot) / 1000)
            maps.finding("map.far", where(maps, shape), level="question", distance=f"{kilometres:,} km")
    maps.shapes = [s for s in maps.shapes if s.id not in swapped]


def _home(spots: Sequence[tuple[float, float]], place: Place | None) -> tuple[float, float]:
    """Return where the farm lies: as typed, else in the middle of its map."""
    if place is not None:
        return place.longitude_deg, place.latitude_deg
    return median(x for x, _ in spots), median(y for _, y in spots)


def _distance_m(one: tuple[float, float], other: tuple[float, float]) -> float:
    from pyproj import Geod

    return float(Geod(ellps="WGS84").inv(*one, *other)[2])


# ---------------------------------------------------------------- crossing and lying on each other


def _crosses(maps: Maps, shape: Shape, made: Any, flat: Proj) -> bool:
    import shapely

    if shapely.is_valid(made):
        return False
    reason = str(shapely.is_valid_reason(made))
    spot = _SPOT.search(reason)
    lon, lat = flat(float(spot[1]), float(spot[2]), inverse=True) if spot else shape.rings[0][0]
    at: dict[str, Any] = {"latitude": f"{lat:.5f}", "longitude": f"{lon:.5f}"}
    if "elf-intersection" in reason:
        maps.finding("map.crossing", where(maps, shape), **at)
    else:
        maps.finding("map.malformed", where(maps, shape), **at)
    return True


def check_overlaps(maps: Maps, together: Callable[[str, str], bool]) -> None:
    """Say which paddocks lie on each other by more than the error of a walked line makes.

    Parameters
    ----------
    maps : Maps
        Shapes that do not cross themselves.
    together : callable
        Whether two shapes, by id, are ever there on the same day.
    """
    import shapely

    shapes = [s for s in maps.shapes if s.kind == "paddock"]
    if len(shapes) < 2:
        return
    flat = plane(shapes)
    made = [polygon(s, flat) for s in shapes]
    found = shapely.STRtree(made).query(made, predicate="intersects").T.tolist()
    for a, b in sorted((a, b) for a, b in found if a < b and together(shapes[a].id, shapes[b].id)):
        shared = float(shapely.area(shapely.intersection(made[a], made[b])))
        share = shared / min(float(made[a].area), float(made[b].area))
        if share < OVERLAP_QUESTION:
            continue
        level: Level = "error" if share > OVERLAP_ERROR else "question"
        percent = f"{share * 100:.0f} %"
        maps.finding("map.overlap", where(maps, shapes[a]), level=level, other=shapes[b].name, share=percent)
