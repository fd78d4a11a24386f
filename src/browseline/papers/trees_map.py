"""Rows of trees, and the light that they leave, as a drawing for reading: local metres, north up.

No longitude and no latitude comes in. Light is in greys by class, darker is less, so that it reads in a grey
print; every fact of the drawing stands in the tables beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from browseline.chain.canopy_page import CanopyPage, Seen, canopy_seen
from browseline.chain.canopy_page import page_of as canopy_told
from browseline.chain.laid import laid_out
from browseline.chain.layout_page import LayoutTold, told_of
from browseline.chain.look import Picture
from browseline.farm.records import Farm
from browseline.layout.form import Layout
from browseline.papers.farm_map import SHARES, fits
from browseline.papers.light_map import classes, grey_png, greys
from browseline.papers.sketch import Local, Outline, bar_of, outline_of
from browseline.units import plain
from browseline.words import say

AROUND = 0.03
"""Room round what is drawn, as a share of its longer side."""


@dataclass(frozen=True, slots=True)
class Field:
    """A paddock: its outlines, where its name stands, and the name on the narrow and on the wide drawing."""

    rings: tuple[Local, ...]
    spot: tuple[float, float]
    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shade:
    """Where the light's greys lie, and what each grey stands for, the lightest first."""

    corner: tuple[float, float]
    wide_m: float
    deep_m: float
    classes: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class TreesMap:
    """Paddocks and rows in metres right of and below the upper left corner.

    ``text_m`` is the height of the letters on the narrow drawing and on the wide one; of a row is told
    whether it is only planned, and its line.
    """

    wide_m: float
    deep_m: float
    text_m: tuple[float, ...]
    fields: tuple[Field, ...]
    rows: tuple[tuple[bool, Local], ...]
    bar_m: float
    bar: str
    shade: Shade | None


@dataclass(frozen=True, slots=True)
class LayoutView:
    """The page Layout with its drawing; None without a map."""

    page: LayoutTold
    map: TreesMap | None


@dataclass(frozen=True, slots=True)
class CanopyView:
    """The page Canopy with its drawing, and the greys of the light as PNG; None without trees on a map."""

    page: CanopyPage
    map: TreesMap | None
    greys: bytes | None


def layout_view(picture: Picture) -> LayoutView:
    """Return where a farm's trees stand or shall stand, told and drawn."""
    farm = picture.farm
    made = laid_out(picture.folder, farm, picture.state)
    return LayoutView(told_of(farm, made), trees_map(farm, made, _outlines(farm)))


def canopy_view(picture: Picture, year: int | None = None, month: int | None = None) -> CanopyView:
    """Return the light under a farm's trees in a month, told and drawn; as ``canopy_page`` takes them."""
    seen = canopy_seen(picture, year, month)
    page = canopy_told(picture, seen)
    if seen is None:
        return CanopyView(page, None, None)
    drawn = trees_map(seen.farm, seen.layout, seen.cells.outlines, seen)
    return CanopyView(page, drawn, grey_png(greys(seen.map.light_frac)[::-1]))


def _outlines(farm: Farm) -> dict[str, Any]:
    from browseline.layout.place import outlines
    from browseline.layout.plane import plane_of

    return outlines(farm, plane_of(farm.shapes)) if farm.shapes else {}


def trees_map(
    farm: Farm, layout: Layout, outlines: Mapping[str, Any], seen: Seen | None = None
) -> TreesMap | None:
    """Return the drawing of a layout, with the light in it where it is given; None without an outline.

    Parameters
    ----------
    farm : Farm
    layout : Layout
    outlines : mapping from paddock to shapely geometry
        On the layout's plane. [m]
    seen : Seen, optional
        The light of a month.
    """
    if not outlines:
        return None
    frame = _Frame.around([*(o.bounds for o in outlines.values()), *_reach(layout)])
    text_m = tuple(frame.wide * share for share in SHARES.values())
    names = {p.id: p.name for p in farm.paddocks}
    made = [_outline(ident, names[ident], area, frame) for ident, area in outlines.items()]
    planned = {p.id for p in layout.plantings if p.to_plant}
    bar, unit, bar_m = bar_of(frame.wide, farm)
    return TreesMap(
        round(frame.wide, 1), round(frame.deep, 1), text_m,
        tuple(Field(rings, one.spot, tuple(_labels(one, made, text_m))) for one, rings in made),
        tuple((row.planting in planned, frame.moved(line)) for row in layout.rows for line in row.lines),
        bar_m, say("papers.relief.map.bar", length=plain(bar), unit=unit), _shade(seen, frame),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Frame:
    """The box round everything drawn, with a little room. [m]"""

    west: float
    north: float
    wide: float
    deep: float

    @classmethod
    def around(cls, bounds: Iterable[tuple[float, float, float, float]]) -> _Frame:
        west, south, east, north = (list(side) for side in zip(*bounds, strict=True))
        across, down = max(east) - min(west), max(north) - min(south)
        room = AROUND * max(across, down)
        return cls(min(west) - room, max(north) + room, across + 2 * room, down + 2 * room)

    def moved(self, ring: Iterable[tuple[float, ...]]) -> Local:
        """Return spots of the plane as right of and below the corner."""
        return tuple((round(x - self.west, 1), round(self.north - y, 1)) for x, y, *_ in ring)


def _reach(layout: Layout) -> Iterator[tuple[float, float, float, float]]:
    """Yield the box of every row."""
    for line in (line for row in layout.rows for line in row.lines):
        east, north = [x for x, _ in line], [y for _, y in line]
        yield min(east), min(north), max(east), max(north)


def _outline(ident: str, name: str, area: Any, frame: _Frame) -> tuple[Outline, tuple[Local, ...]]:
    parts = list(getattr(area, "geoms", [area]))
    rings = [frame.moved(ring.coords) for part in parts for ring in (part.exterior, *part.interiors)]
    largest = max(parts, key=lambda part: part.area)
    return outline_of(ident, name, frame.moved(largest.exterior.coords), False, frame.wide), tuple(rings)


def _labels(
    one: Outline, every: Iterable[tuple[Outline, object]], text_m: tuple[float, ...]
) -> Iterator[str]:
    """Yield the name of a paddock, or its number where one of the names has no room."""
    for size_m in text_m:
        yield one.name if all(fits(other.name, other, size_m) for other, _ in every) else one.id


def _shade(seen: Seen | None, frame: _Frame) -> Shade | None:
    if seen is None:
        return None
    grid = seen.cells.grid
    rows, cols = grid.ground_m.shape
    corner = (grid.x_m - grid.cell_m / 2, grid.y_m + grid.cell_m * (rows - 0.5))
    return Shade(frame.moved([corner])[0], cols * grid.cell_m, rows * grid.cell_m, tuple(classes()))
