"""``lay_out``: a farm's map and rules to trees, rows, alleys, ground, fences, guards and findings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from browseline.errors import finding
from browseline.farm.records import Farm, Planting
from browseline.figures import Figure, Origin
from browseline.layout.conflicts import conflicts
from browseline.layout.contour import drift
from browseline.layout.drawn import Named
from browseline.layout.form import Crowns, LaidPaddock, LaidPlanting, LaidRow, Layout, LayoutFinding, Trees
from browseline.layout.kinds import kinds_found
from browseline.layout.machines import machines_found
from browseline.layout.measure import (
    M2_HA,
    alleys_m,
    fences_m,
    guard_m,
    guards,
    laid_paddocks,
    lanes_m,
    row_grounds,
)
from browseline.layout.place import Plot, Site, kept_off, outlines, plots
from browseline.layout.plane import Plane, plane_of
from browseline.layout.room import bearing_of, things
from browseline.layout.rule import FARM
from browseline.layout.terrain import Ground
from browseline.science.spacing import passes_in, trees_per_ha
from browseline.units import shown

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

HERE = (Origin("derived_here", "the farm's map and rules", "derived"),)
DIFFERS = 0.25
FEW_GAPS = 0.75


def lay_out(farm: Farm, ground: Ground | None = None, crowns: Crowns | None = None) -> Layout:
    """Return where every tree of a farm stands or shall stand, and what that takes of the ground.

    Parameters
    ----------
    farm : Farm
        Stems surveyed on the map go before rows drawn there, and those before the rule of a planting.
    ground : Ground, optional
        Heights on the plane of the farm's map (``terrain.read_ground``); contour rows need them.
    crowns : callable, optional
        Crown width of a planting by years after planting; without it no year is found in which an
        implement no longer fits.
    """
    farm = replace(farm, plantings=(*farm.plantings, *farm.planned), planned=())
    plane = plane_of(farm.shapes)
    site = Site(farm, plane, outlines(farm, plane), things(farm, plane), ground, [])
    placed = [_with_drift(site, plot) for plot in plots(site)]
    grounds = row_grounds(placed, site.outlines)
    rows, trees = _columns(placed, plane)
    wide = {plot.planting.id: alleys_m(plot) for plot in placed}
    plantings = tuple(_planting(farm, plot, wide[plot.planting.id], grounds) for plot in placed)
    places = Counter[str]()
    for one in plantings:
        places[one.paddock] += one.places
    paddocks = laid_paddocks(farm, grounds, places)
    fence_m, drawn = fences_m(farm, site.outlines.values())
    middle = {ident: alley[1] for ident, alley in wide.items() if alley is not None}
    found = [
        *site.found,
        *kinds_found(farm, placed),
        *conflicts(placed, site.around, site.outlines, farm.units),
        *machines_found(site, placed, middle, crowns),
        *_counts(placed, plantings),
        *_row_ground(farm, laid_paddocks(farm, _standing(grounds, plantings), {})),
    ]
    return Layout(
        plane.longitude_deg, plane.latitude_deg, trees, rows, plantings, paddocks, kept_off(placed), fence_m,
        drawn, lanes_m(farm), tuple(_figures(farm, plantings, paddocks, fence_m)), tuple(found),
    )  # fmt: skip


def _with_drift(site: Site, plot: Plot) -> Plot:
    """Return a planting whose rows know how steeply they fall, where the ground is known."""
    if site.ground is None or plot.contour:
        return plot
    import shapely

    rows = []
    for row in plot.rows:
        lines = [line for line in row.placed.lines if len(line) > 1]
        falls = [drift(shapely.linestrings(line), site.ground) for line in lines]
        rows.append(replace(row, placed=replace(row.placed, drift_frac=max(falls, default=0.0))))
    return replace(plot, rows=tuple(rows))


# ---------------------------------------------------------------- rows and trees


def _columns(placed: Sequence[Plot], plane: Plane) -> tuple[tuple[LaidRow, ...], Trees]:
    """Return the rows in order and their trees in columns."""
    rows: list[LaidRow] = []
    first = 0
    for plot in placed:
        for number, named in enumerate(plot.rows):
            rows.append(_apart(_row(plot, number, named, first), rows))
            first += len(named.placed.east_m)
    parts = [named.placed for plot in placed for named in plot.rows]
    east = np.concatenate([p.east_m for p in parts]) if parts else np.empty(0)
    north = np.concatenate([p.north_m for p in parts]) if parts else np.empty(0)
    lon, lat = plane.world(east, north)
    counts = np.array([row.count for row in rows], dtype=int)
    which = np.repeat(np.arange(len(rows)), counts)
    number_in = np.arange(len(east)) - np.repeat(np.array([r.first for r in rows], dtype=int), counts) + 1
    columns = (which, number_in, east, north, lon, lat)
    for column in columns:
        column.flags.writeable = False
    return tuple(rows), Trees(*columns)


def _apart(row: LaidRow, before: Sequence[LaidRow]) -> LaidRow:
    """Return a row under an id of its own: two shapes of a map may bear one name."""
    taken, ident, number = {other.id for other in before}, row.id, 2
    while ident in taken:
        ident, number = f"{row.id} {number}", number + 1
    return row if ident == row.id else replace(row, id=ident)


def _row(plot: Plot, number: int, named: Named, first: int) -> LaidRow:
    lines = tuple(tuple((float(x), float(y)) for x, y in line) for line in named.placed.lines)
    length = sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in named.placed.lines)
    planting = plot.planting
    typed = next((row for row in planting.rows if row.id == named.word), None)
    return LaidRow(
        f"{planting.id}/{named.word}",
        planting.id,
        named.word,
        named.name,
        planting.paddock or "",
        plot.how,
        lines,
        length,
        bearing_of(lines[0][0], lines[-1][-1]) if length > 0 else 0.0,
        first,
        len(named.placed.east_m),
        _cultivars(planting, number, len(plot.rows), typed.cultivar if typed is not None else None),
        (typed.rootstock if typed is not None else None) or planting.rootstock,
        named.placed.drift_frac,
    )


def _cultivars(planting: Planting, number: int, rows: int, typed: str | None) -> tuple[str, ...]:
    """Return the cultivars of a row: its own, else one a row in turn, else tree by tree in turn."""
    if typed:
        return (typed,)
    if len(planting.cultivars) < 2 or rows < len(planting.cultivars):
        return planting.cultivars
    return (planting.cultivars[number % len(planting.cultivars)],)


# ---------------------------------------------------------------- plantings


def _planting(
    farm: Farm, plot: Plot, alley: tuple[float, float, float] | None, grounds: dict[tuple[str, str], Any]
) -> LaidPlanting:
    planting, rule = plot.planting, plot.rule
    places = sum(len(row.placed.east_m) for row in plot.rows)
    strips = grounds.get((planting.id, planting.paddock or ""))
    need = guards(planting, farm, places)
    passes = None
    if rule is not None and rule.implement_m is not None:
        passes = passes_in(alley[1] if alley else rule.alley_m, rule.implement_m, rule.clearance_m)
    return LaidPlanting(
        planting.id, planting.name, planting.species, planting.paddock or "", plot.how,
        tuple(f"{planting.id}/{row.word}" for row in plot.rows), places, planting.trees or None,
        planting.spacing.to("m") if planting.spacing is not None else None, alley,
        trees_per_ha(rule.in_row_m, rule.alley_m, rule.rows_in_set, rule.between_m) if rule else None,
        sum(_length_m(row) for row in plot.rows),
        float(strips.area) * M2_HA if strips is not None else 0.0,
        need, guard_m(farm) if need else None, passes, planting.planned,
    )  # fmt: skip


def _length_m(row: Named) -> float:
    return sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in row.placed.lines)


def _counts(placed: Sequence[Plot], laid: Iterable[LaidPlanting]) -> Iterator[LayoutFinding]:
    """Yield where the map's places and the trees of the farm's file differ."""
    for plot, one in zip(placed, laid, strict=True):
        if one.counted is None or one.counted == one.places:
            continue
        code = "fewer_places" if one.counted > one.places else "gaps"
        if code == "gaps" and (plot.how == "rule" or one.counted >= FEW_GAPS * one.places):
            continue
        told = finding(
            f"layout.{code}", f'farm.toml planting "{one.name}"',
            level="question" if code == "fewer_places" else "note",
            planting=one.name, trees=f"{one.counted:,}", places=f"{one.places:,}",
        )  # fmt: skip
        yield LayoutFinding(told, one.id, FARM)


def _standing(
    grounds: dict[tuple[str, str], Any], plantings: Iterable[LaidPlanting]
) -> dict[tuple[str, str], Any]:
    """Return the strips of the plantings that stand: what is only planned takes no grass yet."""
    ahead = {one.id for one in plantings if one.to_plant}
    return {key: strip for key, strip in grounds.items() if key[0] not in ahead}


def _row_ground(farm: Farm, paddocks: Iterable[LaidPaddock]) -> Iterator[LayoutFinding]:
    """Yield where the ground under rows differs from what the farm typed, for the grass counts with that."""
    for one in paddocks:
        typed, laid = one.typed_row_ground_ha, one.row_ground_ha
        if laid and abs(typed - laid) > DIFFERS * laid:
            told = finding(
                "layout.row_ground" if typed else "layout.row_ground_untyped",
                f'farm.toml paddock "{one.name}"', level="question", paddock=one.name,
                typed=shown(typed, "area", farm.units, 2), laid=shown(laid, "area", farm.units, 2),
            )  # fmt: skip
            yield LayoutFinding(told, one.id, HERE)


def _figures(
    farm: Farm, plantings: Sequence[LaidPlanting], paddocks: Sequence[LaidPaddock], fence_m: float
) -> Iterator[Figure]:
    """Yield the sums of a layout as figures."""
    under = sum(p.row_ground_ha for p in paddocks)
    yield Figure("tree_places", sum(p.places for p in plantings), "trees", origins=HERE)
    yield Figure("row_ground", under, "ha", origins=HERE)
    yield Figure("fence_length", fence_m, "m", origins=HERE)
    yield Figure("lane_length", lanes_m(farm), "m", origins=HERE)
    yield Figure("guards_needed", sum(p.guards for p in plantings), "trees", origins=HERE)
