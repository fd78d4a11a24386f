"""Outlines as a phone draws them: a rectangle or a blob walked with an error that wanders, in KML and GPX."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

import numpy as np
from pyproj import Geod

GLOBE = Geod(ellps="WGS84")
CENTRE = (-45.0, 41.0)
Spot = tuple[float, float]


def square(side_m: float, centre: Spot = CENTRE) -> list[Spot]:
    """Return the corners of a square, first repeated at the end."""
    half = side_m / math.sqrt(2)
    spots = [GLOBE.fwd(*centre, azimuth, half)[:2] for azimuth in (45, -45, -135, 135)]
    return [(float(x), float(y)) for x, y in [*spots, spots[0]]]


def blob(rng: np.random.Generator, points: int, centre: Spot = CENTRE, mean_m: float = 50.0) -> list[Spot]:
    """Return a rounded field with an uneven edge, in the order of walking."""
    turn = np.linspace(0, 360, points, endpoint=False)
    far = mean_m * (1 + 0.15 * np.sin(np.radians(3 * turn + rng.uniform(0, 360))))
    spots = [GLOBE.fwd(*centre, -t, d)[:2] for t, d in zip(turn, far, strict=True)]
    return [(float(x), float(y)) for x, y in [*spots, spots[0]]]


def walked(ring: Sequence[Spot], rng: np.random.Generator, error_m: float, step_m: float = 3.0) -> list[Spot]:
    """Return a ring as a phone records it: a point every few metres, with an error that wanders slowly.

    ``error_m`` is the root mean square distance from the true place.
    """
    true: list[Spot] = []
    for one, other in itertools.pairwise(ring):
        azimuth, _, length = GLOBE.inv(*one, *other)
        steps = max(int(length // step_m), 1)
        true += [GLOBE.fwd(*one, azimuth, length * n / steps)[:2] for n in range(steps)]
    drift = np.zeros(2)
    out = []
    keep = 0.97
    for lon, lat in true:
        drift = keep * drift + rng.normal(0, error_m / math.sqrt(2) * math.sqrt(1 - keep**2), 2)
        azimuth = math.degrees(math.atan2(drift[0], drift[1]))
        spot = GLOBE.fwd(lon, lat, azimuth, float(np.hypot(*drift)))
        out.append((round(float(spot[0]), 7), round(float(spot[1]), 7)))
    return out


def kml(rings: Iterable[tuple[str, Sequence[Spot]]], form: str = "Polygon") -> str:
    """Return a KML text as a phone writes it, heights and all."""
    marks = []
    for name, ring in rings:
        text = " ".join(f"{x},{y},212.4" for x, y in ring)
        inner = f"<coordinates>{text}</coordinates>"
        if form == "Polygon":
            inner = f"<outerBoundaryIs><LinearRing>{inner}</LinearRing></outerBoundaryIs>"
        marks.append(f"<Placemark><name>{name}</name><{form}>{inner}</{form}></Placemark>")
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
        f"{''.join(marks)}</Document></kml>"
    )


def gpx(tracks: Iterable[tuple[str, Sequence[Spot]]]) -> str:
    """Return a GPX text of tracks with times, as a phone writes it."""
    parts = []
    for name, track in tracks:
        points = "".join(
            f'<trkpt lat="{y}" lon="{x}"><ele>212.4</ele><time>2026-05-06T07:{n // 60 % 60:02d}:{n % 60:02d}Z'
            "</time></trkpt>"
            for n, (x, y) in enumerate(track)
        )
        parts.append(f"<trk><name>{name}</name><trkseg>{points}</trkseg></trk>")
    return (
        '<?xml version="1.0"?><gpx version="1.1" creator="phone" xmlns="http://www.topografix.com/GPX/1/1">'
        f"{''.join(parts)}</gpx>"
    )
