"""Stems that stand nearer to something than they may, off their paddock, or on each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from browseline.errors import finding
from browseline.figures import Origin
from browseline.layout.form import KeptOff, LayoutFinding
from browseline.layout.place import Plot, where_of
from browseline.layout.room import Thing
from browseline.layout.rule import FARM, keeps_off
from browseline.units import System, shown

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

NEARLY_M = 0.01
TOO_CLOSE = 0.5


def stems_of(plot: Plot) -> Floats:
    """Return the stems of a planting on the plane, shape (tree, 2). [m]"""
    parts = [np.column_stack([row.placed.east_m, row.placed.north_m]) for row in plot.rows]
    return np.concatenate(parts) if parts else np.empty((0, 2))


def names_of(plot: Plot) -> list[str]:
    """Return the names of the stems of a planting inside it: row and number."""
    return [f"{row.word}/{n + 1}" for row in plot.rows for n in range(len(row.placed.east_m))]


def conflicts(
    plots: Iterable[Plot], around: Sequence[Thing], outlines: Mapping[str, Any], units: System
) -> Iterator[LayoutFinding]:
    """Yield what stands too near, for each planting and thing; each names the nearest tree."""
    for plot in plots:
        stems = stems_of(plot)
        if len(stems) == 0:
            continue
        home = outlines.get(plot.planting.paddock or "")
        yield from _too_near(plot, stems, around, home, units)
        yield from _outside(plot, stems, home)
        yield from _on_each_other(plot, stems, units)


def _too_near(
    plot: Plot, stems: Floats, around: Sequence[Thing], home: Any, units: System
) -> Iterator[LayoutFinding]:
    import shapely

    points, hull = shapely.points(stems), shapely.MultiPoint(stems).convex_hull
    kept = {one.what: one for one in keeps_off(plot.planting)}
    fence = [Thing("fence", plot.planting.paddock or "", home.boundary)] if home is not None else []
    for thing in (*around, *fence):
        rule = kept.get(thing.what)
        if rule is None and thing.what != "keep_out":
            continue
        edge = thing.geometry.boundary if thing.what == "boundary" else thing.geometry
        off_m = rule.distance_m if rule is not None else 0.0
        if hull.distance(edge) > off_m + thing.half_width_m:
            continue
        near_m = shapely.distance(points, edge) - thing.half_width_m
        if float(near_m.min()) < off_m - NEARLY_M or (rule is None and float(near_m.min()) <= 0):
            yield _near(plot, thing, rule, near_m, units)


def _near(plot: Plot, thing: Thing, rule: KeptOff | None, near_m: Floats, units: System) -> LayoutFinding:
    off_m = rule.distance_m if rule is not None else 0.0
    bad = near_m < off_m - NEARLY_M if rule is not None else near_m <= 0
    fields: dict[str, object] = {
        "trees": f"{int(bad.sum()):,}", "planting": plot.planting.name, "thing": thing.name,
        "tree": names_of(plot)[int(near_m.argmin())],
        "near": shown(max(float(near_m.min()), 0.0), "distance", units),
        "least": shown(off_m, "distance", units),
    }  # fmt: skip
    origins = rule.origins if rule is not None else (Origin("farm", basis="farm"),)
    told = finding(f"layout.near_{thing.what}", where_of(plot.planting), level="question", **fields)
    return LayoutFinding(told, plot.planting.id, origins)


def _outside(plot: Plot, stems: Floats, home: Any) -> Iterator[LayoutFinding]:
    import shapely

    if home is None:
        return
    away = shapely.distance(shapely.points(stems), home) > NEARLY_M
    if away.any():
        tree = names_of(plot)[int(away.argmax())]
        told = finding(
            "layout.outside", where_of(plot.planting), level="question", trees=f"{int(away.sum()):,}",
            planting=plot.planting.name, paddock=plot.planting.paddock, tree=tree,
        )  # fmt: skip
        yield LayoutFinding(told, plot.planting.id, FARM)


def _on_each_other(plot: Plot, stems: Floats, units: System) -> Iterator[LayoutFinding]:
    """Yield where surveyed stems stand nearer than half the typed spacing: one tree taken twice."""
    if plot.how != "surveyed" or plot.planting.spacing is None:
        return
    from scipy.spatial import cKDTree

    least_m = TOO_CLOSE * plot.planting.spacing.to("m")
    pairs = sorted(cKDTree(stems).query_pairs(least_m - NEARLY_M))
    if pairs:
        names = names_of(plot)
        told = finding(
            "layout.close", where_of(plot.planting), level="question", trees=f"{len(pairs):,}",
            planting=plot.planting.name, one=names[pairs[0][0]], other=names[pairs[0][1]],
            least=shown(least_m, "distance", units),
        )  # fmt: skip
        yield LayoutFinding(told, plot.planting.id, FARM)
