"""A sketch of the farm in local metres: outlines with names, gates, water, energiser, hazards.

Longitudes and latitudes stop here. What comes out is metres east and north of the sketch's own
corner, rounded to the metre, so that no place on Earth can be read from it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from browseline.farm.records import Farm, Ring, Shape

if TYPE_CHECKING:
    from collections.abc import Callable

HATCH_M_PER_WIDTH = 1 / 40
EDGE = 0.02
SCALES_M = (10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000)
SCALES_FT = (50, 100, 200, 250, 500, 1000, 2000, 5000)
MARKS = ("gate", "water", "energiser", "hazard")
LINES = ("lane", "building")
BESIDE = 0.15
Local = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Outline:
    """A paddock: its outline, where its name stands, how much room is there, hatch where it is shut. [m]"""

    id: str
    name: str
    ring: Local
    spot: tuple[float, float]
    room_m: tuple[float, float]
    hatch: tuple[Local, ...] = ()


@dataclass(frozen=True, slots=True)
class Sketch:
    """Everything drawn, in metres right of and below the upper left corner, north up."""

    wide_m: float
    deep_m: float
    paddocks: tuple[Outline, ...]
    lines: tuple[tuple[str, Local], ...]
    marks: tuple[tuple[str, tuple[float, float]], ...]
    bar: float
    bar_unit: str
    bar_m: float


def sketch(farm: Farm, shut: Iterable[str], drawn: tuple[str, ...] = LINES) -> Sketch | None:
    """Return the sketch of a farm; None where the map holds no paddock.

    Parameters
    ----------
    shut : iterable of str
        Ids of the paddocks to hatch.
    drawn : tuple of str
        Kinds of lines and outlines to draw beside the paddocks.
    """
    fields = _fields(farm)
    if not fields:
        return None
    plane = _plane([shape for _, _, shape in fields])
    rings = [[plane(ring) for ring in shape.rings] for _, _, shape in fields]
    every = [ring for own in rings for ring in own]
    lines, marks = _beside(every, farm, plane, drawn)
    frame = _Frame.around([*every, *(ring for _, ring in lines)], marks)
    closed = set(shut)
    outlines = tuple(
        outline_of(ident, name, frame.moved(max(own, key=_area)), ident in closed, frame.wide)
        for (ident, name, _), own in zip(fields, rings, strict=True)
    )
    bar, unit, bar_m = bar_of(frame.wide, farm)
    return Sketch(
        round(frame.wide, 1),
        round(frame.deep, 1),
        outlines,
        tuple((kind, frame.moved(ring)) for kind, ring in lines),
        tuple((kind, frame.moved((spot,))[0]) for kind, spot in marks),
        bar,
        unit,
        bar_m,
    )


def _fields(farm: Farm) -> list[tuple[str, str, Shape]]:
    """Return id, name and shape of every paddock that the map draws."""
    shapes = {s.id: s for s in farm.shapes if s.rings}
    found = ((p.id, p.name, shapes.get(p.shape or p.id)) for p in farm.paddocks)
    return [(ident, name, shape) for ident, name, shape in found if shape is not None]


@dataclass(frozen=True, slots=True)
class _Frame:
    """The box round everything drawn, with a little edge. [m]"""

    left: float
    top: float
    wide: float
    deep: float

    @classmethod
    def around(cls, rings: list[Local], marks: list[tuple[str, tuple[float, float]]]) -> _Frame:
        spots = [spot for ring in rings for spot in ring] + [spot for _, spot in marks]
        xs, ys = [x for x, _ in spots], [y for _, y in spots]
        edge = EDGE * max(max(xs) - min(xs), max(ys) - min(ys), 1.0)
        return cls(min(xs) - edge, max(ys) + edge, max(xs) - min(xs) + 2 * edge, max(ys) - min(ys) + 2 * edge)

    def moved(self, ring: Local) -> Local:
        """Return spots as right of and below the upper left corner, to the metre."""
        return tuple((float(round(x - self.left)), float(round(self.top - y))) for x, y in ring)


def _beside(
    fields: list[Local], farm: Farm, plane: Callable[[Ring], Local], drawn: tuple[str, ...]
) -> tuple[list[tuple[str, Local]], list[tuple[str, tuple[float, float]]]]:
    """Return lanes, buildings and marks in or near the paddocks: what lies far off would shrink them."""
    from shapely import LineString, Point, box

    xs, ys = [x for r in fields for x, _ in r], [y for r in fields for _, y in r]
    beside = BESIDE * max(max(xs) - min(xs), max(ys) - min(ys))
    near = box(min(xs) - beside, min(ys) - beside, max(xs) + beside, max(ys) + beside)
    lines: list[tuple[str, Local]] = []
    marks: list[tuple[str, tuple[float, float]]] = []
    for shape in farm.shapes:
        if shape.kind in drawn:
            for ring in map(plane, shape.rings or (shape.points,)):
                found = LineString(ring).intersection(near) if len(ring) > 1 else Point()
                parts = getattr(found, "geoms", [found])
                lines += [(shape.kind, tuple(p.coords)) for p in parts if p.geom_type == "LineString"]
        if shape.kind in MARKS:
            marks += [(shape.kind, spot) for spot in _spots(plane, shape) if near.covers(Point(spot))]
    return lines, marks


def _plane(shapes: list[Shape]) -> Callable[[Ring], Local]:
    """Return the projection to metres on the plane that touches the ellipsoid amid the paddocks."""
    from pyproj import Proj

    spots = [spot for s in shapes for ring in s.rings for spot in ring]
    middle = [(min(part) + max(part)) / 2 for part in zip(*spots, strict=True)]
    flat = Proj(proj="aeqd", lon_0=middle[0], lat_0=middle[1], ellps="WGS84")

    def project(ring: Ring) -> Local:
        return tuple((float(x), float(y)) for x, y in (flat(lon, lat) for lon, lat in ring))

    return project


def _spots(plane: Callable[[Ring], Local], shape: Shape) -> Iterator[tuple[float, float]]:
    """Yield where a mark stands: a point itself, the middle of a line or of a ring."""
    if shape.points and shape.geometry in ("Point", "MultiPoint"):
        yield from plane(shape.points)
        return
    for ring in shape.rings or ((shape.points,) if shape.points else ()):
        local = plane(ring)
        yield sum(x for x, _ in local) / len(local), sum(y for _, y in local) / len(local)


def _polygon(ring: Local) -> Any:
    from shapely import Polygon

    return Polygon(ring).buffer(0)


def _area(ring: Local) -> float:
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1], strict=True))) / 2


def outline_of(ident: str, name: str, ring: Local, shut: bool, wide_m: float) -> Outline:
    """Return a paddock as it is drawn: with the spot that has most room for its name, hatched if shut."""
    from shapely import LineString, maximum_inscribed_circle

    field = _polygon(ring)
    if field.is_empty or field.area == 0:
        return Outline(ident, name, ring, ring[0], (0.0, 0.0))
    spot = maximum_inscribed_circle(field).coords[0]
    left, top, right, bottom = field.bounds
    across = field.intersection(LineString([(left, spot[1]), (right, spot[1])])).length
    down = field.intersection(LineString([(spot[0], top), (spot[0], bottom)])).length
    hatch = tuple(_hatch(field, wide_m * HATCH_M_PER_WIDTH)) if shut else ()
    return Outline(
        ident, name, ring, (round(spot[0]), round(spot[1])), (round(across, 1), round(down, 1)), hatch
    )


def _hatch(field: Any, step_m: float) -> Iterator[Local]:
    """Yield slanting lines inside a paddock."""
    from shapely import LineString

    left, top, right, bottom = field.bounds
    deep = bottom - top
    x = left - deep + step_m / 2
    while x < right:
        found = field.intersection(LineString([(x, bottom), (x + deep, top)]))
        for part in getattr(found, "geoms", [found]):
            if part.geom_type == "LineString" and not part.is_empty:
                yield tuple((round(a, 1), round(b, 1)) for a, b in part.coords)
        x += step_m


def bar_of(wide_m: float, farm: Farm) -> tuple[float, str, float]:
    """Return the scale bar: a round length of at most a quarter of the sketch, its unit, and metres."""
    from browseline.units import factor

    unit, lengths = ("ft", SCALES_FT) if farm.units == "acres" else ("m", SCALES_M)
    metres = factor(unit, "m")
    fitting = [n for n in lengths if n * metres <= wide_m / 4] or [lengths[0]]
    return float(fitting[-1]), unit, round(fitting[-1] * metres, 2)


NEAR_M = 10.0


def near(farm: Farm, hazard: Shape) -> tuple[str, ...]:
    """Return the paddocks that a hazard lies in, or within ``NEAR_M`` of: about a phone's error."""
    fields = _fields(farm)
    if not fields:
        return ()
    from shapely import LineString, Point

    plane = _plane([s for _, _, s in fields])
    parts = [plane(r) for r in (*hazard.rings, *((hazard.points,) if hazard.points else ()))]
    pins = [LineString(part) if len(part) > 1 else Point(part[0]) for part in parts]
    return tuple(
        ident
        for ident, _, shape in fields
        if any(_polygon(plane(r)).distance(pin) <= NEAR_M for r in shape.rings for pin in pins)
    )
