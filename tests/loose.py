"""Find the numbers of a page that open nowhere: what is printed, is no date or name, and has no figure."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from browseline.chain import Picture
from browseline.chain.keys import figures_of, parts_of, texts_of
from browseline.farm.herd_words import class_words
from browseline.farm.names import words
from browseline.figures import Figure
from browseline.units import UNITS, convert, unit_word
from browseline.words import links_of

MONTHS = "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec"
DATES = re.compile(
    r"\d{4}-\d\d-\d\d(?: \d\d:\d\d)?|\d{1,2}:\d\d"
    r"|(?:(?<=, )|(?<=for ))(?:19|20)\d\d(?=:)|^(?:19|20)\d\d$|(?<=guidelines of )\d{4}"
    r"|`browseline [^`]*`"
    r"|AR\d, \d+ yr|\d\.\d+-\d\.\d+ spg"
    rf"|\d{{1,2}} (?:{MONTHS})\w*(?: \d{{4}})?|(?:{MONTHS})\w* \d{{4}}"
)
"""Days, years and times of the day as the record writes them, metrics named by years, woods, commands."""
NUMBER = re.compile(r"(?<![\w.])\d(?:[\d,]*\d)?(?:\.\d+)?(?:\s*[-–]\s*\d(?:[\d,]*\d)?(?:\.\d+)?)?")
NAMES = ("id", "name", "schema", "key", "farm", "units", "time_zone", "where")

AS_TYPED = (".edits.", ".typed.")
"""Lists that repeat what somebody typed, each word as it is."""


def loose(picture: Picture, page: Any, by_value: tuple[str, ...] = ()) -> list[str]:
    """Return every printed number of a page that opens nowhere, with its text.

    Parameters
    ----------
    by_value : tuple of str
        Fields whose sentences come from the limits: there a number is found by value among the figures.
    """
    ids, found = {name for name in names_of(picture) if name}, list[str]()
    every = list(all_figures(page))
    for at, text in texts_of(page, ""):
        if text in ids or at.rpartition(".")[2] in NAMES or any(step in at for step in AS_TYPED):
            continue
        valued = any(step in by_value for step in at.split("."))
        for start, end, number in numbers(text, ids):
            if any(link.start <= start and end <= link.end for link in links_of(text)):
                continue
            if not (valued and any(_is(text, end, number, figure) for figure in every)):
                found.append(f"{at}: {number!r} in {text!r}")
    return found


def numbers(text: str, names: set[str]) -> Iterator[tuple[int, int, str]]:
    """Yield the numbers in a text that are neither dates nor in a name of the farm."""
    kept = DATES.sub(lambda m: "_" * len(m[0]), text)
    for name in sorted(names, key=len, reverse=True):
        if any(sign.isdigit() for sign in name) and not name.isdigit():
            kept = kept.replace(name, "_" * len(name))
    for match in NUMBER.finditer(kept):
        yield match.start(), match.end(), match[0]


def names_of(picture: Picture) -> Iterator[str | None]:
    """Yield what the farm calls its places, animals and trees."""
    farm = picture.farm
    yield farm.name
    things: tuple[Any, ...] = (*farm.paddocks, *farm.mobs, *farm.plantings, *farm.jobs, *picture.state.mobs)
    for thing in things:
        yield from (thing.id, thing.name)
    yield from (one.animal for one in picture.state.withdrawals)
    yield from (one.animal for one in picture.state.animals)
    for planting in farm.plantings:
        for row in planting.rows:
            yield from (f"{planting.id}/{row.id}", row.id, row.name, row.cultivar, row.rootstock)
        yield planting.rootstock
    yield from (lot.id for lot in farm.hay)
    yield from (promise.what for promise in farm.promises)
    yield from (farm.carbon.paid, farm.carbon.owner)
    if farm.money is not None:
        plan = farm.money
        yield from (loan.name for loan in plan.loans)
        yield from (line.name for line in plan.lines)
        yield from (knock.name for knock in plan.knocks)
        yield from (line.note for line in plan.lines)
        yield from (loan.buys for loan in plan.loans)
        yield from (plan.pledged, plan.lender, *plan.decades)
    for klass in (klass for kind in words("kind") for klass in words("class", kind)):
        yield from (klass, class_words(klass, 2))


def all_figures(page: Any) -> Iterator[Figure]:
    """Yield every figure of a page and every one that it is made from."""
    for key, figure in figures_of(page).items():
        yield from _tree(key, figure)


def _tree(key: str, figure: Figure) -> Iterator[Figure]:
    yield figure
    for name, part in parts_of(key, figure).items():
        yield from _tree(name, part)


def _is(text: str, end: int, number: str, figure: Figure) -> bool:
    """Return whether a number is a figure's value or an end of its range, in the unit behind it."""
    word = re.match(r"\s*([A-Za-z%$/]+)", text[end:])
    unit = (unit_word(word[1].rstrip(".,;")) if word else None) or figure.unit
    if UNITS[unit].dimension != UNITS[figure.unit].dimension:
        unit = figure.unit
    return any(_same(part, unit, figure) for part in re.split(r"\s*[-–]\s*", number))


def _same(text: str, unit: str, figure: Figure) -> bool:
    plain = text.replace(",", "")
    digits = len(plain.partition(".")[2])
    for value in (figure.value, figure.low, figure.high):
        if value is not None and abs(value) < 1e12:
            shown = float(convert(Fraction(value), figure.unit, unit))
            if abs(abs(shown) - float(plain)) <= 0.51 * 10.0**-digits:
                return True
    return False
