"""Boundaries from other programs into ``map.geojson``: KML, KMZ, GPX, Shapefile, GeoPackage, GeoJSON."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from browseline.errors import BadInput, Finding, errors_in, finding
from browseline.exchange.drawn import MEGABYTE, MOST_BYTES, Drawn
from browseline.exchange.gis_maps import read_package, read_shapefile, read_zip
from browseline.exchange.xml_maps import read_gpx, read_kml
from browseline.farm.check import together
from browseline.farm.draft import slug
from browseline.farm.map_area import plane, polygon
from browseline.farm.map_check import check_map, check_overlaps
from browseline.farm.map_geojson import AREAS, ENCLOSES, Maps, parse_map, take_map
from browseline.farm.names import words
from browseline.farm.read import MAP
from browseline.farm.read import read as read_farm
from browseline.farm.records import Place, Shape
from browseline.farm.write import write_text

ENDINGS = (".kml", ".kmz", ".gpx", ".shp", ".zip", ".gpkg", ".geojson", ".json")
ZIPPED = (".shp", ".gpkg", ".kml", ".gpx", ".geojson", ".json")
MOST_LOOP = 0.02
MOST_HELD = 2
NEARLY_ALL = 0.95


@dataclass(frozen=True, slots=True)
class Imported:
    """The features of a foreign file in the form of ``map.geojson``, its shapes, and what was found."""

    features: tuple[dict[str, Any], ...]
    shapes: tuple[Shape, ...]
    findings: tuple[Finding, ...]


def read_foreign(path: Path | str, kind: str | None = None, place: Place | None = None) -> Imported:
    """Read the shapes of a foreign map file; nothing is written.

    Parameters
    ----------
    path : Path or str
        A file on this machine. Addresses and virtual paths are refused.
    kind : str, optional
        What every shape is. Without it the file's own word counts, else an outline is a paddock
        and everything else is ``other``.
    place : Place, optional
        Where the farm lies, to notice swapped coordinates.

    Returns
    -------
    Imported
        With no features where a finding is an error.
    """
    path = Path(path)
    try:
        drawn = _drawn(path)
    except BadInput as bad:
        return Imported((), (), bad.findings)
    if not drawn:
        return Imported((), (), (finding("maps.nothing", path.name),))
    found: list[Finding] = []
    mended = [_mended(one, path.name, found) for one in drawn]
    features = _features(mended, kind)
    maps = Maps(path.name)
    take_map({"type": "FeatureCollection", "features": features}, maps)
    check_map(maps, place)
    outer = _boundaries(maps) if kind is None else set()
    maps.shapes = [replace(s, kind="boundary") if s.id in outer else s for s in maps.shapes]
    for feature in features:
        if feature["id"] in outer:
            feature["properties"]["kind"] = "boundary"
    check_overlaps(maps, lambda _a, _b: True)
    findings = (*found, *maps.found)
    if errors_in(findings):
        return Imported((), (), findings)
    return Imported(tuple(features), tuple(maps.shapes), findings)


def import_map(
    folder: Path | str, path: Path | str, kind: str | None = None, place: Place | None = None
) -> Imported:
    """Add the shapes of a foreign file to the map of a farm.

    A shape of the same kind and name as one that is there takes its place and its id.

    Raises
    ------
    BadInput
        With every finding, if the file or the map it would make has a fault. Nothing is then written.
    """
    farm = read_farm(folder).farm
    place = place or (farm.place if farm is not None else None)
    read = read_foreign(path, kind, place)
    if errors_in(read.findings):
        raise BadInput(read.findings)
    target = Path(folder) / MAP
    features, replaced = merged(_features_there(target), read.features)
    text = json.dumps({"type": "FeatureCollection", "features": features}, indent=1, ensure_ascii=False)
    maps = Maps(MAP)
    parse_map(text, maps)
    check_map(maps, place)
    check_overlaps(maps, together(farm.paddocks if farm is not None else ()))
    if errors_in(maps.found):
        raise BadInput(maps.found)
    write_text(target, text + "\n")
    notes = [finding("maps.replaced", MAP, level="note", name=name) for name in replaced]
    return replace(read, findings=(*read.findings, *notes))


def merged(
    there: Iterable[dict[str, Any]], new: Iterable[dict[str, Any]]
) -> tuple[list[dict[str, Any]], list[str]]:
    """Return the features of a map with new ones, and the names of those whose outline was replaced."""
    features = [dict(feature) for feature in there]
    taken = {str(feature.get("id")) for feature in features}
    by_name = {_called(feature): feature for feature in features}
    replaced = []
    for feature in new:
        old = by_name.get(_called(feature))
        if old is not None:
            old["geometry"] = feature["geometry"]
            replaced.append(str(feature["properties"]["name"]))
            continue
        ident = _free(str(feature["id"]), taken)
        taken.add(ident)
        features.append({**feature, "id": ident})
    return features, replaced


def _called(feature: dict[str, Any]) -> tuple[str, str]:
    properties = feature.get("properties") or {}
    return str(properties.get("kind")), str(properties.get("name"))


def _features_there(target: Path) -> list[dict[str, Any]]:
    if not target.is_file():
        return []
    text = target.read_text(encoding="utf-8-sig")
    maps = Maps(MAP)
    parse_map(text, maps)
    if errors_in(maps.found):
        raise BadInput(maps.found)
    features: list[dict[str, Any]] = json.loads(text)["features"]
    return features


# ---------------------------------------------------------------- reading


def _drawn(path: Path) -> list[Drawn]:
    """Return what a file draws, by the ending of its name."""
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise BadInput([finding("maps.ending", path.name, known=", ".join(ENDINGS))])
    if not path.is_file():
        raise BadInput([finding("maps.no_file", path.name)])
    if ending == ".shp":
        return read_shapefile(path)
    if ending == ".gpkg":
        return read_package(path)
    if ending in (".zip", ".kmz"):
        inside, read = read_zip(path, ZIPPED if ending == ".zip" else (".kml",))
        return _parsed(read, inside, path.name) if isinstance(read, bytes) else read
    if path.stat().st_size > MOST_BYTES:
        raise BadInput([finding("maps.too_big", path.name, most=MOST_BYTES // MEGABYTE)])
    return _parsed(path.read_bytes(), ending, path.name)


def _parsed(raw: bytes, ending: str, name: str) -> list[Drawn]:
    if len(raw) > MOST_BYTES:
        raise BadInput([finding("maps.too_big", name, most=MOST_BYTES // MEGABYTE)])
    if ending == ".kml":
        return read_kml(raw, name)
    if ending == ".gpx":
        return read_gpx(raw, name)
    return _read_geojson(raw, name)


def _read_geojson(raw: bytes, name: str) -> list[Drawn]:
    """Return the shapes of a GeoJSON file, whatever its properties are."""
    maps = Maps(name)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput([finding("map.no_text", name)]) from None
    try:
        data = json.loads(text)
    except (RecursionError, ValueError):
        data = None
    features = data.get("features") if isinstance(data, dict) else None
    if not isinstance(features, list):
        parse_map(text, maps)
        raise BadInput(maps.found or [finding("map.no_collection", name)])
    drawn = []
    for number, feature in enumerate(features, start=1):
        if isinstance(feature, dict):
            drawn.append(_of_feature(feature, number))
    take_map(data, maps)
    if errors_in(maps.found):
        raise BadInput(maps.found)
    return drawn


def _of_feature(feature: dict[str, Any], number: int) -> Drawn:
    """Return a feature of a foreign GeoJSON; its id and an unknown word are put aside, for the check too."""
    properties = feature.get("properties")
    properties = dict(properties) if isinstance(properties, dict) else {}
    word, name, geometry = properties.get("kind"), properties.get("name"), feature.get("geometry")
    known = word if word in words("shape") else ""
    feature["id"], feature["properties"] = (
        str(number),
        {**properties, "id": str(number), "kind": known or "other"},
    )
    geometry = geometry if isinstance(geometry, dict) else {}
    title = str(name).strip() if isinstance(name, (str, int)) else ""
    return Drawn(title, known, str(geometry.get("type")), geometry.get("coordinates"))


# ---------------------------------------------------------------- to features


def _features(drawn: Iterable[Drawn], kind: str | None) -> list[dict[str, Any]]:
    features: list[dict[str, Any]] = []
    taken: set[str] = set()
    for number, one in enumerate(drawn, start=1):
        sort = kind or _sort(one)
        ident = _free(slug(one.name) or f"{sort}-{number}", taken)
        taken.add(ident)
        properties = {"kind": sort, "name": one.name or ident}
        about = {"type": "Feature", "id": ident, "properties": properties}
        features.append({**about, "geometry": one.geometry()})
    return features


def _sort(one: Drawn) -> str:
    """Return what a shape is: the file's word, else a name that is such a word, else a paddock.

    A paddock may be called "Gate", so the name of an outline counts only where it says *boundary*.
    """
    known = words("shape")
    word, name = one.word.lower(), one.name.lower().replace(" ", "_")
    if word in known:
        return word
    if one.form in AREAS:
        return name if name == "boundary" else "paddock"
    return name if name in known and name not in ENCLOSES else "other"


def _boundaries(maps: Maps) -> set[str]:
    """Return the ids of outlines that enclose two paddocks or more nearly whole: those of farms."""
    import shapely

    shapes = [s for s in maps.shapes if s.kind == "paddock"]
    if len(shapes) <= MOST_HELD:
        return set()
    flat = plane(shapes)
    made = [polygon(s, flat) for s in shapes]
    largest = max(made, key=lambda shape: float(shape.area))
    inside = shapely.area(shapely.intersection(made, largest)) > NEARLY_ALL * shapely.area(made)
    return {shapes[made.index(largest)].id} if int(inside.sum()) > MOST_HELD else set()


def _free(ident: str, taken: set[str]) -> str:
    """Return an id that is not taken: the same, or with a number behind it."""
    if ident not in taken:
        return ident
    return next(f"{ident}-{n}" for n in range(2, len(taken) + 3) if f"{ident}-{n}" not in taken)


def _mended(drawn: Drawn, name: str, found: list[Finding]) -> Drawn:
    """Return a shape without the small loops that a walked line makes at corners; say how small.

    Larger crossings are left as they are, to be told.
    """
    if not drawn.walked:
        return drawn
    import shapely

    ring = drawn.coordinates[0]
    spots = {tuple(map(float, spot[:2])) for spot in ring}
    if len(spots) < 3 or not all(math.isfinite(x) for spot in spots for x in spot):
        return drawn
    outline = shapely.Polygon([spot[:2] for spot in ring])
    if shapely.is_valid(outline):
        return drawn
    parts = [p for p in shapely.get_parts(shapely.make_valid(outline)) if p.geom_type == "Polygon"]
    whole = sum(part.area for part in parts)
    largest = max(parts, key=lambda part: part.area, default=None)
    if largest is None or whole <= 0 or 1 - largest.area / whole > MOST_LOOP:
        return drawn
    where = f'{name} "{drawn.name}"'
    share = f"{(1 - largest.area / whole) * 100:.2g} %"
    found.append(finding("maps.loops", where, level="question", share=share))
    return replace(drawn, coordinates=[[list(spot) for spot in largest.exterior.coords]])
