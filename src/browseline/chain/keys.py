"""The figures of a page by stable keys, and where the page prints them.

A key is the page's name and the way to the figure through the page's record, the unit of its value last:
``store.hay.eaten_kg``, ``today.mobs.ewes.lines.grass.grass_days_d``. In a row of records stands what the
record is called (its key, id, paddock …), in a row of figures the figure's name and what it is about. What a
figure was made from is reached by strokes: ``store.hay.eaten_kg/bale_eaten_kg``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from browseline.figures import Figure, Origin
from browseline.units import UNITS
from browseline.words import links_of

CALLED = ("key", "id", "paddock", "planting", "mob", "limit", "place", "kind", "name", "case")
"""Fields that may say what one record of a row is called, the first that is there first."""
PART = "/"


@dataclass(frozen=True, slots=True)
class Printed:
    """A number in a text of a page: in which text, from which sign up to which, and the key it opens by.

    Words of a source have no key: ``source`` names it, or the farm where somebody here wrote them.
    """

    at: str
    start: int
    end: int
    text: str
    key: str = ""
    source: str = ""


def page_name(page: Any) -> str:
    """Return the name of a page, which is the middle of its schema."""
    return str(page.schema).split("/")[1]


def figures_of(page: Any) -> Mapping[str, Figure]:
    """Return every figure that a page holds or prints, by its key, in the order of the page."""
    root = page_name(page)
    found: dict[str, Figure] = {}
    for key, figure in _held(page, root):
        _add(found, key, figure)
    known = set(found.values())
    for _, text in texts_of(page, root):
        for link in links_of(text):
            if isinstance(link.to, Figure) and link.to not in known:
                known.add(link.to)
                _add(found, f"{root}.{named(link.to)}", link.to)
    return found


def keys_of(page: Any) -> Mapping[Figure, str]:
    """Return the key of every figure of a page: of one that stands there twice, the first."""
    out: dict[Figure, str] = {}
    for key, figure in figures_of(page).items():
        out.setdefault(figure, key)
    return out


def printed(page: Any, keys: Mapping[Figure, str] | None = None) -> tuple[Printed, ...]:
    """Return where a page prints its figures and quotes its sources: every link of every text.

    Parameters
    ----------
    keys : mapping, optional
        What ``keys_of`` gave, where it is at hand.
    """
    return tuple(_printed(page, keys_of(page) if keys is None else keys))


def _printed(page: Any, keys: Mapping[Figure, str]) -> Iterator[Printed]:
    for at, text in texts_of(page, ""):
        for link in links_of(text):
            words = text[link.start : link.end]
            if isinstance(link.to, Figure):
                yield Printed(at, link.start, link.end, words, keys[link.to])
            elif isinstance(link.to, Origin):
                yield Printed(at, link.start, link.end, words, source=link.to.source)


def parts_of(key: str, figure: Figure) -> Mapping[str, Figure]:
    """Return what a figure was made from, by keys."""
    out: dict[str, Figure] = {}
    for part in figure.parts:
        _add(out, f"{key}{PART}{named(part)}", part)
    return out


def found_by(keys: Mapping[str, Figure], wanted: str) -> tuple[str, Figure] | None:
    """Return the figure of a key, its unit left out or another if that is clear; None if there is none."""
    root, *way = wanted.split(PART)
    for step in ("", *way):
        fit = _fit(keys, f"{root}{PART}{step}" if step else root)
        if fit is None:
            return None
        root, figure = fit
        keys = parts_of(root, figure)
    return fit


def _fit(keys: Mapping[str, Figure], wanted: str) -> tuple[str, Figure] | None:
    if wanted in keys:
        return wanted, keys[wanted]
    stems = {key: key.removesuffix(_unit(figure)) for key, figure in keys.items()}
    fits = [
        key
        for key, stem in stems.items()
        if wanted == stem or re.fullmatch(rf"{re.escape(stem)}_\w+", wanted)
    ]
    best = max(fits, key=lambda key: len(stems[key]), default=None)
    return (best, keys[best]) if best is not None else None


# ---------------------------------------------------------------- the walk


def _held(item: Any, path: str) -> Iterator[tuple[str, Figure]]:
    """Yield every figure in a record, what it is called by its way through the record."""
    if isinstance(item, Figure):
        yield f"{path}{_unit(item)}", item
        return
    for name, part in _inside(item):
        if isinstance(part, Figure) and isinstance(item, (tuple, list)):
            yield f"{path}.{named(part)}", part
        else:
            yield from _held(part, f"{path}.{name}" if name else path)


def texts_of(item: Any, path: str) -> Iterator[tuple[str, str]]:
    """Yield every text of a record with its way through the record, figures' own words left out."""
    if isinstance(item, str):
        yield path, item
    elif not isinstance(item, Figure):
        for name, part in _inside(item, numbered=True):
            yield from texts_of(part, f"{path}.{name}" if path else name)


def _inside(item: Any, *, numbered: bool = False) -> Iterator[tuple[str, Any]]:
    """Yield what a record or a row holds, with the step to it; a row is numbered, or goes by names."""
    if is_dataclass(item) and not isinstance(item, type):
        for field in fields(item):
            if field.repr:
                yield (field.name if numbered or field.name != "figures" else ""), getattr(item, field.name)
    elif isinstance(item, (tuple, list)):
        for number, part in enumerate(item):
            yield (str(number) if numbered else _called(part) or str(number)), part


def _called(item: Any) -> str:
    own = (getattr(item, name, "") for name in CALLED)
    return next((slug(name) for name in own if isinstance(name, str) and name), "")


def named(figure: Figure) -> str:
    """Return what a figure is called in a key: its name, what it is about, its unit."""
    about = f".{slug(figure.about)}" if figure.about else ""
    return f"{figure.name}{about}{_unit(figure)}"


def _unit(figure: Figure) -> str:
    """Return the end of a key that tells the unit; a count has none, its name says what is counted."""
    if figure.unit == "1" or UNITS[figure.unit].dimension == "count":
        return ""
    word = re.sub(r"\W+", "_", figure.unit.replace("%", "pct").casefold()).strip("_")
    return f"_{word}"


def slug(text: str) -> str:
    """Return a text as one step of a key: letters and digits, the rest as dashes."""
    return re.sub(r"[^\w]+", "-", text.casefold()).strip("-")


def _add(found: dict[str, Figure], key: str, figure: Figure) -> None:
    """Add a figure; one that differs from what the key has already gets the key with a number."""
    number, own = 2, key
    while found.get(own, figure) != figure:
        own, number = f"{key}-{number}", number + 1
    found[own] = figure
