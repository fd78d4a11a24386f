"""The page Decades: the years ahead in bands, decision windows across all, and what was foretold before."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from browseline.chain.decades_bands import (
    EVERY_YEAR,
    PERCENT,
    Band,
    band_of,
    bands_of,
    lean_members,
    money_band,
)
from browseline.chain.decades_earlier import Earlier, earlier_of
from browseline.chain.decades_entered import entered_words, meant_farm
from browseline.chain.decades_own import own_words
from browseline.chain.decades_told import fodder_words, input_words, past_words, soil_words, wool_words
from browseline.chain.decades_windows import WindowLine, window_lines
from browseline.chain.look import Picture
from browseline.chain.matched import linked_in
from browseline.decades.form import MEMBERS, Projection
from browseline.decades.start import MONTHS, season_months
from browseline.farm.herd_words import class_words
from browseline.farm.names import words
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin
from browseline.units import System, plain
from browseline.words import known, linked, list_words, say

SCHEMA = "browseline/decades/1"
LEVELS = (0.9, 0.75)
ERROR = (Origin("derived_here", "ages of the trees left out and worked out for themselves", "derived"),)
BY_YEARS = (Origin("derived_here", "the years ahead, member by member", "derived"),)


@dataclass(frozen=True)
class PaddockLight:
    """The light on the grass of one paddock with trees, a band; and when it first falls below each level.

    ``below`` has one part of a sentence a level of ``LEVELS``, ``words`` the whole; ``figures`` are theirs.
    """

    paddock: str
    name: str
    light: Band
    below: tuple[str, ...]
    words: str
    figures: tuple[Figure, ...]

    @property
    def comes(self) -> bool:
        """Return whether light falls below any level within the years, in most members."""
        return any(figure.name == "ahead_below" for figure in self.figures)


@dataclass(frozen=True)
class DecadesPage:
    """The page Decades.

    Attributes
    ----------
    first_year, years, members : int
        Year 0, how many after it, and how many members.
    measured_to : int
        Up to that year things were measured; after it the book speaks.
    bad_decade : bool
        Whether only the members with the leanest ten years are shown.
    head, rows : texts
        One row a year.
    bands : tuple of Band
        The same with every other quantity, year by year.
    paddocks : tuple of PaddockLight
    windows, later : tuple of WindowLine
        What is to be decided, the soonest first; what comes after those, or in few futures.
    earlier : tuple of Earlier
        Projections that were kept, as they were.
    """

    schema: str
    farm: str
    units: System
    first_year: int
    years: int
    members: int
    measured_to: int
    bad_decade: bool
    sentences: tuple[str, ...]
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    bands: tuple[Band, ...]
    paddocks: tuple[PaddockLight, ...]
    windows: tuple[WindowLine, ...]
    later: tuple[WindowLine, ...]
    earlier: tuple[Earlier, ...]

    def band(self, key: str) -> Band | None:
        """Return the band of a key, or None where the farm has none."""
        return next((band for band in self.bands if band.key == key), None)


def decades_page(
    picture: Picture, years: int | None = None, members: int = MEMBERS, bad_decade: bool = False
) -> DecadesPage:
    """Return the page Decades of a farm.

    Parameters
    ----------
    years : int, optional
        How many after this one; by default as many as the farm chose.
    members : int
        How many futures; ranges hold eight in ten.
    bad_decade : bool
        Show only the tenth of the members whose leanest ten years grow the least.
    """
    from browseline.chain.years_ahead import projection_of

    ahead = projection_of(picture, years, members)
    shown = lean_members(ahead) if bad_decade else np.arange(members)
    farm = picture.farm
    money = money_band(farm, ahead, shown)
    bands = (*bands_of(farm, ahead, shown), *([money] if money is not None else []))
    paddocks = tuple(_paddocks(farm, ahead, shown))
    windows, later = window_lines(farm, ahead)
    columns = [band for key in EVERY_YEAR for band in bands if band.key == key]
    page = DecadesPage(
        SCHEMA, farm.name, farm.units, ahead.first_year, len(ahead.years) - 1, members,
        ahead.measured_to, bad_decade,
        tuple(_sentences(picture, ahead, shown, bands, bad_decade)),
        (say("decades.head.year"), *(band.name for band in columns)),
        tuple(_row(columns, ahead, at, farm.units) for at in range(len(ahead.years))),
        bands, paddocks, windows, later, earlier_of(picture.events, picture.now),
    )  # fmt: skip
    return linked_in(page)


def _row(columns: list[Band], ahead: Projection, at: int, units: System) -> tuple[str, ...]:
    return (f"{ahead.years[at]}", *(band.words(ahead.years[at], units) for band in columns))


def _paddocks(farm: Farm, ahead: Projection, shown: NDArray[np.int64]) -> Iterator[PaddockLight]:
    for i, ident in enumerate(ahead.light.paddocks):
        light = ahead.light.light_frac[:, :, i]
        by_cover = ident in ahead.light.stand_in
        seen = 1 - ahead.light.cover_frac[:, :, i] if by_cover else light
        own = farm.paddock(ident)
        if own is None or (seen > 1 - 1e-3).all():
            continue
        title = say("decades.band.light_of", name=own.name)
        band = band_of(ahead, (f"light.{ident}", title, "1", seen, BY_YEARS), shown)
        told = [_below(ahead, own.name, seen[:, shown], level) for level in LEVELS]
        below = tuple(text for text, _ in told)
        words = say("decades.below.line", name=own.name, levels=list_words(below))
        yield PaddockLight(ident, own.name, band, below, words, tuple(f for _, made in told for f in made))


def _below(
    ahead: Projection, name: str, seen: NDArray[np.float64], level: float
) -> tuple[str, tuple[Figure, ...]]:
    """Return when light first falls below a level, in words, and the figures of the words."""
    from browseline.decades.windows import first_years

    first = first_years(seen < level, ahead.years)
    wanted = Figure("window_level", level, "1", origins=BY_YEARS, about=name)
    share = linked(f"{plain(level * PERCENT, 0)} %", wanted)
    comes = first[np.isfinite(first)]
    if len(comes) * 2 < len(first):
        return say("decades.below.never", share=share), (wanted,)
    low, likely, high = (float(np.quantile(comes, q, method="nearest")) for q in (0.1, 0.5, 0.9))
    formula = say("decades.formula", members=str(len(first)))
    year = Figure(
        "ahead_below",
        likely,
        "yr",
        low,
        high,
        BY_YEARS,
        formula,
        about=f"{name}, {plain(level * PERCENT, 0)} %",
    )
    ends = [linked(f"{x:.0f}", year) for x in (likely, low, high)]
    key = "decades.below.year" if low == high else "decades.below.span"
    return say(key, share=share, likely=ends[0], low=ends[1], high=ends[2]), (wanted, year)


# ---------------------------------------------------------------- in sentences


def _sentences(
    picture: Picture, ahead: Projection, shown: NDArray[np.int64], bands: tuple[Band, ...], bad: bool
) -> Iterator[str]:
    from browseline.chain.years_ahead import start_of

    farm = picture.farm
    yield _measured(ahead)
    if not ahead.feed.grows:
        yield say("decades.no_feed")
    yield say("decades.rule.fixed_own" if _fixed_own(farm, ahead) else f"decades.rule.{farm.future.stock}")
    yield from _by_grass(farm, ahead)
    if bad:
        few = Figure("ahead_members", float(len(shown)), "1", origins=BY_YEARS, about="lean")
        every = Figure("ahead_members", float(len(ahead.members)), "1", origins=BY_YEARS)
        yield say(
            "decades.bad", few=linked(f"{len(shown)}", few), every=linked(f"{len(ahead.members)}", every)
        )
    yield from _leanest(ahead, shown, bands, farm.units)
    yield from _error(ahead)
    if ahead.light.stand_in:
        names = [p.name for p in farm.paddocks if p.id in ahead.light.stand_in]
        yield say("decades.stand_in", paddocks=list_words(names))
    if not any(crop.amount.any() for crop in ahead.yields) and farm.plantings:
        yield say("decades.no_crop")
    if ahead.unknown:
        yield say("decades.unknown", names=list_words(_names(farm, ahead.unknown)))
    yield from _left_out(ahead)
    yield from own_words(farm, ahead, shown)
    yield from _season_only(picture, ahead)
    yield from fodder_words(farm, ahead)
    yield from wool_words(farm, picture.state, ahead)
    yield from input_words(meant_farm(farm, ahead), ahead)
    yield from entered_words(start_of(picture), ahead)
    yield from past_words(farm, ahead)
    yield from soil_words(farm, ahead)
    yield say("decades.caution")


def _fixed_own(farm: Farm, ahead: Projection) -> bool:
    """Return whether head stay and feed of the farm's own is eaten before any hay is bought."""
    return farm.future.stock == "fixed" and ahead.feed.own is not None


def _by_grass(farm: Farm, ahead: Projection) -> Iterator[str]:
    """Yield that head are not kept on hay, where a rule moves head and the farm feeds hay of its own."""
    if farm.future.stock != "fixed" and ahead.feed.own is not None:
        yield say("decades.rule.by_grass")


def _season_only(picture: Picture, ahead: Projection) -> Iterator[str]:
    """Yield that growth outside a season shorter than the year is not counted."""
    if ahead.feed.grows and len(season_months(picture.farm, picture.today)) < len(MONTHS):
        yield say("decades.own.season_only")


def _measured(ahead: Projection) -> str:
    year = Figure("measured_to", float(ahead.measured_to), "yr", origins=(Origin("farm", basis="farm"),))
    return say("decades.measured", year=linked(f"{ahead.measured_to}", year))


def _leanest(
    ahead: Projection, shown: NDArray[np.int64], bands: tuple[Band, ...], units: System
) -> Iterator[str]:
    """Yield the worst first: of all years of all members, what feed covers in the leanest one in ten."""
    hay = next((band for band in bands if band.key == "hay"), None)
    need = ahead.feed.need_kg.sum(axis=2)[:, shown]
    grows = ahead.feed.grows and bool((need > 0).any())
    if not grows or (hay is None and not ahead.feed.off_grass_kg.any()):
        return
    short = ahead.feed.off_grass_kg[:, shown]
    covered = np.divide(need - short, need, out=np.ones(need.shape), where=need > 0)
    low, likely, high = (float(x) for x in np.quantile(covered, (0.1, 0.5, 0.9)))
    formula = say("decades.formula_years", years=str(len(ahead.years)), members=str(len(shown)))
    figure = Figure("ahead_covered", likely, "1", low, high, ahead.feed.origins, formula)
    shares = {
        name: linked(f"{plain(x * PERCENT, 0)} %", figure) for name, x in (("low", low), ("likely", likely))
    }
    if hay is None:
        yield say("decades.leanest_own", **shares)
        return
    at = int(np.argmax(hay.likely))
    worst = linked(
        f"{ahead.years[at]}", Figure("ahead_worst", float(ahead.years[at]), "yr", origins=BY_YEARS)
    )
    yield say("decades.leanest", **shares, year=worst, hay=hay.words(ahead.years[at], units))


def _error(ahead: Projection) -> Iterator[str]:
    if ahead.light.error_frac.any():
        worst = float(ahead.light.error_frac.max())
        figure = Figure("light_error", worst, "1", origins=ERROR)
        yield say("decades.error", share=linked(f"{plain(worst * PERCENT, 1)} %", figure))


def _names(farm: Farm, idents: tuple[str, ...]) -> list[str]:
    things = {p.id: p.name for p in farm.paddocks} | {p.id: p.name for p in farm.plantings}
    return [things.get(ident) or _unfed(ident) for ident in dict.fromkeys(idents)]


def _unfed(ident: str) -> str:
    """Return what is not known of animals, whose class is named with its kind before it: what they eat."""
    kind, _, klass = ident.partition(", ")
    return say("decades.unfed", klass=class_words(klass, 2)) if klass and kind in words("kind") else ident


def _left_out(ahead: Projection) -> Iterator[str]:
    words = [say(key) for name in ahead.carbon.left_out if known(key := f"decades.left_out.{name}")]
    if words:
        yield say("decades.left_out", lines=list_words(words))
