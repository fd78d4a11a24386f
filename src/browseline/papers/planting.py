"""The planting list: which trees go into which row, shared out among crews for the planting day."""

from __future__ import annotations

import csv
import io
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from browseline.farm.names import label
from browseline.farm.records import Farm
from browseline.layout.form import LaidPlanting, LaidRow, Layout
from browseline.papers.plan import drawing
from browseline.record.table import guarded
from browseline.units import shown
from browseline.words import day_words, language, list_words, say

if TYPE_CHECKING:
    from browseline.layout.plane import Plane

SCHEMA = "browseline/planting/1"
TEMPLATE = "planting-1"
NEAR_END = 0.15
FAR_M = 10_000.0


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of one row that one crew plants: trees ``first`` to ``last`` of the row, both included.

    ``behind_m`` is from the row's first stem back along the row to the paddock's edge; ``left_m`` from the
    row to the row before it, or for a first row to the edge. [m]
    """

    crew: int
    row: str
    name: str
    planting: str
    species: str
    cultivars: tuple[str, ...]
    rootstock: str
    guard: str
    first: int
    last: int
    in_row_m: float | None
    bearing_deg: float
    behind_m: float | None
    left_m: float | None
    begins: tuple[float, float]
    ends: tuple[float, float]

    @property
    def trees(self) -> int:
        """Return how many trees it takes."""
        return self.last - self.first + 1


@dataclass(frozen=True, slots=True)
class Wanted:
    """What one crew, or one planting, has to bring: trees by kind and cultivar, guards, rows."""

    what: str
    trees: int
    kinds: tuple[tuple[str, int], ...]
    guards: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class PlantingList:
    """Everything on the planting list. ``cautions`` are the findings of its plantings in words."""

    schema: str
    farm: str
    units: str
    printed: date
    plantings: tuple[str, ...]
    spans: tuple[Span, ...]
    by_crew: tuple[Wanted, ...]
    by_planting: tuple[Wanted, ...]
    cautions: tuple[str, ...]


def planting_list(
    farm: Farm, layout: Layout, today: date, crews: int = 1, plantings: Iterable[str] | None = None
) -> PlantingList:
    """Return the list of the trees to plant, row by row, each crew with about as many.

    Parameters
    ----------
    farm, layout : Farm, Layout
    today : date
        Printed on the list.
    crews : int
        1 or more. A crew ends with a row where that is within 15 % of its share.
    plantings : iterable of str, optional
        Ids; by default those that are still to be planted, or all if there is none.
    """
    kept = _kept(layout, plantings)
    rows = [row for one in kept for row in layout.rows if row.planting == one.id and row.count]
    spans = tuple(_spans(farm, layout, rows, crews))
    told = tuple(
        f"{f.finding.what} {f.finding.mend}"
        for f in layout.findings
        if f.about in {p.id for p in kept} and f.finding.level != "note"
    )
    return PlantingList(
        SCHEMA, farm.name, farm.units, today, tuple(p.name for p in kept), spans,
        tuple(_wanted(str(n), [s for s in spans if s.crew == n]) for n in range(1, crews + 1)),
        tuple(_wanted(p.name, [s for s in spans if s.planting == p.name]) for p in kept), told,
    )  # fmt: skip


def _kept(layout: Layout, plantings: Iterable[str] | None) -> list[LaidPlanting]:
    if plantings is not None:
        wanted = set(plantings)
        return [p for p in layout.plantings if p.id in wanted]
    return [p for p in layout.plantings if p.to_plant] or list(layout.plantings)


# ---------------------------------------------------------------- shares


def ends_of_shares(counts: Sequence[int], crews: int) -> list[int]:
    """Return after how many trees each crew ends, the row's own end taken where it is near.

    Parameters
    ----------
    counts : sequence of int
        Trees row by row.
    crews : int
    """
    total = sum(counts)
    row_ends = [sum(counts[: n + 1]) for n in range(len(counts))]
    share = total / crews
    ends: list[int] = []
    for crew in range(1, crews):
        exact = round(share * crew)
        near = min(row_ends, key=lambda end: abs(end - exact), default=exact)
        end = near if abs(near - exact) <= NEAR_END * share else exact
        ends.append(max(end, ends[-1] if ends else 0))
    return [*ends, total]


def _spans(farm: Farm, layout: Layout, rows: Sequence[LaidRow], crews: int) -> Iterator[Span]:
    ends = ends_of_shares([row.count for row in rows], crews)
    spots = _Spots(farm, layout)
    done, crew = 0, 1
    for number, row in enumerate(rows):
        before = rows[number - 1] if number and rows[number - 1].planting == row.planting else None
        first = 1
        while first <= row.count:
            while done >= ends[crew - 1] and crew < crews:
                crew += 1
            last = min(row.count, first + ends[crew - 1] - done - 1)
            yield _span(farm, layout, spots, row, before, crew, first, last)
            done += last - first + 1
            first = last + 1


def _span(
    farm: Farm, layout: Layout, spots: _Spots, row: LaidRow, before: LaidRow | None,
    crew: int, first: int, last: int,
) -> Span:  # fmt: skip
    planting = next(p for p in (*farm.plantings, *farm.planned) if p.id == row.planting)
    a, b = row.first + first - 1, row.first + last - 1
    trees = layout.trees
    return Span(
        crew, row.id, row.name, planting.name, label("species", planting.species), row.cultivars,
        row.rootstock or "", planting.guard or "", first, last,
        planting.spacing.to("m") if planting.spacing is not None else None, row.bearing_deg,
        spots.behind_m(row), spots.left_m(row, before),
        (float(trees.latitude_deg[a]), float(trees.longitude_deg[a])),
        (float(trees.latitude_deg[b]), float(trees.longitude_deg[b])),
    )  # fmt: skip


class _Spots:
    """Distances by which a row is found on the ground: to the fence behind it and to the row before."""

    def __init__(self, farm: Farm, layout: Layout) -> None:
        from browseline.layout.place import outlines
        from browseline.layout.plane import plane_of

        self.plane: Plane = plane_of(farm.shapes)
        self.outlines: dict[str, Any] = outlines(farm, self.plane)

    def _ray_m(self, row: LaidRow, turned_deg: float) -> float | None:
        """Return how far the paddock's edge is from a row's first stem in some direction. [m]"""
        import shapely

        home = self.outlines.get(row.paddock)
        if home is None or not row.length_m:
            return None
        (e, n), turn = row.ends[0], math.radians(row.bearing_deg + turned_deg)
        ray = shapely.LineString([(e, n), (e + FAR_M * math.sin(turn), n + FAR_M * math.cos(turn))])
        met = ray.intersection(home.boundary)
        return float(met.distance(shapely.Point(e, n))) if not met.is_empty else None

    def behind_m(self, row: LaidRow) -> float | None:
        """Return how far the edge is behind a row's first stem, along the row. [m]"""
        return self._ray_m(row, 180.0)

    def left_m(self, row: LaidRow, before: LaidRow | None) -> float | None:
        """Return how far the row before is, or of a first row the edge to its left. [m]"""
        import shapely

        if before is None:
            return self._ray_m(row, -90.0)
        line = shapely.MultiLineString([part for part in before.lines if len(part) > 1])
        return float(line.distance(shapely.Point(row.ends[0]))) if not line.is_empty else None


def _wanted(what: str, spans: Sequence[Span]) -> Wanted:
    kinds: Counter[str] = Counter()
    guards: Counter[str] = Counter()
    for span in spans:
        for kind, trees in _kinds(span):
            kinds[kind] += trees
        if span.guard:
            guards[span.guard] += span.trees
    return Wanted(what, sum(s.trees for s in spans), tuple(kinds.items()), tuple(guards.items()))


def _kinds(span: Span) -> Iterator[tuple[str, int]]:
    """Yield species with cultivar and how many of each a span takes; cultivars take turns from tree 1."""
    several = len(span.cultivars)
    if not several:
        yield span.species, span.trees
    for turn, cultivar in enumerate(span.cultivars):
        trees = sum((number - 1) % several == turn for number in range(span.first, span.last + 1))
        yield say("papers.planting.kind", species=span.species, cultivar=cultivar), trees


# ---------------------------------------------------------------- CSV and what the template sets


COLUMNS = (
    "crew", "row", "planting", "species", "cultivars", "rootstock", "first_tree", "last_tree", "trees",
    "in_row_m", "bearing_deg", "from_edge_behind_m", "from_row_before_m", "guard", "first_latitude_deg",
    "first_longitude_deg", "last_latitude_deg", "last_longitude_deg",
)  # fmt: skip


def rows_csv(made: PlantingList) -> str:
    """Return one line a stretch of row, crew by crew, with units in the heads."""
    lines = [
        (
            s.crew, s.row, s.planting, s.species, ", ".join(s.cultivars), s.rootstock, s.first, s.last,
            s.trees, _number(s.in_row_m), round(s.bearing_deg, 1), _number(s.behind_m), _number(s.left_m),
            s.guard,
            *(round(x, 7) for x in (*s.begins, *s.ends)),
        )
        for s in made.spans
    ]  # fmt: skip
    return _csv(COLUMNS, lines)


def trees_csv(layout: Layout, made: PlantingList) -> str:
    """Return one line a tree: its name, crew, row, number, cultivar and place."""
    rows = {row.id: row for row in layout.rows}
    trees = layout.trees
    lines = []
    for span in made.spans:
        for number in range(span.first, span.last + 1):
            at = rows[span.row].first + number - 1
            lat, lon = float(trees.latitude_deg[at]), float(trees.longitude_deg[at])
            place = (round(lat, 7), round(lon, 7))
            lines.append((layout.tree_name(at), span.crew, span.row, number, layout.cultivar(at), *place))
    return _csv(("tree", "crew", "row", "number", "cultivar", "latitude_deg", "longitude_deg"), lines)


def _number(value: float | None) -> float | str:
    return "" if value is None else round(value, 2)


def _csv(head: Sequence[str], lines: Iterable[Sequence[object]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(head)
    for line in lines:
        writer.writerow([guarded(cell) if isinstance(cell, str) else cell for cell in line])
    return out.getvalue()


def planting_data(farm: Farm, layout: Layout, made: PlantingList) -> dict[str, Any]:
    """Return what the template of the planting list sets."""
    ids = [p.id for p in layout.plantings if p.name in made.plantings]
    picture = drawing(farm, layout, ids)
    heads = ("row", "trees", "kind", "behind", "left", "guard", "done")
    return {
        "lang": language.get(),
        "paper": "us-letter" if farm.units == "acres" else "a4",
        "title": say("papers.planting.title", plantings=list_words(made.plantings)),
        "farm": made.farm,
        "printed": say("papers.planting.printed", day=f"{day_words(made.printed)} {made.printed.year}"),
        "chart": picture.svg, "says": picture.says,
        "how": say("papers.planting.how"),
        "bring": say("papers.planting.bring"),
        "before": say("papers.planting.before"),
        "cautions": [say("papers.planting.lines"), *made.cautions],
        "heads": [say(f"papers.planting.head.{h}") for h in heads],
        "wanted": [
            (say("papers.planting.crew", crew=w.what, trees=f"{w.trees:,}"), _bring(w)) for w in made.by_crew
        ],
        "crews": [
            {
                "head": say("papers.planting.crew", crew=w.what, trees=f"{w.trees:,}"),
                "rows": [_line(farm, s) for s in made.spans if str(s.crew) == w.what],
            }
            for w in made.by_crew
        ],
    }  # fmt: skip


def _bring(wanted: Wanted) -> str:
    parts = [say("papers.planting.some", trees=f"{n:,}", what=what) for what, n in wanted.kinds]
    guards = [say("papers.planting.some", trees=f"{n:,}", what=what) for what, n in wanted.guards]
    return "; ".join([*parts, *guards])


def _line(farm: Farm, span: Span) -> list[str]:
    named = list_words(span.cultivars)
    kind = say("papers.planting.kind", species=span.species, cultivar=named) if named else span.species
    if len(span.cultivars) > 1:
        kind = say("papers.planting.turns", kind=kind)
    step = "" if span.in_row_m is None else shown(span.in_row_m, "distance", farm.units)
    trees = say("papers.planting.span", first=span.first, last=span.last, trees=span.trees, step=step)
    behind, left = (
        "" if far is None else shown(far, "distance", farm.units) for far in (span.behind_m, span.left_m)
    )
    where = say("papers.planting.row", row=span.row, bearing=f"{span.bearing_deg:.0f}")
    return [where, trees, kind, behind, left, span.guard, ""]
