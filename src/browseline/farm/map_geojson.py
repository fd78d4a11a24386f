"""``map.geojson`` (RFC 7946) to shapes: what each is, its rings, the area it encloses.

Outer rings come out counter-clockwise and holes clockwise, as the standard asks, so that the areas
of all rings of a shape add up to its own. Heights are dropped.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

from browseline.errors import Finding, Level, finding
from browseline.farm.bounds import SETBACK
from browseline.farm.names import nearest, words
from browseline.farm.records import Ring, Shape
from browseline.farm.told import shown
from browseline.units import NotAQuantity, parse

MOST_BYTES = 50_000_000
MOST_FEATURES = 20_000
MOST_POINTS = 500_000
POINTS = ("Point", "MultiPoint")
LINES = ("LineString", "MultiLineString")
AREAS = ("Polygon", "MultiPolygon")
ENCLOSES = ("boundary", "paddock", "keep_out", "yard")


class TooMuch(ValueError):
    """A map is larger than any farm's."""


@dataclass(slots=True)
class Maps:
    """What was read from a map, and what is wrong with it."""

    name: str = "map.geojson"
    shapes: list[Shape] = field(default_factory=list)
    found: list[Finding] = field(default_factory=list)
    points: int = 0

    def where(self, number: int, name: str) -> str:
        """Return the file and the feature, as a finding says it."""
        return f'{self.name} feature {number} "{name}"' if name else f"{self.name} feature {number}"

    def finding(self, code: str, where: str, /, *, level: Level = "error", **fields: object) -> None:
        """Add one finding."""
        self.found.append(finding(code, where, level=level, **fields))


def read_map(path: Path) -> Maps:
    """Return the shapes of a map file, without areas, and everything that is wrong with their form."""
    maps = Maps(path.name)
    if path.stat().st_size > MOST_BYTES:
        maps.finding("map.too_big", path.name, most=MOST_BYTES // 1_000_000)
        return maps
    try:
        parse_map(path.read_text(encoding="utf-8-sig"), maps)
    except UnicodeDecodeError:
        maps.finding("map.no_text", path.name)
    return maps


def parse_map(text: str, maps: Maps) -> None:
    """Add the shapes of a GeoJSON text to ``maps``."""
    try:
        data = json.loads(text)
    except json.JSONDecodeError as wrong:
        maps.finding("map.syntax", f"{maps.name}:{wrong.lineno}", column=wrong.colno)
        return
    except (RecursionError, ValueError):
        maps.finding("map.syntax", maps.name, column=1)
        return
    take_map(data, maps)


def take_map(data: Any, maps: Maps) -> None:
    """Add the shapes of a GeoJSON object to ``maps``."""
    if not isinstance(data, dict) or data.get("type") != "FeatureCollection":
        maps.finding("map.no_collection", maps.name)
        return
    if _other_crs(data.get("crs")):
        maps.finding("map.crs", maps.name)
        return
    features = data.get("features")
    if not isinstance(features, list):
        maps.finding("map.no_collection", maps.name)
        return
    try:
        _features(features, maps)
    except TooMuch:
        maps.finding("map.too_much", maps.name, features=MOST_FEATURES, points=MOST_POINTS)


def _other_crs(crs: Any) -> bool:
    """Return whether an old-style file names another reference system than longitude and latitude."""
    if crs is None:
        return False
    name = str(crs.get("properties", {}) if isinstance(crs, dict) else crs)
    return not any(known in name for known in ("CRS84", "EPSG::4326", "EPSG:4326"))


def _features(features: Sequence[Any], maps: Maps) -> None:
    if len(features) > MOST_FEATURES:
        raise TooMuch
    seen: dict[str, int] = {}
    for number, feature in enumerate(features, start=1):
        shape = _feature(feature, number, maps)
        if shape is None:
            continue
        if shape.id in seen:
            maps.finding("map.double_id", maps.where(number, shape.name), id=shape.id, first=seen[shape.id])
            continue
        seen[shape.id] = number
        maps.shapes.append(shape)


def _feature(feature: Any, number: int, maps: Maps) -> Shape | None:
    if not isinstance(feature, dict) or feature.get("type") != "Feature":
        maps.finding("map.no_feature", maps.where(number, ""))
        return None
    properties = feature.get("properties")
    properties = properties if isinstance(properties, dict) else {}
    name = _word(properties, "name")
    where = maps.where(number, shown(name))
    kind = _kind(properties, where, maps)
    numbered = name if kind == "paddock" and name else f"{kind or 'feature'}-{number}"
    ident = _word(feature, "id") or _word(properties, "id") or numbered
    geometry = _geometry(feature.get("geometry"), where, maps)
    if kind is None or geometry is None:
        return None
    form, rings, points = geometry
    if kind in ENCLOSES and form not in AREAS:
        level: Level = "error" if kind == "paddock" else "question"
        maps.finding("map.not_closed", where, level=level, kind=kind, form=form)
        return None
    return Shape(
        ident, kind, name or ident, form, rings, points, note=_word(properties, "note"),
        public=properties.get("public") is not False, plant=_plant(properties, where, maps),
        planting=_word(properties, "planting"), row=_word(properties, "row"),
        width_m=_width_m(properties, where, maps),
    )  # fmt: skip


def _word(data: Mapping[str, Any], key: str) -> str:
    value = data.get(key)
    return shown(value).strip() if isinstance(value, (str, int)) and not isinstance(value, bool) else ""


def _plant(properties: Mapping[str, Any], where: str, maps: Maps) -> str:
    """Return which plant of the closed list a hazard is, or nothing; an unknown word is asked about."""
    plant, known = _word(properties, "plant"), words("plant")
    if not plant or plant in known:
        return plant
    near = nearest(plant, known)
    maps.finding("map.plant", where, level="question", plant=plant, near=near or "-", known=", ".join(known))
    return ""


def _width_m(properties: Mapping[str, Any], where: str, maps: Maps) -> float | None:
    """Return the width of a lane, or None; a width without a unit is asked about. [m]"""
    typed = _word(properties, "width")
    if not typed:
        return None
    try:
        width = parse(typed, "length").to("m")
    except NotAQuantity:
        width = -1.0
    if SETBACK.hold(width):
        return width
    maps.finding("map.width", where, level="question", width=typed)
    return None


def _kind(properties: Mapping[str, Any], where: str, maps: Maps) -> str | None:
    kind, known = _word(properties, "kind"), words("shape")
    if kind in known:
        return kind
    near = nearest(kind, known) if kind else None
    fields: dict[str, Any] = {"kind": shown(kind), "known": ", ".join(known)}
    if not kind:
        maps.finding("map.no_kind", where, known=fields["known"])
    elif near is None:
        maps.finding("map.kind", where, **fields)
    else:
        maps.finding("map.kind_near", where, near=near, **fields)
    return None


# ---------------------------------------------------------------- geometry


def _geometry(geometry: Any, where: str, maps: Maps) -> tuple[str, tuple[Ring, ...], Ring] | None:
    """Return form, rings and points of a geometry; lines of a MultiLineString are its rings."""
    form = geometry.get("type") if isinstance(geometry, dict) else None
    if form not in (*POINTS, *LINES, *AREAS):
        maps.finding("map.geometry", where, form=shown(form))
        return None
    try:
        return _parts(form, geometry.get("coordinates"), where, maps)
    except TooMuch:
        raise
    except (ValueError, TypeError, IndexError, OverflowError):
        maps.finding("map.coordinates", where)
        return None


def _parts(form: str, at: Any, where: str, maps: Maps) -> tuple[str, tuple[Ring, ...], Ring] | None:
    if form in POINTS:
        spots = _spots([at] if form == "Point" else at, maps)
        return (form, (), spots) if _on_earth(spots, where, maps) else None
    if form in LINES:
        lines = tuple(_spots(line, maps) for line in ([at] if form == "LineString" else at))
        if any(len(line) < 2 for line in lines):
            raise ValueError(form)
        if not all(_on_earth(line, where, maps) for line in lines):
            return None
        return (form, (), lines[0]) if len(lines) == 1 else (form, lines, ())
    rings = tuple(_rings([at] if form == "Polygon" else at, maps))
    if not rings:
        raise ValueError(form)
    return (form, rings, ()) if all(_on_earth(ring, where, maps) for ring in rings) else None


def _rings(polygons: Any, maps: Maps) -> Iterator[Ring]:
    for polygon in polygons:
        for number, coordinates in enumerate(polygon):
            ring = _spots(coordinates, maps)
            if ring and ring[0] != ring[-1]:
                ring = (*ring, ring[0])
            if len(set(ring)) < 3:
                raise ValueError("a ring needs three corners")
            yield ring if (_turns_left(ring)) == (number == 0) else ring[::-1]


def _spots(coordinates: Any, maps: Maps) -> Ring:
    maps.points += len(coordinates)
    if maps.points > MOST_POINTS:
        raise TooMuch
    spots = []
    for spot in coordinates:
        if len(spot) < 2 or isinstance(spot, str) or any(isinstance(x, (bool, str)) for x in spot[:2]):
            raise TypeError(spot)
        spots.append((float(spot[0]), float(spot[1])))
    return tuple(spots)


def _on_earth(spots: Ring, where: str, maps: Maps) -> bool:
    """Return whether every point can be a place; say where longitude and latitude must be swapped."""
    if not all(math.isfinite(x) and math.isfinite(y) for x, y in spots):
        raise ValueError("no finite place")
    if all(abs(lon) <= 180 and abs(lat) <= 90 for lon, lat in spots):
        return True
    if all(abs(lat) <= 180 and abs(lon) <= 90 for lon, lat in spots):
        maps.finding("map.swapped", where)
    else:
        lon, lat = next((x, y) for x, y in spots if abs(x) > 180 or abs(y) > 90)
        maps.finding("map.off_earth", where, longitude=f"{lon:g}", latitude=f"{lat:g}")
    return False


def _turns_left(ring: Ring) -> bool:
    """Return whether a ring runs counter-clockwise."""
    east, north = ring[0]
    turned = sum(
        (x1 - east) * (y2 - north) - (x2 - east) * (y1 - north) for (x1, y1), (x2, y2) in pairwise(ring)
    )
    return turned > 0
