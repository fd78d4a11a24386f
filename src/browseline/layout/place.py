"""Each planting placed: surveyed stems first, then rows of the map, then the rule in the room left."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from browseline.errors import Level, finding
from browseline.farm.records import Farm, Planting
from browseline.layout import drawn as on_map
from browseline.layout.contour import contour_rows, slope_in
from browseline.layout.drawn import Named
from browseline.layout.form import How, KeptOff, LayoutFinding
from browseline.layout.plane import Plane, geometry
from browseline.layout.room import Thing, distances, long_side_deg, room, without, without_headland
from browseline.layout.rule import FARM, Spaced, keeps_off, spaced
from browseline.layout.straight import Placed, straight_rows
from browseline.layout.terrain import Ground


@dataclass(frozen=True, slots=True, eq=False)
class Plot:
    """A planting with its rows on the plane, in order, and where they come from."""

    planting: Planting
    how: How
    rows: tuple[Named, ...]
    rule: Spaced | None
    contour: bool = False


@dataclass(slots=True)
class Site:
    """What placing needs to know, and the findings on the way."""

    farm: Farm
    plane: Plane
    outlines: Mapping[str, Any]
    around: tuple[Thing, ...]
    ground: Ground | None
    found: list[LayoutFinding]

    def tell(self, code: str, planting: Planting, level: Level, **fields: object) -> None:
        """Add a finding about a planting."""
        where = where_of(planting)
        told = finding(f"layout.{code}", where, level=level, planting=planting.name, **fields)
        self.found.append(LayoutFinding(told, planting.id, FARM))


def where_of(planting: Planting) -> str:
    """Return where a planting stands in the files, as a finding says it."""
    return f'farm.toml planting "{planting.name}"'


def outlines(farm: Farm, plane: Plane) -> dict[str, Any]:
    """Return the outline of every paddock that the map draws, on the plane."""
    shapes = {s.id: s for s in farm.shapes if s.rings and "Polygon" in s.geometry}
    own = ((p.id, shapes.get(p.shape or p.id)) for p in farm.paddocks)
    made = {ident: geometry(shape, plane) for ident, shape in own if shape is not None}
    return {ident: area for ident, area in made.items() if not area.is_empty}


def plots(site: Site) -> list[Plot]:
    """Return every planting that can be placed, in the order of the file."""
    plantings = site.farm.plantings
    made = {p.id: plot for p in plantings if (plot := _from_map(site, p)) is not None}
    for planting in plantings:
        if planting.id not in made and (plot := _from_rule(site, planting, made)) is not None:
            made[planting.id] = plot
    return [made[p.id] for p in plantings if p.id in made]


def _from_map(site: Site, planting: Planting) -> Plot | None:
    rule = spaced(planting)
    rows = on_map.surveyed(site.farm, planting, site.plane)
    if rows:
        return Plot(planting, "surveyed", tuple(_named(planting, on_map.in_sequence(rows))), rule)
    in_row_m = planting.spacing.to("m") if planting.spacing is not None else None
    rows = on_map.drawn(site.farm, planting, site.plane, in_row_m)
    return Plot(planting, "drawn", tuple(_named(planting, rows)), rule) if rows else None


def _from_rule(site: Site, planting: Planting, made: Mapping[str, Plot]) -> Plot | None:
    """Return a planting by its rule, or None and a finding."""
    rule = spaced(planting)
    outline = site.outlines.get(planting.paddock or "")
    if outline is None:
        site.tell("no_outline", planting, "note")
        return None
    if rule is None:
        site.tell("no_spacing", planting, "note")
        return None
    left = room(outline, site.around, distances(keeps_off(planting)))
    left = _beside_others(left, planting, rule, made)
    placed, contour = _rows(site, planting, rule, left, outline)
    rows = _cut(site, planting, placed)
    if not rows:
        site.tell("no_room", planting, "question")
        return None
    named = [Named("", "", row) for row in rows]
    return Plot(planting, "rule", tuple(_named(planting, named)), rule, contour)


def _beside_others(left: Any, planting: Planting, rule: Spaced, made: Mapping[str, Plot]) -> Any:
    """Return the room at least an alley away from the rows of other plantings in the paddock."""
    import shapely

    others = [
        shapely.linestrings(line).buffer(rule.alley_m)
        for plot in made.values()
        if plot.planting.paddock == planting.paddock
        for named in plot.rows
        for line in named.placed.lines
    ]
    return without(left, shapely.union_all(others)) if others else left


def _rows(site: Site, planting: Planting, rule: Spaced, left: Any, outline: Any) -> tuple[list[Placed], bool]:
    """Return the rows of a rule and whether they go on the contour."""
    lie = slope_in(outline, site.ground) if site.ground is not None else None
    if rule.contour and site.ground is not None and lie is not None:
        inner = without_headland(left, outline, lie[1], rule.headland_m)
        found = contour_rows(inner, rule, site.ground)
        if found:
            return found, True
    if rule.contour:
        site.tell("no_terrain" if lie is None else "flat", planting, "question")
    bearing_deg = long_side_deg(outline) if rule.bearing_deg is None else rule.bearing_deg
    inner = without_headland(left, outline, bearing_deg, rule.headland_m)
    return straight_rows(inner, rule, bearing_deg), False


def _cut(site: Site, planting: Planting, rows: Sequence[Placed]) -> list[Placed]:
    """Return the rows with as many places as the farm counts trees, from the first row on."""
    places = sum(len(row.east_m) for row in rows)
    if planting.rows and all(row.trees is not None for row in planting.rows):
        most = [row.trees or 0 for row in planting.rows]
        kept = [_shorter(row, most[i]) for i, row in enumerate(rows[: len(most)])]
    elif planting.trees:
        kept = list(_first(rows, planting.trees))
    else:
        return list(rows)
    taken = sum(len(row.east_m) for row in kept)
    if taken < places:
        site.tell("room_left", planting, "note", trees=f"{taken:,}", places=f"{places:,}")
    return [row for row in kept if len(row.east_m)]


def _first(rows: Sequence[Placed], trees: int) -> Iterator[Placed]:
    for row in rows:
        yield _shorter(row, max(trees, 0))
        trees -= len(row.east_m)


def _shorter(row: Placed, most: int) -> Placed:
    """Return a row with its first stems only, its line ending at the last of them."""
    import numpy as np

    if len(row.east_m) <= most:
        return row
    stems = np.column_stack([row.east_m[:most], row.north_m[:most]])
    line = np.concatenate([stems, stems]) if len(stems) == 1 else stems
    return replace(row, lines=(line,), east_m=row.east_m[:most], north_m=row.north_m[:most])


def _named(planting: Planting, rows: Sequence[Named]) -> Iterator[Named]:
    """Yield rows with a word each: their own, else the planting's rows in order, else their number."""
    typed = [row.id for row in planting.rows]
    names = {row.id: row.name for row in planting.rows}
    taken = {row.word for row in rows if row.word}
    free = [word for word in typed if word not in taken]
    number = 0
    for row in rows:
        word = row.word
        if not word and free:
            word = free.pop(0)
        while not word:
            number += 1
            word = "" if str(number) in taken else str(number)
        taken.add(word)
        yield replace(row, word=word, name=names.get(word) or row.name or word)


def kept_off(plots_made: Sequence[Plot]) -> tuple[KeptOff, ...]:
    """Return how far the stems of every placed planting keep off things."""
    return tuple(one for plot in plots_made for one in keeps_off(plot.planting))
