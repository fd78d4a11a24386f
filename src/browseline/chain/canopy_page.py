"""The page Canopy: light under the farm's trees in one month of one year, by paddock and from the row."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from browseline.chain.look import Picture
from browseline.chain.tree_shade import clear_shares, on_map
from browseline.farm.read import read
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin, typed
from browseline.units import shown
from browseline.words import linked, list_words, say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from browseline.canopy.cells import Cells
    from browseline.canopy.light import MonthLight
    from browseline.canopy.places import TreesThere
    from browseline.canopy.sizes import TreeSizes
    from browseline.layout.form import Layout

    Array = NDArray[np.float64]

SCHEMA = "browseline/canopy/1"
MEMBERS = 21
FIRST_CALENDAR_YEAR = 1000
DIFFERS = 0.10
ENDS = (0.9, 0.1)
LEAST_LOSS = 0.005
HERE = (Origin("derived_here", "trees.md section 3, 4, 5 and 10 for crowns grown by the tables", "derived"),)


@dataclass(frozen=True, eq=False)
class Seen:
    """What the page and its drawing are made from: cells, layout, trees of the year, the month's map.

    ``light``, ``low``, ``high``, ``cover``, ``heat`` and ``land`` go by paddock of the cells, shape
    (paddock,); low and high are with trees as large as one of ten is, and as small. [1]
    """

    farm: Farm
    year: int
    month: int
    cells: Cells
    layout: Layout
    sizes: TreeSizes
    there: TreesThere
    map: MonthLight
    light: Array
    low: Array
    high: Array
    cover: Array
    heat: Array
    land: Array
    of_clear: float
    weather: bool


@dataclass(frozen=True, slots=True)
class CanopyPage:
    """The page Canopy: a table by paddock, one by distance from the row, sentences, figures."""

    schema: str
    farm: str
    year: int
    month: int
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    strips_head: tuple[str, ...]
    strips: tuple[tuple[str, ...], ...]
    sentences: tuple[str, ...]
    figures: tuple[Figure, ...]


def canopy_page(picture: Picture, year: int | None = None, month: int | None = None) -> CanopyPage:
    """Return the page Canopy of a farm.

    Parameters
    ----------
    year : int, optional
        A calendar year, or how many years from now; by default this year.
    month : int, optional
        From 1; by default the one with the warmest days.
    """
    return page_of(picture, canopy_seen(picture, year, month))


def canopy_seen(picture: Picture, year: int | None = None, month: int | None = None) -> Seen | None:
    """Return the light of a month under the trees, planned ones with them; None without trees on a map."""
    farm = _whole(picture)
    if farm.place is None or not on_map(farm):
        return None
    from browseline.canopy import light as own
    from browseline.canopy.cells import cells_of
    from browseline.canopy.places import trees_there
    from browseline.canopy.shade import hottest_month
    from browseline.canopy.sizes import grow_trees
    from browseline.chain.laid import ground_under, laid_out

    place, at = farm.place, calendar_year(picture, year)
    cells = cells_of(farm, ground_under(picture.folder, farm))
    layout = laid_out(picture.folder, farm, picture.state)
    if cells is None or not len(layout.trees):
        return None
    month = month or hottest_month(farm, place)
    sizes = grow_trees(farm, picture.state, (at,), range(MEMBERS))
    middle = own.middle_trees(sizes)
    there = trees_there(layout, middle, at, middle.members[0])
    clear = clear_shares(farm, picture.weather)[month - 1]
    made = own.month_map(cells, place, middle, there, at, month, clear)
    ends = [own.middle_trees(sizes, share) for share in ENDS]
    low, high = (
        own.paddock_light(
            cells,
            own.month_map(cells, place, e, trees_there(layout, e, at, e.members[0]), at, month, clear, False),
        )
        for e in ends
    )
    light, hot = own.paddock_light(cells, made), hottest_month(farm, place)
    return Seen(
        farm, at, month, cells, layout, middle, there, made, light, low.clip(max=light), high.clip(min=light),
        own.crown_cover(cells, there), own.heat_shade(cells, place, middle, there, hot),
        own.land_light(cells, made), clear, picture.weather is not None,
    )  # fmt: skip


def _whole(picture: Picture) -> Farm:
    """Return the farm with its paddocks whole and what is planned as if planted."""
    farm = picture.farm
    if picture.state.parents:
        farm = read(picture.folder).farm or farm
    return replace(farm, plantings=(*farm.plantings, *farm.planned), planned=())


def calendar_year(picture: Picture, year: int | None) -> int:
    """Return a calendar year of what a person said: a year, or years from now. [yr]"""
    if year is None:
        return picture.today.year
    return year if year >= FIRST_CALENDAR_YEAR else picture.today.year + year


# ---------------------------------------------------------------- in words


HEAD = ("paddock", "trees", "light", "cover", "heat", "land")
STRIPS_HEAD = ("paddock", "from_row", "strip_light")


def page_of(picture: Picture, seen: Seen | None) -> CanopyPage:
    """Return the light as the page tells it, in the farm's own units."""
    head, strips_head = _heads(HEAD), _heads(STRIPS_HEAD)
    if seen is None:
        none = (say("canopy.none"),)
        return CanopyPage(SCHEMA, picture.farm.name, picture.today.year, picture.today.month, head, (),
                          strips_head, (), none, ())  # fmt: skip
    names = {p.id: p.name for p in seen.farm.paddocks}
    figures = {p: _figures(seen, number, names.get(p, p)) for number, p in enumerate(seen.cells.paddocks)}
    rows = tuple(_row(seen, names.get(p, p), figures[p]) for p in seen.cells.paddocks)
    strips = tuple(row for p in seen.cells.paddocks for row in _strips(seen, p, names.get(p, p)))
    sky = Figure("clear_share", seen.of_clear, "1", origins=HERE, about=seen.farm.name)
    trees = Figure("trees_standing", float(len(seen.there.at)), "trees", origins=HERE, about=seen.farm.name)
    return CanopyPage(
        SCHEMA, seen.farm.name, seen.year, seen.month, head, rows, strips_head, tuple(s for s, _ in strips),
        (*_sentences(seen, sky, trees), *_differs(seen, figures)),
        (trees, sky, *(f for own in figures.values() for f in own.values()), *(f for _, f in strips)),
    )  # fmt: skip


def _heads(names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(say(f"canopy.head.{name}") for name in names)


def _figures(seen: Seen, number: int, name: str) -> dict[str, Figure]:
    """Return a paddock's light, cover, shade in the hot hours, land's own light and trees."""
    low, light, high = (float(x[number]) for x in (seen.low, seen.light, seen.high))
    plantings = [p.id for p in seen.layout.plantings if p.paddock == seen.cells.paddocks[number]]
    crowns = tuple(seen.sizes.figure("crown_m", p, seen.year) for p in plantings if seen.sizes.of(p))
    made = tuple(f for f in crowns if f.value)
    formula = say("canopy.formula", month=say(f"dates.month.{seen.month}"), year=seen.year)
    trees = float(_standing(seen, seen.cells.paddocks[number]))
    return {
        "trees": Figure("trees_standing", trees, "trees", origins=HERE, about=name),
        "light": Figure("paddock_light", light, "1", low, high, HERE, formula, made, about=name),
        "cover": Figure("crown_cover", float(seen.cover[number]), "1", origins=HERE, parts=made, about=name),
        "heat": Figure("heat_shade", float(seen.heat[number]), "1", origins=HERE, parts=made, about=name),
        "land": Figure("land_light", float(seen.land[number]), "1", origins=HERE, about=name),
    }


def _standing(seen: Seen, paddock: str) -> int:
    """Return how many trees of a paddock's rows stand."""
    home = [row.paddock == paddock for row in seen.layout.rows]
    return sum(home[int(seen.layout.trees.row[tree])] for tree in seen.there.at)


def _percent(figure: Figure) -> str:
    return linked(f"{100 * (figure.value or 0.0):.0f} %", figure)


def _row(seen: Seen, name: str, own: dict[str, Figure]) -> tuple[str, ...]:
    light, trees = own["light"], own["trees"]
    said = _percent(light)
    if light.low is not None and light.high is not None and light.high - light.low >= LEAST_LOSS:
        low, high = (linked(f"{100 * x:.0f}", light) for x in (light.low, light.high))
        said = say("canopy.ranged", light=said, low=low, high=high)
    land = _percent(own["land"]) if seen.cells.sloped else "-"
    count = linked(f"{trees.value:,.0f}", trees)
    return (name, count, said, _percent(own["cover"]), _percent(own["heat"]), land)


def _strips(seen: Seen, paddock: str, name: str) -> Iterator[tuple[tuple[str, ...], Figure]]:
    """Yield the light by distance from the row, for paddocks where trees take any."""
    import numpy as np

    from browseline.canopy.light import STRIPS_M, strip_light

    if seen.light[seen.cells.paddocks.index(paddock)] > 1 - LEAST_LOSS:
        return
    made = strip_light(seen.cells, seen.layout, seen.map, paddock)
    edges = [shown(edge, "distance", seen.farm.units, 0) for edge in (0.0, *STRIPS_M)]
    for number, share in enumerate(made):
        if not np.isfinite(share):
            continue
        where = say("canopy.beyond", near=edges[number])
        if number + 1 < len(edges):
            where = say("canopy.between", near=edges[number], far=edges[number + 1])
        figure = Figure("strip_light", float(share), "1", origins=HERE, about=f"{name}, {where}")
        yield (name, linked(where, figure), _percent(figure)), figure


def _sentences(seen: Seen, sky: Figure, trees: Figure) -> Iterator[str]:
    month, standing = say(f"dates.month.{seen.month}"), linked(f"{trees.value:,.0f}", trees)
    yield say("canopy.sum", month=month, year=seen.year, trees=standing)
    yield say("canopy.not_cover")
    yield say("canopy.sky_weather" if seen.weather else "canopy.sky_clear", share=_percent(sky))
    yield say("canopy.sloped" if seen.cells.sloped else "canopy.level")
    yield say("canopy.wind")
    if seen.there.drawn:
        yield say("canopy.drawn")
    if seen.there.beyond:
        left = Figure("trees_standing", float(seen.there.beyond), "trees", origins=HERE)
        yield say("canopy.no_place", trees=linked(f"{left.value:,.0f}", left))
    known = {p.id: p.name for p in seen.farm.plantings}
    if seen.sizes.unknown:
        yield say("canopy.unknown", plantings=list_words([known[p] for p in seen.sizes.unknown]))
    pairs = zip(seen.sizes.cohorts, seen.sizes.past_data[0], strict=True)
    old = dict.fromkeys(cohort.planting for cohort, past in pairs if past)
    if old:
        yield say("canopy.past_data", plantings=list_words([known[p] for p in old]))


def _differs(seen: Seen, figures: dict[str, dict[str, Figure]]) -> Iterator[str]:
    """Yield where the cover that somebody typed and that of the grown crowns lie far apart."""
    if seen.year != seen.farm.as_of.year:
        return
    for ident, own in figures.items():
        paddock = seen.farm.paddock(ident)
        if paddock is None or paddock.cover is None:
            continue
        said, grown = paddock.cover, own["cover"]
        if abs(said.to("1") - (grown.value or 0.0)) > DIFFERS:
            told = typed("cover", said.to("1"), "1", said.text, about=paddock.name)
            yield say("canopy.differs", paddock=paddock.name, typed=linked(said.text, told),
                      grown=_percent(grown))  # fmt: skip
