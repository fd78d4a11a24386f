"""Whole pages kept by content: sentences with the figures behind their numbers, as JSON that runs nothing.

A kept page is the same record as when it was made: every number of it opens to the same figure.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from browseline.chain.keep import content_key, kept_text
from browseline.chain.look import opened
from browseline.farm.read import MAP, TERRAIN
from browseline.figures import Figure, Origin
from browseline.words import LOCALE, Link, Linked, edition, language

T = TypeVar("T")
Kinds = Mapping[str, type]
OWN = (Figure, Origin)
MOST_KEPT = 40


def kept_page(kind: str, key: str, make: Callable[[], T], whole: type[T], inside: Sequence[type] = ()) -> T:
    """Return a page of a key from the cache, or make and keep it.

    Parameters
    ----------
    kind : str
        What it is: the first word of the file.
    key : str
        As ``page_key`` gives it.
    make : callable
        Gives a record of texts, numbers, days, figures, tuples and records.
    whole, inside : type, sequence of type
        The record of the page itself, and those that may stand in it beside figures.
    """
    known = {one.__name__: one for one in (*OWN, whole, *inside)}
    fresh: list[T] = []

    def text() -> str:
        fresh.append(make())
        return _written(fresh[0])

    held = kept_text(kind, key, text, MOST_KEPT)
    if fresh:
        return fresh[0]
    try:
        page = _read(held, known)
    except (ValueError, KeyError, TypeError, IndexError):
        return make()
    return page if isinstance(page, whole) else make()


def page_key(folder: Path, now: datetime, *parts: object) -> str:
    """Return the key of a page that hangs on a farm's files, its record and the day.

    Raises
    ------
    BadInput
        With every finding, if the folder cannot be used as it is.
    """
    farm, events, _ = opened(folder)
    begun = tuple(str(event.id) for event in events if event.order[0] <= now)
    there = [(folder / name).read_bytes() if (folder / name).is_file() else b"" for name in (MAP, TERRAIN)]
    today = now.astimezone(ZoneInfo(farm.time_zone)).date()
    rooms = sorted(path.stem for path in (LOCALE / language.get()).glob("*.po"))
    sentences = (language.get(), *(edition(room) for room in rooms))
    return content_key(farm, events, begun, today, there, sentences, *parts)


# ---------------------------------------------------------------- written and read


def _written(page: object) -> str:
    figures: dict[Figure, int] = {}
    whole = _plain(page, figures)
    told = [_record(figure, figures) for figure in list(figures)]  # a figure's parts stand before it
    return json.dumps({"page": whole, "figures": told}, ensure_ascii=False, separators=(",", ":"))


def _number(figure: Figure, figures: dict[Figure, int]) -> int:
    if figure not in figures:
        for part in figure.parts:
            _number(part, figures)
        figures[figure] = len(figures)
    return figures[figure]


def _plain(item: Any, figures: dict[Figure, int]) -> Any:
    if isinstance(item, Linked):
        links = [[link.start, link.end, _plain(link.to, figures)] for link in item.links]
        return {"linked": [str(item), links]}
    if item is None or isinstance(item, (str, bool, int, float)):
        return item
    if isinstance(item, Figure):
        return {"figure": _number(item, figures)}
    if isinstance(item, (tuple, list)):
        return [_plain(part, figures) for part in item]
    if isinstance(item, date):
        return {"day": item.isoformat()}
    if is_dataclass(item) and not isinstance(item, type):
        return _record(item, figures)
    raise TypeError(type(item).__name__)


def _record(item: Any, figures: dict[Figure, int]) -> dict[str, Any]:
    parts = [_plain(getattr(item, own.name), figures) for own in fields(item)]
    return {"record": [type(item).__name__, parts]}


def _read(text: str, kinds: Kinds) -> Any:
    held = json.loads(text)
    figures: list[Figure] = []
    for one in held["figures"]:
        figures.append(_made(one, kinds, figures))
    return _made(held["page"], kinds, figures)


def _made(item: Any, kinds: Kinds, figures: list[Figure]) -> Any:
    if isinstance(item, list):
        return tuple(_made(part, kinds, figures) for part in item)
    if not isinstance(item, dict):
        return item
    ((what, own),) = item.items()
    if what == "linked":
        links = (Link(start, end, _made(to, kinds, figures)) for start, end, to in own[1])
        return Linked(own[0], links)
    if what == "figure":
        return figures[own]
    if what == "day":
        return date.fromisoformat(own)
    name, parts = own
    return kinds[name](*(_made(part, kinds, figures) for part in parts))
