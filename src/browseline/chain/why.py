"""Why: one number of a page opened to its formula, who measured what when, its sources, its mark and age."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from browseline import tables
from browseline.chain.amounts import number
from browseline.chain.formulas import formula_words
from browseline.chain.keys import figures_of, found_by, page_name, parts_of, slug
from browseline.chain.look import Picture, look
from browseline.errors import BadInput, finding
from browseline.farm.names import label
from browseline.figures import BASES, Basis, Figure, Mark, Origin
from browseline.units import System, true_minus
from browseline.words import day_words, known, list_words, say

DEEPEST = 12
TOGETHER = ","
"""What stands between keys that are opened together."""
RECORD = "record"
"""The place of a number that the entries of the record add up to."""
NEAR = 4
"""How many keys are told where a key names nothing."""
BASIS_WORDS: dict[Basis, str] = {
    "farm": "farm", "published-read": "published", "published-copy": "published", "derived": "derived",
    "conflict": "conflict", "common-practice": "practice", "from-memory": "memory", "placeholder": "guess",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cited:
    """Where a number comes from: ``words`` say who typed or measured it and when, or how a book knows it.

    ``references`` are the publications with the place in each; ``mark`` is M (measured here), B (book) or
    G (guess).
    """

    words: str
    mark: Mark
    references: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Opened:
    """One number opened. ``amount``, ``span`` and ``formula`` are in the farm's units, ``value`` in ``unit``.

    ``age_d`` is the age of the oldest measurement in it. ``above`` tells that what it was made from stands
    further up already.
    """

    key: str
    name: str
    about: str
    amount: str
    span: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    mark: Mark
    formula: str
    typed: str
    cited: tuple[Cited, ...]
    age_d: int | None
    age: str
    above: bool
    parts: tuple[Opened, ...]


@dataclass(frozen=True, slots=True)
class WhyPage:
    """The page Why: a number of the page ``page``, opened."""

    schema: str
    farm: str
    page: str
    key: str
    opened: Opened


@dataclass(frozen=True, slots=True)
class WhyTogether:
    """Several numbers of the page ``page``, opened together: those of one sentence, or of one limit.

    ``words`` are the sentences that they stand in, where the key names a limit.
    """

    schema: str
    farm: str
    page: str
    key: str
    words: tuple[str, ...]
    opened: tuple[Opened, ...]


def why(folder: Path | str, now: datetime, key: str) -> WhyPage:
    """Return the number of a key, opened, as the farm of a folder is at ``now``.

    Raises
    ------
    BadInput
        If the folder cannot be used, or no page prints such a number.
    """
    return why_page(look(folder, now), key)


def why_page(picture: Picture, key: str) -> WhyPage:
    """Return the number of a key, opened.

    Raises
    ------
    BadInput
        If no page prints such a number; with the nearest keys.
    """
    from browseline.chain.pages import PAGES  # every page is heavy to load, and Today only says amounts

    name = key.partition(".")[0]
    if name not in PAGES:
        raise BadInput([finding("why.no_page", key, pages=list_words(PAGES))])
    return why_of(picture, PAGES[name].make(picture), key)


def why_of(picture: Picture, page: Any, key: str) -> WhyPage:
    """Return the number of a key on a page that is at hand.

    Raises
    ------
    BadInput
        If the page prints no such number; with the nearest keys.
    """
    held = figures_of(page)
    found = found_by(held, key)
    if found is None:
        raise BadInput([finding("why.no_number", key, keys=list_words(_nearest(held, key)))])
    own, figure = found
    opened = open_figure(picture, own, figure)
    return WhyPage("browseline/why/1", picture.farm.name, key.partition(".")[0], own, opened)


def why_together(picture: Picture, page: Any, key: str) -> WhyTogether:
    """Return what a key opens on a page that is at hand: one number, several, or all under a part of it.

    Parameters
    ----------
    key : str
        Keys with ``TOGETHER`` between them, or the beginning of keys: ``today.mobs.ewes.lines.grass``.

    Raises
    ------
    BadInput
        If the page prints no such number; with the nearest keys.
    """
    held, told = figures_of(page), set[Figure]()
    under = {own: figure for own, figure in held.items() if own.startswith(f"{key}.")}
    for one in () if under else key.split(TOGETHER):
        found = found_by(held, one)
        if found is None:
            raise BadInput([finding("why.no_number", one, keys=list_words(_nearest(held, one)))])
        under[found[0]] = found[1]
    opened = tuple(open_figure(picture, own, figure, told) for own, figure in under.items())
    return WhyTogether(
        "browseline/why-together/1", picture.farm.name, key.partition(".")[0], key,
        tuple(dict.fromkeys(_around(page, key))), opened,
    )  # fmt: skip


def _around(page: Any, key: str) -> Iterator[str]:
    """Yield the sentences of the limit that a key is about: when, why, what to do."""
    for mob in getattr(page, "mobs", ()):
        for line in getattr(mob, "lines", ()):
            if key.startswith(f"{page_name(page)}.mobs.{slug(mob.id)}.lines.{slug(line.limit)}"):
                yield say("why.limit", mob=mob.name, limit=line.name, when=line.when or line.short)
                yield from (line.because, line.act)


def _nearest(held: Any, key: str) -> list[str]:
    from difflib import get_close_matches

    begins = [own for own in held if own.startswith(key)]
    return [*begins, *(own for own in get_close_matches(key, list(held), NEAR, 0.0) if own not in begins)][
        :NEAR
    ]


def open_figure(picture: Picture, key: str, figure: Figure, told: set[Figure] | None = None) -> Opened:
    """Return a figure opened; what ``told`` holds already stays closed, what is opened is put into it."""
    return _opened(picture, key, figure, set() if told is None else told, 0)


def _opened(picture: Picture, key: str, figure: Figure, told: set[Figure], depth: int) -> Opened:
    above = figure in told
    told.add(figure)
    deeper = {} if above or depth >= DEEPEST else parts_of(key, figure)
    age_d = age_of(picture, figure)
    return Opened(
        key, name_of(figure), called(picture, figure.about), amount(figure, picture.farm.units),
        range_words(figure, picture.farm.units), figure.value, figure.low, figure.high, figure.unit,
        figure.mark, true_minus(formula_words(figure.formula, picture.farm.units)), figure.typed,
        tuple(_cited(picture, figure, o) for o in figure.origins),
        age_d, say("why.age", days=age_d) if age_d is not None else "", above,
        tuple(_opened(picture, name, part, told, depth + 1) for name, part in deeper.items()),
    )  # fmt: skip


def called(picture: Picture, about: str) -> str:
    """Return what a number is about as people call it: a mob, paddock, planting or sward by its name."""
    farm = picture.farm
    plantings = {one.id: one.name for one in (*farm.plantings, *farm.planned)}
    for named in (picture.state.mob(about), farm.paddock(about)):
        if named is not None:
            return named.name
    return plantings.get(about) or label("sward", about)


# ---------------------------------------------------------------- who, when, where read


def age_of(picture: Picture, figure: Figure) -> int | None:
    """Return the age of the oldest measurement in a figure; what the farm's file says is as old as it. [d]"""
    ages = [(picture.today - day).days for day in _days(picture, figure)]
    return max(ages, default=None)


def _days(picture: Picture, figure: Figure) -> Iterator[date]:
    if figure.as_of is not None:
        yield figure.as_of
    elif any(_in_file(figure, origin) for origin in figure.origins):
        yield picture.farm.as_of
    for part in figure.parts:
        yield from _days(picture, part)


def _in_file(figure: Figure, origin: Origin) -> bool:
    """Return whether a number stands in the farm's file: of this farm, and nobody entered it on a day."""
    return origin.basis == "farm" and not (origin.who or origin.locator) and figure.as_of is None


def _cited(picture: Picture, figure: Figure, origin: Origin) -> Cited:
    if origin.basis == "farm":
        return Cited(_here(picture, figure, origin), BASES[origin.basis], ())
    basis = say(f"why.basis.{BASIS_WORDS[origin.basis]}")
    words = say("why.noted", basis=basis, note=origin.note) if origin.note else basis
    return Cited(words, BASES[origin.basis], tuple(references(origin)))


def _here(picture: Picture, figure: Figure, origin: Origin) -> str:
    if origin.locator == RECORD:
        return say("why.record_on", day=_dated(figure.as_of)) if figure.as_of else say("why.record")
    if _in_file(figure, origin):
        return say("why.file", day=_dated(picture.farm.as_of))
    if figure.as_of is None:
        return say("why.here.by", who=origin.who)
    if not origin.who:
        return say("why.here.on", day=_dated(figure.as_of))
    return say("why.here.by_on", who=origin.who, day=_dated(figure.as_of))


def _dated(day: date) -> str:
    return say("why.day", day=day_words(day), year=day.year)


def references(origin: Origin) -> Iterator[str]:
    """Yield the publications behind a number, each with the place in it."""
    for source in filter(None, (s.strip() for s in origin.source.split(";"))):
        row = tables.sources().get(source)
        text = say("why.source", reference=row["reference"] if row is not None else source)
        yield say("why.at", source=text, locator=origin.locator) if origin.locator else text


# ---------------------------------------------------------------- amounts in words


def name_of(figure: Figure) -> str:
    """Return what a figure is called."""
    key = f"figures.{figure.name}"
    return say(key) if known(key) else figure.name.replace("_", " ")


def amount(figure: Figure, system: System | None = None) -> str:
    """Return the value of a figure with its unit, or its range where no value is told."""
    if figure.value is not None:
        return number(figure.value, figure.unit, system)
    if figure.low is not None and figure.high is not None:
        low, high = (number(x, figure.unit, system) for x in (figure.low, figure.high))
        return say("why.from_to", low=low, high=high)
    return say("why.in_words" if figure.origins else "why.unknown_value")


def range_words(figure: Figure, system: System) -> str:
    """Return the 80 % range of a figure in words; nothing where there is none."""
    if figure.value is None or figure.low is None or figure.high is None or figure.low == figure.high:
        return ""
    low, high = (number(x, figure.unit, system) for x in (figure.low, figure.high))
    return say("why.range", low=low, high=high)
