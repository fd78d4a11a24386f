"""The design brief of a class: crowns that close, grass that is left, when to thin, design beside design."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from browseline.canopy import Cover, Thinning, book, row_cover, thinning
from browseline.chain import Picture, look
from browseline.farm.records import Planting
from browseline.figures import Figure, Origin, typed
from browseline.sward.shade import measured_grass
from browseline.tables import row
from browseline.trials.designs import Design, Locks
from browseline.units import Quantity, factor, plain
from browseline.words import linked, list_words, say

Array = npt.NDArray[np.float64]
SCHEMA = "browseline/brief/1"
SHOWN = (8, 10, 11, 12, 15, 18, 20, 30)
"""Years of the trees' life that are shown."""
LEVELS = (0.90, 0.75)
LAST = 40
ASKED = (Origin("derived_here", "what the brief asks of every design", "derived"),)
MEMBERS = 51
EVERY_OTHER = 2


@dataclass(frozen=True)
class DesignYears:
    """One design by year of its trees' life.

    Attributes
    ----------
    id, name, note : str
    density : Figure
        [trees/ac or trees/ha]
    cover, grass : tuple of Figure
        At the years of ``SHOWN``: crowns over the ground, and what cool-season grass keeps in as much shade,
        where that was measured. [1]
    past : tuple of int
        Years in which the cover is past all measured shade.
    touch, near : Figure or None
        When crowns meet in the row; when thinning is due. [yr]
    window : tuple of int, or None
        Whole years from the first to the last before it.
    below : tuple of (share, Figure or None)
        First year in which grass is below. [yr]
    thin_year : int, optional
        After it every other tree of the row is out. [yr]
    """

    id: str
    name: str
    note: str
    spacing: str
    cultivars: tuple[str, ...]
    density: Figure
    cover: tuple[Figure, ...]
    grass: tuple[Figure, ...]
    past: tuple[int, ...]
    touch: Figure | None
    near: Figure | None
    window: tuple[int, int] | None
    below: tuple[tuple[float, Figure | None], ...]
    thin_year: int | None = None


@dataclass(frozen=True)
class Brief:
    """The brief: designs, their table, and what is found; every number opens."""

    schema: str
    title: str
    farm: str
    years: tuple[int, ...]
    designs: tuple[DesignYears, ...]
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    assumptions: tuple[str, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Grown:
    """Crowns of one design's planting: its years of life, middle crowns, and where they come from. [m]"""

    years: tuple[int, ...]
    crown_m: Array
    parts: tuple[Figure, ...]
    formula: str


def brief(
    title: str, designs: Sequence[Design], locks: Locks, now: Picture, looks: Sequence[Picture]
) -> Brief:
    """Return the brief of designs whose pictures are at hand, in their order; ``now`` is the farm itself.

    It draws the planting that is locked, else the first whose places tell the designs apart, else the first.
    """
    locks = replace(locks, planting=locks.planting or _told_apart(looks))
    made = tuple(
        _design(design, picture, locks)
        for design, picture in zip(designs, looks, strict=True)
        if _planting(picture, locks) is not None
    )
    head = (say("trials.brief.head.what"), *(one.name for one in made))
    bare = [d.name for d, look in zip(designs, looks, strict=True) if _planting(look, locks) is None]
    found = (
        *_found(made, looks, locks),
        *([say("trials.brief.without", designs=list_words(bare))] if bare else ()),
    )
    return Brief(
        SCHEMA, title or say("trials.brief.title"), now.farm.name, SHOWN, made, head, tuple(_rows(made)),
        tuple(_assumed(looks[0], locks)), found,
    )  # fmt: skip


def subtitle(made: Brief) -> str:
    """Return what stands below the title: of which farm it is and, under a title of its own, which paper."""
    paper = say("trials.brief.title")
    return made.farm if made.title == paper else say("trials.brief.of", paper=paper, farm=made.farm)


def looked_at(designs: Sequence[Design], now: Picture) -> tuple[Picture, ...]:
    """Return the pictures of designs at the instant of the farm's own."""
    return tuple(look(design.folder, now.now) for design in designs)


def _told_apart(looks: Sequence[Picture]) -> str | None:
    """Return the first planting whose spacing or alley differs between designs; None if there is none."""
    sides: dict[str, set[tuple[str, str]]] = {}
    for picture in looks:
        for p in (*picture.farm.plantings, *picture.farm.planned):
            if p.spacing is not None and p.alley is not None:
                sides.setdefault(p.id, set()).add((p.spacing.text, p.alley.text))
    return next((planting for planting, every in sides.items() if len(every) > 1), None)


def _planting(picture: Picture, locks: Locks) -> Planting | None:
    """Return the planting that the brief is about: named, else the first with spacings."""
    every = (*picture.farm.plantings, *picture.farm.planned)
    placed = [p for p in every if p.spacing is not None and p.alley is not None]
    wanted = [p for p in placed if locks.planting in (None, p.id)]
    return wanted[0] if wanted else None


def _design(design: Design, picture: Picture, locks: Locks) -> DesignYears:
    planting = _planting(picture, locks)
    if planting is None or planting.spacing is None or planting.alley is None:
        raise LookupError(design.id)
    in_row_m, alley_m = planting.spacing.to("m"), planting.alley.to("m")
    grown = _crowns(planting, picture, locks)
    own = row_cover(grown.years, grown.crown_m, in_row_m, alley_m)
    after = row_cover(grown.years, grown.crown_m, in_row_m * EVERY_OTHER, alley_m)
    union, kept_m = own.union, in_row_m
    if design.thin_year is not None:
        union = np.where(np.array(grown.years) <= design.thin_year, own.union, after.union)
        kept_m = in_row_m * EVERY_OTHER
    met = thinning(own, grown.crown_m, in_row_m, _kept, LEVELS).touch
    if design.thin_year is None or (met is not None and met <= design.thin_year):
        kept_m = in_row_m
    made = Cover(own.years, union, own.random, own.total)
    when = thinning(made, grown.crown_m, kept_m, _kept, LEVELS)
    shown = dict(zip(grown.years, union, strict=True))
    cover = tuple(_cover(planting, grown, year, float(shown[year])) for year in SHOWN)
    return DesignYears(
        design.id, design.name, design.note,
        _places(planting.name, planting.alley, planting.spacing),
        planting.cultivars, _density(planting, picture), cover,
        tuple(_grass(one, year) for one, year in zip(cover, SHOWN, strict=True)),
        tuple(year for year in SHOWN if measured_grass(float(shown[year]))[1]),
        _year("crowns_touch", when.touch, grown), _year("thin_due", when.near, grown),
        _window(when), tuple((level, _year("grass_below", when.below[level], grown)) for level in LEVELS),
        design.thin_year,
    )  # fmt: skip


def _places(name: str, alley: Quantity, spacing: Quantity) -> str:
    """Return the places of a planting as they are typed."""
    between = typed("tree_alley", alley.to("cm"), "cm", alley.text, about=name)
    along = typed("tree_spacing", spacing.to("cm"), "cm", spacing.text, about=name)
    return say("trials.brief.spacing", alley=linked(alley.text, between), spacing=linked(spacing.text, along))


def _last() -> str:
    """Return the last year of the trees' life that is looked at."""
    return linked(f"{LAST}", Figure("brief_last", float(LAST), "yr", origins=ASKED))


def _level(level: float) -> str:
    """Return a level of the grass that is asked about."""
    return linked(f"{100 * level:.0f} %", Figure("window_level", level, "1", origins=ASKED))


def _kept(cover: float) -> float:
    """Return what grass keeps under a cover, as under as much shade where that was measured. [1]"""
    return measured_grass(cover)[0]


def _window(when: Thinning) -> tuple[int, int] | None:
    """Return the whole years from when crowns meet to when thinning is due; None where that is before."""
    if when.window is None or when.near is None or when.window[0] > when.near:
        return None
    return when.window


def _crowns(planting: Planting, picture: Picture, locks: Locks) -> _Grown:
    """Return the crowns of a planting by year of its life: by the rule that is locked, else as they grow."""
    years = tuple(range(max(locks.stem_from + 1, 1), LAST + 1))
    if locks.stem_per_year is not None:
        each = locks.stem_per_year
        stem_cm = each.to("cm") * (np.array(years, dtype=np.float64) - locks.stem_from)
        of = book.crown_width(locks.crown_like or planting.species)
        rule = typed("stem_growth", each.to("cm"), "cm", each.text, about=planting.name)
        formula = f"{each.text} × (year − {locks.stem_from})"
        return _Grown(years, of.width_m(stem_cm), (rule,), formula)
    from browseline.canopy import grow_trees

    first = planting.planted or picture.today.year
    farm = picture.farm
    sizes = grow_trees(farm, picture.state, tuple(first + y for y in years), range(MEMBERS))
    crowns = np.nan_to_num(sizes.mean("crown_m", planting.id))
    whose = Figure(
        "crown_grown", None, "m", origins=(Origin("farm", basis="placeholder"),), about=planting.name
    )
    return _Grown(years, np.median(crowns, axis=1), (whose,), "")


def _cover(planting: Planting, grown: _Grown, year: int, share: float) -> Figure:
    crown_m = float(grown.crown_m[grown.years.index(year)])
    crown = Figure(
        "crown", crown_m * factor("m", "cm"), "cm", parts=grown.parts, formula=grown.formula, about=f"{year}"
    )
    sides = tuple(
        typed(name, side.to("cm"), "cm", side.text, about=planting.name)
        for name, side in (("tree_spacing", planting.spacing), ("tree_alley", planting.alley))
        if isinstance(side, Quantity)
    )
    return Figure("crown_cover", share, "1", parts=(crown, *sides), formula="Σ ○ ÷ □", about=f"{year}")


def _grass(cover: Figure, year: int) -> Figure:
    """Return what grass keeps under as much shade as the crowns cover. [1]"""
    kept, _ = measured_grass(cover.value or 0.0)
    origin = Origin("mercier2020", "forage.md section 2", "published-read")
    return Figure("grass_kept", kept, "1", origins=(origin,), parts=(cover,), about=f"{year}")


def _density(planting: Planting, picture: Picture) -> Figure:
    unit = "trees/ac" if picture.farm.units == "acres" else "trees/ha"
    area = "ac" if picture.farm.units == "acres" else "ha"
    sides = [side for side in (planting.spacing, planting.alley) if side is not None]
    each_ha = np.prod([side.to("m") for side in sides]) * factor("m2", "ha")
    parts = tuple(typed("tree_spacing", s.to("cm"), "cm", s.text, about=planting.name) for s in sides)
    value = float(factor(area, "ha") / each_ha)
    return Figure(
        "tree_density", value, unit, parts=parts, formula=f"1 {area} ÷ ({' × '.join(s.text for s in sides)})"
    )


def _year(name: str, year: float | None, grown: _Grown) -> Figure | None:
    if year is None:
        return None
    return Figure(name, year, "yr", parts=grown.parts, formula=grown.formula)


# ---------------------------------------------------------------- the table and the sentences


def _pct(figure: Figure) -> str:
    return linked(f"{100 * (figure.value or 0.0):.0f} %", figure)


def _when(figure: Figure | None) -> str:
    return (
        linked(f"{figure.value:.1f}", figure)
        if figure is not None
        else say("trials.brief.never", last=_last())
    )


def _rows(made: Sequence[DesignYears]) -> Iterator[tuple[str, ...]]:
    yield (say("trials.brief.row.spacing"), *(one.spacing for one in made))
    yield (
        say("trials.brief.row.density"),
        *(linked(f"{plain(one.density.value or 0.0, 1)} {one.density.unit}", one.density) for one in made),
    )
    for n, year in enumerate(SHOWN):
        yield (say("trials.brief.row.cover", year=year), *(_pct(one.cover[n]) for one in made))
    for n, year in enumerate(SHOWN):
        cells = tuple(
            say("trials.brief.past", share=_pct(one.grass[n])) if year in one.past else _pct(one.grass[n])
            for one in made
        )
        yield (say("trials.brief.row.grass", year=year), *cells)
    yield (say("trials.brief.row.touch"), *(_when(one.touch) for one in made))
    yield (say("trials.brief.row.near"), *(_when(one.near) for one in made))
    for n, level in enumerate(LEVELS):
        label = say("trials.brief.row.below", share=_level(level))
        yield (label, *(_first(one.below[n][1]) for one in made))


def _first(figure: Figure | None) -> str:
    return (
        linked(f"{figure.value:.0f}", figure)
        if figure is not None
        else say("trials.brief.never", last=_last())
    )


def _assumed(picture: Picture, locks: Locks) -> Iterator[str]:
    if locks.stem_per_year is not None:
        yield say(
            "trials.brief.stem", each=locks.stem_per_year.text, first=locks.stem_from,
            like=(locks.crown_like or "").replace("_", " ") or say("trials.brief.own_species"),
        )  # fmt: skip
    else:
        yield say("trials.brief.canopy")
    yield say("trials.brief.union")
    due = row("trees", "thin_near", "canopy closure")
    yield say("trials.brief.due", share=linked(f"{due.middle():g} %", due.figure("thin_near")))
    yield from (say("trials.brief.locked", edit=edit) for edit in locks.edits)


def _found(made: Sequence[DesignYears], looks: Sequence[Picture], locks: Locks) -> Iterator[str]:
    mates = [p for picture in looks if (p := _planting(picture, locks)) is not None]
    yield from (say("trials.brief.about", planting=name) for name in dict.fromkeys(p.name for p in mates))
    for one in made:
        yield from _closing(one)
    alone = [one for one in made if len(one.cultivars) == 1]
    species = {p.species for p in mates}
    if alone and any(name.startswith("walnut") for name in species):
        yield say("trials.brief.one_cultivar", designs=list_words(one.name for one in alone))
    yield say("trials.brief.cover_is_not_shade")
    yield say("trials.brief.slats")


def _closing(one: DesignYears) -> Iterator[str]:
    """Yield when a design closes and when it would be thinned."""
    if one.thin_year is not None:
        yield say("trials.brief.thinned", design=one.name, year=one.thin_year)
    if one.near is None:
        yield say("trials.brief.stays_open", design=one.name, last=_last())
        return
    near = linked(f"{one.near.value:.1f}", one.near)
    if one.window is None:
        yield say("trials.brief.closes", design=one.name, near=near)
    else:
        first, last = one.window
        yield say("trials.brief.window", design=one.name, near=near, first=first, last=last)
    below = one.below[-1][1]
    if below is not None:
        year = linked(f"{below.value:.0f}", below)
        yield say("trials.brief.grass_below", design=one.name, share=_level(LEVELS[-1]), year=year)
    if one.note:
        yield say("trials.brief.note", design=one.name, note=one.note)
