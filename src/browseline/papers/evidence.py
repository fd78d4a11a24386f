"""The carbon pack (P13): what is claimed, what is not, how wrong it may be, and the evidence for it.

Nothing is netted, no price is made, soil is in it by two like samplings alone, no projection is in it at all,
and no place on Earth unless somebody ticked that.
"""

from __future__ import annotations

from collections.abc import Iterator

from browseline import __version__, tables
from browseline.chain.look import Picture
from browseline.chain.years_ahead import meant_of
from browseline.errors import BadInput, finding
from browseline.farm.records import Farm, Planting
from browseline.figures import Figure, Origin
from browseline.ledger.account import dated
from browseline.ledger.carbon import CarbonBook, carbon_book
from browseline.ledger.carbon_page import (
    book_rows,
    counts,
    flock_words,
    soil_words,
    span_words,
    star_words,
)
from browseline.ledger.facts import whole_area
from browseline.ledger.star import herd_star
from browseline.papers.evidence_doubt import choices_section, doubt_section, equation_text, tonnes
from browseline.papers.evidence_facts import (
    claimed_plantings,
    management_section,
    owner_section,
    photo_section,
    planting_section,
    stem_section,
    undo_section,
)
from browseline.papers.evidence_form import SCHEMA, Evidence
from browseline.papers.section_form import Section
from browseline.units import plain, shown
from browseline.words import day_words, linked, list_words, say

SIGNS = 12
PROGRAM = Origin("derived_here", "", "derived")
FACTORS = ("figure", "about", "value", "mark", "source", "place", "basis")


def evidence(picture: Picture, edition: str, *, coordinates: bool = False) -> Evidence:
    """Return the carbon pack.

    Parameters
    ----------
    edition : str
        Of the tables: the hash over them.
    coordinates : bool
        Whether longitudes and latitudes of the trees' ground are in it.

    Raises
    ------
    BadInput
        If no stem was measured: there is nothing to claim.
    """
    book = carbon_book(picture.scene, picture.events)
    if not book.stocks:
        raise BadInput([finding("papers.no_stems", picture.farm.name)])
    plantings = claimed_plantings(picture, book)
    not_claimed = tuple(_not_claimed(meant_of(picture), book))
    sections = (
        Section("claimed", say("evidence.head.claimed"), tuple(_claimed(book))),
        Section("not_claimed", say("evidence.head.not_claimed"), not_claimed),
        doubt_section(book), choices_section(picture.farm, book), _method(picture, book, plantings, edition),
        stem_section(picture, book), planting_section(picture, plantings), owner_section(picture),
        undo_section(picture, plantings), _animals(picture, book),
        Section("soil", say("evidence.head.soil"), tuple(soil_words(picture.scene, book))),
        management_section(picture, plantings), photo_section(picture, plantings),
        _place(picture, plantings, coordinates), _missing(picture, book, plantings), _sources(book),
    )  # fmt: skip
    at = picture.scene.local(picture.now)
    printed = say("evidence.printed", day=f"{day_words(at.date())} {at.year}", time=f"{at:%H:%M}")
    svg, says = _drawing(picture, plantings)
    return Evidence(
        SCHEMA, picture.farm.name, picture.farm.units, at, printed,
        say("evidence.title", farm=picture.farm.name), say("evidence.disclaimer"), sections, svg, says,
    )  # fmt: skip


# ---------------------------------------------------------------- what is claimed, and what is not


def _claimed(book: CarbonBook) -> Iterator[str]:
    for stock in book.stocks:
        trees, measured = counts(stock)
        yield say(
            "evidence.claimed.stock", planting=stock.name, trees=trees, measured=measured,
            day=dated(stock.stems.day), whole=tonnes(stock.whole), above=tonnes(stock.above),
            range=span_words(stock),
        )  # fmt: skip
    yield say("evidence.claimed.stands")
    for stock in book.stocks:
        if stock.a_year is not None:
            amount = linked(f"{stock.a_year.value:.2f}", stock.a_year)
            yield say("evidence.claimed.a_year", planting=stock.name, amount=amount)


def _not_claimed(farm: Farm, book: CarbonBook) -> Iterator[str]:
    yield say("evidence.not_claimed.net")
    yield say("evidence.not_claimed.soil") if not book.soil else say("evidence.not_claimed.soil_beside")
    if book.unmeasured:
        yield say("carbon.unmeasured", plantings=list_words(book.unmeasured))
    for what in ("years_ahead", "added", "dead_wood", "mowing", "price"):
        yield say(f"evidence.not_claimed.{what}")
    if farm.future.inputs:
        names = list_words([linked(one.what, Origin("farm", basis="farm")) for one in farm.future.inputs])
        yield say("evidence.not_claimed.inputs", names=names)


# ---------------------------------------------------------------- method, animals


def _method(picture: Picture, book: CarbonBook, plantings: tuple[Planting, ...], edition: str) -> Section:
    lines = []
    for stock, planting in zip(book.stocks, plantings, strict=True):
        text, named = equation_text(picture.farm, planting)
        equation, group = linked(text, stock.mean), linked(named, stock.mean)
        mean = linked(f"{stock.mean.value:.1f}", stock.mean)
        lines.append(
            say("evidence.method.equation", planting=stock.name, equation=equation, group=group, mean=mean)
        )
        short = stock.by_mean_stem
        if (short.value or 0.0) > 0:
            share = linked(f"{100 * (short.value or 0.0):.1f} %", short)
            lines.append(say("carbon.mean_stem", share=share))
        formula = linked(stock.whole.formula, stock.whole)
        lines.append(say("evidence.method.worked", whole=tonnes(stock.whole), formula=formula))
    lines.append(say("evidence.method.forest"))
    lines.append(say("evidence.method.marks"))
    lines.append(
        say(
            "evidence.method.edition",
            version=linked(__version__, PROGRAM),
            tables=linked(edition[:SIGNS], PROGRAM),
        )
    )
    lines.append(say("carbon.factors", edition=book.edition, region=book.region, climate=book.climate,
                     metric=book.metric))  # fmt: skip
    head = tuple(say(f"evidence.method.head.{column}") for column in FACTORS)
    rows = tuple(dict.fromkeys(row for stock in book.stocks for row in _factor_rows(stock.whole)))
    return Section("method", say("evidence.head.method"), tuple(lines), head, rows)


def _factor_rows(figure: Figure) -> Iterator[tuple[str, ...]]:
    """Yield each coefficient that a figure was made from, with its mark and where it stands."""
    for origin in figure.origins:
        if origin.source != "farm":
            value = "–" if figure.name == "tree_mass" else linked(plain(figure.value or 0.0, 3), figure)
            which = origin.locator if figure.name == "tree_mass" else figure.about
            yield (
                say(f"figures.{figure.name}"), linked(which, origin), value, figure.mark, origin.source,
                linked(origin.locator, origin), say(f"evidence.basis.{origin.basis}"),
            )  # fmt: skip
    for part in figure.parts:
        yield from _factor_rows(part)


def _animals(picture: Picture, book: CarbonBook) -> Section:
    lines = [line for flock in book.flocks for line in flock_words(flock)]
    lines += star_words(herd_star(picture.scene))
    if book.years:
        lines.append(say("evidence.animals.until", day=dated(book.years[-1].until)))
    lines.append(say("carbon.never_netted"))
    if book.outside:
        lines.append(say("carbon.outside", what=list_words(book.outside)))
    head = tuple(say(f"carbon.head.{c}") for c in ("year", "line", "about", "gas", "amount", "warming"))
    rows = tuple(book_rows(book))
    return Section("animals", say("evidence.head.animals"), tuple(lines), head if rows else (), rows)


# ---------------------------------------------------------------- place, gaps, sources


def _place(picture: Picture, plantings: tuple[Planting, ...], coordinates: bool) -> Section:
    farm, lines = picture.farm, []
    for paddock in (farm.paddock(i) for i in dict.fromkeys(p.paddock for p in plantings if p.paddock)):
        if paddock is not None:
            area = whole_area(paddock)
            size = linked(shown(area.value or 0.0, "area", farm.units), area)
            lines.append(say("evidence.place.paddock", paddock=paddock.name, area=size))
    if any(p.paddock is None for p in plantings):
        lines.append(say("evidence.place.no_paddock"))
    if not coordinates:
        lines.append(say("evidence.place.without"))
        return Section("place", say("evidence.head.place"), tuple(lines))
    rows = tuple(_corners(picture, plantings))
    if not rows:
        lines.append(say("evidence.place.no_map"))
    head = tuple(say(f"evidence.place.head.{c}") for c in ("shape", "corner", "longitude", "latitude"))
    return Section("place", say("evidence.head.place"), tuple(lines), head if rows else (), rows)


def _corners(picture: Picture, plantings: tuple[Planting, ...]) -> Iterator[tuple[str, ...]]:
    """Yield the corners of the trees' paddocks as they are on the map."""
    homes = {paddock.shape or paddock.id: paddock.name for p in plantings
             if p.paddock and (paddock := picture.farm.paddock(p.paddock)) is not None}  # fmt: skip
    for shape in (s for s in picture.farm.shapes if s.id in homes):
        for ring in shape.rings:
            for number, (longitude, latitude) in enumerate(ring, start=1):
                yield homes[shape.id], f"{number}", f"{longitude:.6f}", f"{latitude:.6f}"


def _missing(picture: Picture, book: CarbonBook, plantings: tuple[Planting, ...]) -> Section:
    """Return what a careful buyer asks next and this pack cannot answer."""
    rules, farm = picture.farm.carbon, picture.farm
    asked = ["picked", "again", "verified", "added", "permanent", "group"]
    if not rules.owner:
        asked.append("owner")
    if not rules.paid:
        asked.append("paid")
    if not any(p.kind == "lease" for p in farm.promises):
        asked.append("land")
    if any(len(stock.stems.dbh_cm) < stock.stems.trees for stock in book.stocks):
        asked.append("all")
    if any(p.planted is None for p in plantings):
        asked.append("year")
    lines = tuple(say(f"evidence.missing.{what}") for what in asked)
    return Section("missing", say("evidence.head.missing"), lines)


def _sources(book: CarbonBook) -> Section:
    """Return every source that the claim stands on, in full."""
    named = dict.fromkeys(
        key.strip()
        for stock in book.stocks
        for row in _factor_rows(stock.whole)
        for key in row[4].split(";")
    )  # fmt: skip
    known = tables.sources()
    rows = tuple((key, linked(known[key]["reference"], Origin(key))) for key in named if key in known)
    head = tuple(say(f"evidence.sources.head.{c}") for c in ("key", "reference"))
    return Section("sources", say("evidence.head.sources"), (), head, rows)


def _drawing(picture: Picture, plantings: tuple[Planting, ...]) -> tuple[str, str]:
    """Return rows and ground of the claimed trees as a drawing in metres; empty without a map of them."""
    if not picture.farm.shapes:
        return "", ""
    from browseline.chain.laid import laid_out
    from browseline.papers.plan import drawing

    layout = laid_out(picture.folder, picture.farm, picture.state)
    wanted = {p.id for p in plantings} & {p.id for p in layout.plantings if p.places}
    if not wanted:
        return "", ""
    made = drawing(picture.farm, layout, wanted)
    return made.svg, made.says
