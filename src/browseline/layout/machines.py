"""Whether implements go through the alleys: whole passes now, and until which year crowns let them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from browseline import tables
from browseline.errors import finding
from browseline.figures import Origin
from browseline.layout.contour import slope_in
from browseline.layout.form import Crowns, LayoutFinding
from browseline.layout.place import Plot, Site, where_of
from browseline.layout.rule import FARM, TABLE, Spaced
from browseline.science.spacing import alley_for_passes_m, passes_in
from browseline.units import plain, shown

YEARS = 40
ABOUT_WHOLE = 0.05
GROWN = (Origin("derived_here", "crown widths by year", "derived"),)


def machines_found(
    site: Site, plots: list[Plot], alleys_m: dict[str, float], crowns: Crowns | None
) -> Iterator[LayoutFinding]:
    """Yield what keeps an implement from the alleys, and rows that had better go on the contour."""
    for plot in plots:
        rule = plot.rule
        if rule is not None and rule.implement_m is not None:
            alley_m = alleys_m.get(plot.planting.id, rule.alley_m)
            yield from _whole(site, plot, rule, rule.implement_m, alley_m)
            if crowns is not None:
                yield from _until(site, plot, rule, rule.implement_m, alley_m, crowns)
        yield from _steep(site, plot)
        if plot.contour and any(row.placed.shift for row in plot.rows):
            told = finding(
                "layout.wedge", where_of(plot.planting), level="note", planting=plot.planting.name,
                anew=len({row.placed.shift for row in plot.rows}) - 1,
                drift=plain(100 * (rule.drift_frac if rule is not None else 0.0)),
            )  # fmt: skip
            yield LayoutFinding(told, plot.planting.id, FARM)


def _whole(
    site: Site, plot: Plot, rule: Spaced, implement_m: float, alley_m: float
) -> Iterator[LayoutFinding]:
    """Yield that an alley is no whole number of passes, with the alleys next to it that are."""
    passes = passes_in(alley_m, implement_m, rule.clearance_m)
    if passes >= 1 and abs(passes - round(passes)) <= ABOUT_WHOLE:
        return
    units = site.farm.units
    low, high = max(math.floor(passes), 1), max(math.ceil(passes), 1)
    alleys = {n: alley_for_passes_m(n, implement_m, rule.clearance_m) for n in (low, high)}
    told = finding(
        "layout.passes_whole" if passes >= 1 else "layout.too_narrow", where_of(plot.planting),
        level="question", planting=plot.planting.name, passes=plain(passes),
        alley=shown(alley_m, "distance", units), implement=shown(implement_m, "distance", units),
        clearance=shown(rule.clearance_m, "distance", units), fewer=low, more=high,
        narrower=shown(alleys[low], "distance", units), wider=shown(alleys[high], "distance", units),
    )  # fmt: skip
    yield LayoutFinding(told, plot.planting.id, _clearance_origin(plot))


def _clearance_origin(plot: Plot) -> tuple[Origin, ...]:
    if plot.planting.layout is not None and plot.planting.layout.clearance is not None:
        return FARM
    row = tables.row(TABLE, "clearance", "each side of a row")
    return (Origin(row.source, row.locator, row.basis, note=row.note),)


def years_of(
    alley_m: float, clearance_m: float, implement_m: float, widths_m: list[float]
) -> tuple[int, int]:
    """Return the first years in which fewer passes go through an alley, and in which none does.

    Parameters
    ----------
    alley_m, clearance_m, implement_m : float
        [m]
    widths_m : list of float
        Crown width in each year after planting, the first year first. [m]

    Returns
    -------
    tuple of int
        Years after planting; 0 where it does not happen in the years given.
    """
    now = math.floor(passes_in(alley_m, implement_m, clearance_m) + ABOUT_WHOLE)
    fewer = never = 0
    for year, width_m in enumerate(widths_m, start=1):
        passes = math.floor(passes_in(alley_m, implement_m, max(clearance_m, width_m / 2)) + ABOUT_WHOLE)
        if passes < now and not fewer:
            fewer = year
        if passes < 1 and not never:
            never = year
    return fewer, never


def _until(
    site: Site, plot: Plot, rule: Spaced, implement_m: float, alley_m: float, crowns: Crowns
) -> Iterator[LayoutFinding]:
    """Yield the year from which crowns leave an implement too little room."""
    widths = [crowns(plot.planting, year) for year in range(1, YEARS + 1)]
    known = [width for width in widths if width is not None]
    if len(known) < len(widths):
        return
    fewer, never = years_of(alley_m, rule.clearance_m, implement_m, known)
    units, planted = site.farm.units, plot.planting.planted or site.farm.as_of.year
    for code, year in (("fewer_passes", fewer), ("no_pass", never)):
        if not year or (code == "fewer_passes" and year == never):
            continue
        told = finding(
            f"layout.{code}", where_of(plot.planting), level="question", planting=plot.planting.name,
            year=year, calendar=planted + year, crown=shown(known[year - 1], "distance", units),
            alley=shown(alley_m, "distance", units), implement=shown(implement_m, "distance", units),
        )  # fmt: skip
        yield LayoutFinding(
            told, plot.planting.id, (Origin("derived_here", "crown widths by year", "derived"),)
        )


def _steep(site: Site, plot: Plot) -> Iterator[LayoutFinding]:
    """Yield that straight rows run down a slope that asks for the contour."""
    home = site.outlines.get(plot.planting.paddock or "")
    if site.ground is None or home is None or plot.contour or plot.how != "rule":
        return
    lie, row = slope_in(home, site.ground), tables.row(TABLE, "contour_slope", "rows on the contour")
    falls = [r.placed.drift_frac for r in plot.rows if r.placed.drift_frac is not None]
    most = tables.row(TABLE, "contour_drift", "rows on the contour").middle()
    if lie is None or not falls or 100 * lie[0] <= (row.low or 0) or 100 * max(falls) <= most:
        return
    told = finding(
        "layout.steep", where_of(plot.planting), level="question", planting=plot.planting.name,
        slope=plain(100 * lie[0]), fall=plain(100 * max(falls)), low=plain(row.low or 0),
        high=plain(row.high or 0), contour=f"{lie[1]:.0f}",
    )  # fmt: skip
    yield LayoutFinding(told, plot.planting.id, (Origin(row.source, row.locator, row.basis),))
