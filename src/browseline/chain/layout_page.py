"""The page Layout: where trees stand or shall stand, by planting and by row, and what is to be mended."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields

from browseline import tables
from browseline.chain.laid import laid_out
from browseline.chain.look import Picture
from browseline.farm.names import label
from browseline.farm.records import Farm
from browseline.figures import Figure
from browseline.layout.form import LaidPlanting, Layout, LayoutFinding
from browseline.units import plain, shown
from browseline.words import say

SCHEMA = "browseline/layout/1"
TOLD = "browseline/layout-told/1"
HERE = "derived_here"


@dataclass(frozen=True, slots=True)
class FindingLine:
    """A finding of the layout in words; ``sources`` are keys of sources with the place in each."""

    where: str
    what: str
    mend: str
    level: str
    code: str
    sources: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class LayoutTold:
    """A layout in words: one table of plantings, what is kept off, sentences, findings."""

    schema: str
    farm: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    kept_off: tuple[str, ...]
    sentences: tuple[str, ...]
    findings: tuple[FindingLine, ...]
    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class LayoutPage(LayoutTold):
    """The page Layout: what is told, and the layout itself with the place of every tree."""

    layout: Layout


def layout_page(picture: Picture) -> LayoutPage:
    """Return the page Layout of a farm."""
    return page_of(picture.farm, laid_out(picture.folder, picture.farm, picture.state))


def page_of(farm: Farm, layout: Layout) -> LayoutPage:
    """Return a layout as the page tells it, in the farm's own units."""
    told = told_of(farm, layout)
    own = {f.name: getattr(told, f.name) for f in fields(told)}
    return LayoutPage(**own | {"schema": SCHEMA, "layout": layout})


def told_of(farm: Farm, layout: Layout) -> LayoutTold:
    """Return a layout in words, in the farm's own units; no place on Earth is in it."""
    head = ("planting", "paddock", "rows", "places", "apart", "alley", "density", "ground", "guards")
    return LayoutTold(
        TOLD,
        farm.name,
        tuple(say(f"layout.head.{column}") for column in head),
        tuple(_row(farm, planting) for planting in layout.plantings),
        tuple(_kept_off(farm, layout)),
        tuple(_sentences(farm, layout)),
        tuple(_findings(layout.findings)),
        layout.figures,
    )


def source_words(sources: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Yield the references of some sources, of what was worked out here from what."""
    for ident, locator in sources:
        known = tables.sources().get(ident)
        if known is None:
            yield say("layout.own")
        elif ident == HERE:
            yield say("layout.derived", locator=locator)
        else:
            yield known["reference"].rstrip(".")


def _row(farm: Farm, one: LaidPlanting) -> tuple[str, ...]:
    def far(metres: float | None) -> str:
        return shown(metres, "distance", farm.units) if metres is not None else ""

    places = f"{one.places:,}"
    if one.counted is not None and one.counted != one.places:
        places = say("layout.counted", places=places, counted=f"{one.counted:,}")
    return (
        say("layout.planned", name=one.name) if one.to_plant else one.name,
        one.paddock,
        str(len(one.rows)),
        places,
        far(one.in_row_m),
        far(one.alley_m[1] if one.alley_m is not None else None),
        shown(one.trees_per_ha, "stocking", farm.units) if one.trees_per_ha is not None else "",
        shown(one.row_ground_ha, "area", farm.units, 2),
        f"{one.guards:,}" if one.guards else "",
    )


def _kept_off(farm: Farm, layout: Layout) -> Iterator[str]:
    """Yield, for each planting, how far its stems keep off what the map has."""
    there = {shape.kind for shape in farm.shapes} | {"fence"}
    for planting in layout.plantings:
        parts = [
            say("layout.off", what=label("shape", k.what), far=shown(k.distance_m, "distance", farm.units))
            for k in layout.kept_off if k.planting == planting.id and k.what in there
        ]  # fmt: skip
        if parts:
            yield say("layout.kept_off", planting=planting.name, parts=", ".join(parts))


def _sentences(farm: Farm, layout: Layout) -> Iterator[str]:
    places = f"{sum(p.places for p in layout.plantings):,}"
    rows = len(layout.rows)
    under = shown(sum(p.row_ground_ha for p in layout.paddocks), "area", farm.units, 2)
    yield say("layout.sum", rows=rows, places=places, ground=under)
    fences = shown(layout.fence_m, "distance", farm.units, 0)
    lanes = shown(layout.lane_m, "distance", farm.units, 0)
    yield say("layout.fences" if layout.fence_drawn else "layout.outlines", fences=fences, lanes=lanes)
    for one in layout.plantings:
        if one.guards and one.guard_m is not None:
            high = shown(one.guard_m, "distance", farm.units)
            yield say("layout.guards", planting=one.name, guards=f"{one.guards:,}", high=high)
    steep = [row.drift_frac for row in layout.rows if row.drift_frac is not None]
    if steep:
        yield say("layout.drift", fall=plain(100 * max(steep)))


def _findings(found: Iterable[LayoutFinding]) -> Iterator[FindingLine]:
    for one in found:
        sources = dict.fromkeys((o.source, o.locator) for o in one.origins if o.source)
        f = one.finding
        yield FindingLine(f.where, f.what, f.mend, f.level, f.code, tuple(sources))
