"""Shapes of KML and GPX files. No entity, no document type and nothing outside the file is ever read."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from browseline.errors import BadInput, finding
from browseline.exchange.drawn import Counter, Drawn, Spot, line_or_ring

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

ENDS_MEET_M = 30.0
ENDS_MEET_SHARE = 0.05
DEEPEST = 200


def parsed(raw: bytes, name: str) -> Element:
    """Return the tree of an XML text.

    Raises
    ------
    BadInput
        If it declares a document type or an entity, or is no XML.
    """
    import xml.etree.ElementTree as Tree

    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    try:
        tree: Element = fromstring(raw, forbid_dtd=True, forbid_entities=True, forbid_external=True)
    except DefusedXmlException:
        raise BadInput([finding("maps.doctype", name)]) from None
    except (Tree.ParseError, ValueError, LookupError) as wrong:
        line = getattr(wrong, "position", (1, 0))[0]
        raise BadInput([finding("maps.no_xml", f"{name}:{line}")]) from None
    return tree


def local(element: Element) -> str:
    """Return the name of an element without its namespace."""
    return str(element.tag).rpartition("}")[2]


def child(element: Element, name: str) -> Element | None:
    """Return the first child of a name, whatever its namespace."""
    return next((part for part in element if local(part) == name), None)


def text_of(element: Element, name: str) -> str:
    """Return the text of a child, or nothing."""
    found = child(element, name)
    return (found.text or "").strip() if found is not None else ""


# ---------------------------------------------------------------- KML


def read_kml(raw: bytes, name: str) -> list[Drawn]:
    """Return the shapes of a KML file; links to other files are not followed.

    Raises
    ------
    BadInput
        If the file cannot be read as KML.
    """
    tree = parsed(raw, name)
    if local(tree) != "kml":
        raise BadInput([finding("maps.no_kml", name)])
    counter = Counter(name)
    return [
        drawn for mark in tree.iter() if local(mark) == "Placemark" for drawn in _placemark(mark, counter)
    ]


def _placemark(mark: Element, counter: Counter) -> Iterator[Drawn]:
    name, word = text_of(mark, "name"), _kind_word(mark)
    for geometry in _geometries(mark):
        try:
            form, coordinates = _kml_geometry(geometry)
        except ValueError:
            raise BadInput([finding("maps.numbers", f'{counter.name} "{name}"')]) from None
        counter.add(_points(coordinates))
        yield Drawn(name, word, form, coordinates)


def _points(coordinates: Any) -> int:
    if coordinates and isinstance(coordinates[0], list):
        return sum(map(_points, coordinates))
    return 1


def _kind_word(mark: Element) -> str:
    """Return what the extended data of a placemark call its kind."""
    for data in mark.iter():
        if local(data) in ("Data", "SimpleData") and data.get("name", "").lower() in ("kind", "type"):
            return text_of(data, "value") or (data.text or "").strip()
    return ""


def _geometries(mark: Element, depth: int = 0) -> Iterator[Element]:
    for part in mark:
        if local(part) in ("MultiGeometry", "MultiTrack") and depth < DEEPEST:
            yield from _geometries(part, depth + 1)
        elif local(part) in ("Point", "LineString", "LinearRing", "Polygon", "Track"):
            yield part


def _kml_geometry(geometry: Element) -> tuple[str, Any]:
    kind = local(geometry)
    if kind == "Polygon":
        outer = [ring for part in geometry if local(part) == "outerBoundaryIs" for ring in _ring_of(part)]
        inner = [ring for part in geometry if local(part) == "innerBoundaryIs" for ring in _ring_of(part)]
        return "Polygon", [_closed(ring) for ring in outer[:1] + inner]
    if kind == "Track":
        spots = [_spot(c.text or "", None) for c in geometry if local(c) == "coord"]
    else:
        spots = _spots(text_of(geometry, "coordinates"))
    if kind == "Point":
        return "Point", list(spots[0]) if spots else []
    return line_or_ring(spots, kind == "LinearRing" or comes_back(spots))


def _ring_of(boundary: Element) -> list[list[Spot]]:
    ring = child(boundary, "LinearRing")
    return [_spots(text_of(ring, "coordinates"))] if ring is not None else []


def _closed(ring: list[Spot]) -> list[list[float]]:
    return [list(spot) for spot in (ring if ring[:1] == ring[-1:] else [*ring, ring[0]])]


def _spots(text: str) -> list[Spot]:
    return [_spot(piece, ",") for piece in text.split()]


def _spot(text: str, comma: str | None) -> Spot:
    numbers = [float(number) for number in text.split(comma)[:2]]
    if len(numbers) < 2 or not all(map(math.isfinite, numbers)):
        raise ValueError(text)
    return numbers[0], numbers[1]


# ---------------------------------------------------------------- GPX


def read_gpx(raw: bytes, name: str) -> list[Drawn]:
    """Return the shapes of a GPX file: tracks and routes that come back are outlines, the others lines.

    Raises
    ------
    BadInput
        If the file cannot be read as GPX.
    """
    tree = parsed(raw, name)
    if local(tree) != "gpx":
        raise BadInput([finding("maps.no_gpx", name)])
    counter = Counter(name)
    return [drawn for part in tree for drawn in _gpx_part(part, counter)]


def _gpx_part(part: Element, counter: Counter) -> Iterator[Drawn]:
    kind, name, word = local(part), text_of(part, "name"), text_of(part, "type")
    try:
        if kind == "wpt":
            counter.add(1)
            yield Drawn(name, word, "Point", list(_place(part)))
        elif kind == "rte":
            yield from _walked(name, word, [_place(p) for p in part if local(p) == "rtept"], counter)
        elif kind == "trk":
            for segment in (s for s in part if local(s) == "trkseg"):
                spots = [_place(p) for p in segment if local(p) == "trkpt"]
                yield from _walked(name, word, spots, counter)
    except ValueError:
        raise BadInput([finding("maps.numbers", f'{counter.name} "{name}"')]) from None


def _place(point: Element) -> Spot:
    return _spot(f"{point.get('lon', '')} {point.get('lat', '')}", None)


def _walked(name: str, word: str, spots: list[Spot], counter: Counter) -> Iterator[Drawn]:
    counter.add(len(spots))
    if len(spots) >= 2:
        yield Drawn(name, word, *line_or_ring(spots, comes_back(spots)))


def comes_back(spots: list[Spot]) -> bool:
    """Return whether a walked line ends where it began: within 30 m, or 5 % of its length."""
    if len(spots) < 4:
        return False
    if spots[0] == spots[-1]:
        return True
    from pyproj import Geod

    globe = Geod(ellps="WGS84")
    length = globe.line_length([x for x, _ in spots], [y for _, y in spots])
    gap = globe.inv(*spots[0], *spots[-1])[2]
    return bool(gap <= min(ENDS_MEET_M, length / 4) or gap <= ENDS_MEET_SHARE * length)
