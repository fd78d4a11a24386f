"""The farm's rows as a drawing: paddocks, rows, stems, what they keep off; scale bar, north, legend.

Shades of grey only, told by shape, dash and word. The drawing holds metres of the sheet and no place on
Earth. The same facts stand in the layout's table.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from browseline.farm.names import label
from browseline.farm.records import Farm, Shape
from browseline.layout.form import LaidPlanting, LaidRow, Layout
from browseline.papers.plan_signs import DASH, FILL, MARK, STEMS, letter, paint, sample, stem, text
from browseline.papers.sketch import SCALES_FT, SCALES_M
from browseline.units import factor, shown
from browseline.words import say

if TYPE_CHECKING:
    from browseline.layout.plane import Plane

WIDE, EDGE, MOST_DEEP = 1000.0, 24.0, 1300.0
HEAD, LINE = 44.0, 22.0
FONT = "Libertinus Serif"
LEAST_STEM, MOST_STEM = 1.3, 7.0
ROW_LABEL = 11.0
AROUND = 0.04
LONGEST_HALF = 84
LEAST_SEEN = 0.25
"""A shape of which less lies on the sheet gets no name."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing as SVG text, with its size in points and what it shows in a sentence."""

    svg: str
    wide_pt: float
    deep_pt: float
    says: str


def drawing_png(picture: Drawing, dots_per_inch: float = 144.0) -> bytes:
    """Return a drawing as PNG."""
    from browseline.papers.sheets import png

    data = {"svg": picture.svg, "wide": picture.wide_pt, "deep": picture.deep_pt, "says": picture.says}
    return png("drawing-1", data, dots_per_inch)


@dataclass(frozen=True, slots=True)
class Sheet:
    """From metres on the plane to points of the sheet: north is up."""

    west: float
    north: float
    scale: float
    wide: float
    deep: float

    @property
    def box(self) -> Any:
        """Return what of the plane lies on the sheet. [m]"""
        import shapely

        east, south = self.west + self.wide / self.scale, self.north - self.deep / self.scale
        return shapely.box(self.west, south, east, self.north)

    def at(self, east_m: float, north_m: float) -> tuple[float, float]:
        """Return a place of the plane on the sheet. [pt]"""
        return EDGE + (east_m - self.west) * self.scale, HEAD + (self.north - north_m) * self.scale


def drawing(
    farm: Farm, layout: Layout, plantings: Iterable[str] | None = None, *, sizes: bool = False
) -> Drawing:
    """Return the farm's rows drawn; with some plantings named, only their paddocks and what lies in them.

    Parameters
    ----------
    farm : Farm
        With the map that the layout was made from.
    layout : Layout
    plantings : iterable of str, optional
        Ids. By default the whole farm.
    sizes : bool
        Whether each paddock tells how large it is.
    """
    from browseline.layout.plane import plane_of

    plane = plane_of(farm.shapes)
    shown_ids = set(plantings) if plantings is not None else {p.id for p in layout.plantings}
    sheet, shapes = sheet_of(farm, layout, plane, shown_ids if plantings is not None else None)
    kept = [p for p in layout.plantings if p.id in shown_ids]
    parts = [clip(sheet), *shapes_drawn(shapes, sheet), "</g>"]
    parts += [*_rows(layout, kept, sheet), *_stems(layout, kept, sheet)]
    parts += [
        *labels(shapes, sheet, farm, sizes=sizes),
        *_row_labels(layout, kept, sheet),
        *marks(shapes, sheet),
    ]
    legend = list(_legend(farm, layout, kept, shapes))
    bottom = HEAD + sheet.deep + 16
    parts += [_title(farm), north_arrow(WIDE - EDGE - 16, 22), *scale_bar(farm, sheet, bottom)]
    columns = 2 if all(len(words) <= LONGEST_HALF for _, words in legend) else 1
    top = bottom + 58
    for number, (sign, words) in enumerate(legend):
        parts += entry(sign, words, number, top, columns)
    deep = top + math.ceil(len(legend) / columns) * LINE + 8
    places = f"{sum(p.places for p in kept):,}"
    says = say("papers.plan.says", farm=farm.name, rows=sum(len(p.rows) for p in kept), places=places)
    return Drawing(svg(parts, deep, says), WIDE, deep, says)


def svg(parts: Iterable[str], deep: float, says: str) -> str:
    """Return a whole drawing of parts, with what it shows as its title. [pt]"""
    body = "\n".join(parts)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE:g}" height="{deep:g}" '
        f'viewBox="0 0 {WIDE:g} {deep:g}" role="img" '
        f'font-family="{FONT}, serif" font-size="14" fill="black">\n'
        f"<title>{escape(says)}</title>\n"
        f'<rect width="{WIDE:g}" height="{deep:g}" fill="white"/>\n{body}\n</svg>\n'
    )


# ---------------------------------------------------------------- the sheet


def sheet_of(
    farm: Farm, layout: Layout, plane: Plane, only: set[str] | None
) -> tuple[Sheet, list[tuple[Shape, Any]]]:
    """Return the sheet round what is drawn, and the shapes that reach into it."""
    import shapely

    from browseline.layout.plane import geometry

    made = [(s, geometry(s, plane)) for s in farm.shapes if s.kind not in ("tree", "tree_row")]
    framing = [g for s, g in made if s.kind in ("boundary", "paddock")] or [g for _, g in made]
    spots = [shapely.MultiPoint([*zip(layout.trees.east_m, layout.trees.north_m, strict=True)])]
    if only is not None:
        homes = {p.paddock for p in layout.plantings if p.id in only}
        ids = {p.shape or p.id for p in farm.paddocks if p.id in homes}
        framing = [g for s, g in made if s.id in ids] or framing
        spots = []
    there = [g for g in (*framing, *spots) if not g.is_empty] or [shapely.Point(0.0, 0.0)]
    box = shapely.box(*shapely.total_bounds(there))
    west, south, east, north = box.buffer(AROUND * max(box.bounds[2] - box.bounds[0], 10.0)).bounds
    scale = min((WIDE - 2 * EDGE) / (east - west), MOST_DEEP / (north - south))
    wide_m = (WIDE - 2 * EDGE) / scale
    west -= (wide_m - (east - west)) / 2
    frame = shapely.box(west, south, west + wide_m, north)
    sheet = Sheet(west, north, scale, WIDE - 2 * EDGE, (north - south) * scale)
    return sheet, [(shape, g) for shape, g in made if g.intersects(frame)]


def clip(sheet: Sheet) -> str:
    """Return the beginning of what is drawn on the sheet only."""
    box = f'<rect x="{EDGE}" y="{HEAD}" width="{sheet.wide:.1f}" height="{sheet.deep:.1f}"/>'
    return f'<clipPath id="sheet">{box}</clipPath><g clip-path="url(#sheet)">'


def path_of(geometry: Any, sheet: Sheet) -> str:
    """Return the outline of a shape on the sheet."""
    import shapely

    parts = []
    for part in shapely.get_parts(geometry):
        rings = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
        for ring in rings:
            spots = [sheet.at(x, y) for x, y in shapely.get_coordinates(ring)]
            close = "Z" if part.geom_type == "Polygon" else ""
            parts.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in spots) + close)
    return "".join(parts)


ORDER = ("boundary", "lane", "yard", "sacrifice", "keep_out", "building", "paddock", "fence",
         "hazard", "buried_line", "overhead_line")  # fmt: skip


def shapes_drawn(shapes: Sequence[tuple[Shape, Any]], sheet: Sheet) -> Iterator[str]:
    """Yield the lines and areas of the map, the undermost first."""
    for kind in ORDER:
        stroke, wide, dash = DASH[kind]
        for shape, geometry in shapes:
            if shape.kind != kind or "Point" in geometry.geom_type:
                continue
            if kind == "lane" and shape.width_m:
                wide = max(shape.width_m * sheet.scale, 2.0)
            dashes = f' stroke-dasharray="{dash}"' if dash else ""
            fill = FILL.get(kind, "none")
            yield (
                f'<path d="{path_of(geometry, sheet)}" fill="{fill}" stroke="{stroke}" '
                f'stroke-width="{wide:.1f}"{dashes}/>'
            )


# ---------------------------------------------------------------- rows and stems


def _rows(layout: Layout, kept: Iterable[LaidPlanting], sheet: Sheet) -> Iterator[str]:
    """Yield rows as thin lines on a light strip as wide as the ground they take."""
    for planting in kept:
        own = [row for row in layout.rows if row.planting == planting.id]
        length = sum(row.length_m for row in own) or 1.0
        strip = max(planting.row_ground_ha * factor("ha", "m2") / length * sheet.scale, 1.0)
        lines = [line for row in own for line in row.lines]
        path = "".join(
            "M" + "L".join("{:.1f} {:.1f}".format(*sheet.at(x, y)) for x, y in line) for line in lines
        )
        yield f'<path d="{path}" fill="none" stroke="#e2e2e2" stroke-width="{strip:.1f}"/>'
        yield f'<path d="{path}" fill="none" stroke="#777777" stroke-width="0.5"/>'


def _stem_pt(planting: LaidPlanting, sheet: Sheet) -> float:
    step = (planting.in_row_m or 4.0) * sheet.scale
    return min(max(0.28 * step, LEAST_STEM), MOST_STEM)


def _sign(layout: Layout, planting: str) -> str:
    """Return the mark of a planting's stems: its place among the plantings of the farm."""
    ids = [p.id for p in layout.plantings]
    return STEMS[ids.index(planting) % len(STEMS)]


def _stems(layout: Layout, kept: Iterable[LaidPlanting], sheet: Sheet) -> Iterator[str]:
    for planting in kept:
        size, sign = _stem_pt(planting, sheet), _sign(layout, planting.id)
        spots = [
            sheet.at(float(layout.trees.east_m[tree]), float(layout.trees.north_m[tree]))
            for row in layout.rows
            if row.planting == planting.id
            for tree in range(row.first, row.first + row.count)
        ]
        path = "".join(stem(sign, x, y, size) for x, y in spots)
        yield f'<path d="{path}" {paint(sign, size)}/>'


# ---------------------------------------------------------------- words on the map


def haloed(x: float, y: float, words: str, more: str) -> str:
    """Return words with a white edge, so that they can be read over rows."""
    edge = 'stroke="white" stroke-width="5" stroke-linejoin="round"'
    return text(x, y, words, f"{edge} {more}") + text(x, y, words, more)


def labels(
    shapes: Sequence[tuple[Shape, Any]], sheet: Sheet, farm: Farm, *, sizes: bool = False
) -> Iterator[str]:
    """Yield the name of each paddock in its upper part, and of lines, lanes, buildings beside them.

    ``sizes``: how large each paddock is stands below its name.
    """
    import shapely

    names = {p.shape or p.id: (p.id, p.name) for p in farm.paddocks}
    areas = {p.shape or p.id: shown(p.area_ha, "area", farm.units) for p in farm.paddocks} if sizes else {}
    for shape, whole in shapes:
        geometry = whole.intersection(sheet.box)
        if geometry.is_empty or geometry.length < LEAST_SEEN * whole.length:
            continue
        if shape.kind == "paddock":
            area = geometry.buffer(0)
            if area.is_empty:
                continue
            ident, name = names.get(shape.id, (shape.id, shape.name))
            words = ident if ident.casefold() == name.casefold() else f"{ident} {name}"
            spot = shapely.maximum_inscribed_circle(area).coords[0]
            x, y = sheet.at(*spot)
            yield haloed(x, y, words, 'text-anchor="middle" font-size="15" font-weight="700"')
            if shape.id in areas:
                yield haloed(x, y + 15, areas[shape.id], 'text-anchor="middle" font-size="13"')
        elif shape.kind in ("lane", "building", "overhead_line", "buried_line", "yard", "keep_out"):
            spot = shapely.point_on_surface(geometry)
            x, y = sheet.at(spot.x, spot.y)
            low = 22 if shape.kind == "keep_out" else 4
            yield haloed(x, y + low, shape.name, 'text-anchor="middle" font-size="12"')


def _row_labels(layout: Layout, kept: Iterable[LaidPlanting], sheet: Sheet) -> Iterator[str]:
    """Yield the number of each row beside its beginning, where there is room between rows."""
    for planting in kept:
        own = [row for row in layout.rows if row.planting == planting.id and row.count]
        apart = (planting.alley_m[0] if planting.alley_m is not None else 10.0) * sheet.scale
        step = max(math.ceil(ROW_LABEL / max(apart, 0.1)), 1)
        for number, row in enumerate(own):
            if number % step == 0 or row is own[-1]:
                yield haloed(
                    *_before(row, sheet, _stem_pt(planting, sheet)),
                    row.row,
                    'text-anchor="middle" font-size="11"',
                )


def _before(row: LaidRow, sheet: Sheet, stem: float) -> tuple[float, float]:
    """Return where a row's number stands: a little before its first stem. [pt]"""
    (a, b), turn = sheet.at(*row.ends[0]), math.radians(row.bearing_deg)
    away = 8 + stem
    return a - away * math.sin(turn), b + away * math.cos(turn) + 4


def marks(shapes: Sequence[tuple[Shape, Any]], sheet: Sheet) -> Iterator[str]:
    """Yield the letters of gates, water and the like."""
    import shapely

    for shape, geometry in shapes:
        if shape.kind not in MARK:
            continue
        for part in shapely.get_parts(geometry.intersection(sheet.box)):
            spot = shapely.point_on_surface(part)
            if not spot.is_empty:
                x, y = sheet.at(spot.x, spot.y)
                yield letter(x, y, MARK[shape.kind])


# ---------------------------------------------------------------- title, north, scale bar, legend


def _title(farm: Farm) -> str:
    return text(EDGE, 28, say("papers.plan.title", farm=farm.name), 'font-size="20" font-weight="700"')


def north_arrow(x: float, y: float) -> str:
    """Return an arrow that points north, with its word. [pt]"""
    arrow = f'<path d="M{x} {y - 14}L{x + 7} {y + 10}L{x} {y + 5}L{x - 7} {y + 10}Z" fill="black"/>'
    north = say("papers.plan.north")
    return arrow + text(x - 14, y + 6, north, 'text-anchor="end" font-size="14" font-weight="700"')


def scale_bar(farm: Farm, sheet: Sheet, y: float, beside: str | None = None) -> Iterator[str]:
    """Yield the scale bar, and words beside it: by default whom to ask before anybody digs. [pt]"""
    unit, lengths = ("ft", SCALES_FT) if farm.units == "acres" else ("m", SCALES_M)
    metre = factor(unit, "m") * sheet.scale
    length = next((n for n in reversed(lengths) if n * metre <= sheet.wide / 4), lengths[0])
    half = length * metre / 2
    yield f'<rect x="{EDGE}" y="{y + 4:.1f}" width="{half:.1f}" height="7" fill="black"/>'
    yield (
        f'<rect x="{EDGE + half:.1f}" y="{y + 4:.1f}" width="{half:.1f}" height="7" fill="white" '
        'stroke="black" stroke-width="1"/>'
    )
    for share in (0.0, 0.5, 1.0):
        words = f"{length * share:g}" + (f" {unit}" if share == 1 else "")
        anchor = "start" if share == 0 else "middle"
        yield text(EDGE + 2 * half * share, y + 26, words, f'text-anchor="{anchor}" font-size="13"')
    yield text(EDGE + 2 * half + 60, y + 14, beside or say("papers.plan.grey"), 'font-size="13"')


def _legend(
    farm: Farm, layout: Layout, kept: Sequence[LaidPlanting], shapes: Sequence[tuple[Shape, Any]]
) -> Iterator[tuple[str, str]]:
    """Yield sign and words of each thing drawn: plantings first."""
    for planting in kept:
        yield _sign(layout, planting.id), _planting_words(farm, planting)
    if any(p.rows for p in kept):
        yield "strip", say("papers.plan.strip")
    there = {shape.kind for shape, _ in shapes}
    for kind in (*ORDER, *MARK):
        if kind in there and (kind != "hazard" or kind not in ORDER):
            yield kind, label("shape", kind)
    if "hazard" in there:
        yield "mark_hazard", label("shape", "hazard")


def _planting_words(farm: Farm, planting: LaidPlanting) -> str:
    fields = {"name": planting.name, "rows": len(planting.rows), "places": f"{planting.places:,}"}
    said = say(f"papers.plan.{planting.how}", **fields)
    if planting.alley_m is not None and planting.in_row_m is not None:
        step = shown(planting.in_row_m, "distance", farm.units)
        said = say(
            "papers.plan.spaced",
            said=said,
            step=step,
            alley=shown(planting.alley_m[1], "distance", farm.units),
        )
    return said


def entry(sign: str, words: str, number: int, top: float, columns: int) -> Iterator[str]:
    """Yield one line of the legend."""
    x, y = EDGE + (number % columns) * (WIDE / columns), top + (number // columns) * LINE
    yield sample(sign, x + 14, y)
    yield text(x + 36, y + 5, words, 'font-size="13"')
