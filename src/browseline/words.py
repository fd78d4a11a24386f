"""Every sentence a person reads: its key, its fields and its catalogue.

A sentence is asked for by key, ``say("limits.grass.because", height="4 in")``; the words stand
in ``locale/<language>/<room>.po`` with the numbers as named fields, so a second language is a
folder of files. The room is the part of the key before the first dot.
"""

from __future__ import annotations

import gettext
import hashlib
import io
from collections.abc import Iterable, Mapping
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from string import Formatter
from typing import Any

HALF_HOUR = timedelta(minutes=30)
LOCALE = Path(__file__).parent / "locale"
language: ContextVar[str] = ContextVar("language", default="en")


@dataclass(frozen=True, slots=True)
class Link:
    """Some signs of a text, from ``start`` up to ``end``, and what they stand for."""

    start: int
    end: int
    to: object


class Linked(str):
    """A text that knows what its numbers stand for; everywhere else it is a text like any other."""

    links: tuple[Link, ...]

    def __new__(cls, text: str, links: Iterable[Link] = ()) -> Linked:
        """Return the text with its links."""
        made = super().__new__(cls, text)
        made.links = tuple(links)
        return made


def linked(text: str, to: object) -> Linked:
    """Return a text that as a whole stands for something: a number for its figure."""
    return Linked(text, (Link(0, len(text), to),))


def links_of(text: str) -> tuple[Link, ...]:
    """Return what the parts of a text stand for; nothing for a plain text."""
    return text.links if isinstance(text, Linked) else ()


def joined(parts: Iterable[str], by: str = "") -> str:
    """Return texts one after the other, every link kept."""
    found = list(parts)
    text, links, at = by.join(found), list[Link](), 0
    for part in found:
        links += (Link(at + link.start, at + link.end, link.to) for link in links_of(part))
        at += len(part) + len(by)
    return Linked(text, links) if links else text


@cache
def catalogue(tongue: str, room: str) -> gettext.GNUTranslations:
    """Return the sentences of one room in one language.

    Raises
    ------
    FileNotFoundError
        If the language has no file for the room.
    """
    import polib

    path = LOCALE / tongue / f"{room}.po"
    if not path.is_file():
        raise FileNotFoundError(path)
    entries = polib.pofile(path.read_text(encoding="utf-8"))
    return gettext.GNUTranslations(io.BytesIO(entries.to_binary()))


def say(key: str, /, *, count: Any = None, **fields: Any) -> str:
    """Return the sentence of a key with its fields filled in.

    Parameters
    ----------
    key : str
        ``room.topic.part``.
    count : int, optional
        Chooses singular or plural; it is also the field ``{count}``.
    **fields
        What the sentence names. Words typed by people stay data: they are never read as a
        template. A field that is linked to its figure stays so in the sentence.

    Raises
    ------
    KeyError
        If no catalogue holds the key, or a field that the sentence names is missing.
    """
    room = key.partition(".")[0]
    entries = catalogue(language.get(), room)
    if count is None:
        template = entries.gettext(key)
    else:
        template = entries.ngettext(key, key, int(count))
        fields["count"] = count
    if template == key:
        raise KeyError(key)
    if any(isinstance(value, Linked) for value in fields.values()):
        return _filled(template, fields)
    return template.format(**fields)


def _filled(template: str, fields: Mapping[str, Any]) -> str:
    """Return a template with its fields filled in, the links of the fields kept."""
    maker, parts = Formatter(), list[str]()
    for words, name, form, _ in maker.parse(template):
        parts.append(words)
        if name is not None:
            value = fields[name]
            parts.append(value if isinstance(value, str) and not form else format(value, form or ""))
    return joined(parts)


def template(key: str) -> str:
    """Return the sentence of a key with its fields left open, for whoever fills them elsewhere.

    Raises
    ------
    KeyError
        If no catalogue holds the key.
    """
    found = catalogue(language.get(), key.partition(".")[0]).gettext(key)
    if found == key:
        raise KeyError(key)
    return found


def known(key: str) -> bool:
    """Return whether the language in force has a sentence of this key."""
    room = key.partition(".")[0]
    try:
        entries = catalogue(language.get(), room)
    except FileNotFoundError:
        return False
    # Not every Python 3.11 finds a sentence that has a plural by gettext alone.
    return entries.gettext(key) != key or entries.ngettext(key, key, 2) != key


def edition(room: str) -> str:
    """Return the edition of one room's sentences in the language in force: a hash of its file."""
    path = LOCALE / language.get() / f"{room}.po"
    return hashlib.blake2b(path.read_bytes(), digest_size=8).hexdigest()


def day_words(day: date) -> str:
    """Return a day as people say it: 8 Jul."""
    return say("dates.day", day=day.day, month=say(f"dates.month.{day.month}"))


def ends_words(first: date, last: date, year: int) -> tuple[str, str]:
    """Return the ends of a stretch of days, with their years unless both lie in ``year``: 1 Jan 2022."""
    if first.year == last.year == year:
        return day_words(first), day_words(last)
    return f"{day_words(first)} {first.year}", f"{day_words(last)} {last.year}"


def weekday_words(day: date) -> str:
    """Return a day with its weekday: Wed 8 Jul."""
    return say("dates.weekday", weekday=say(f"dates.weekday.{day.isoweekday()}"), day=day_words(day))


def time_words(local: datetime, today: date, *, exact: bool = False) -> str:
    """Return an instant on the farm's clock: Thu 9:00, or Thu 21 May past six days.

    What was worked out is told to the hour, for more would be false; what somebody wrote down is told
    as written (``exact``).
    """
    if not exact:
        local = (local + HALF_HOUR).replace(minute=0, second=0, microsecond=0)
    day = local.date()
    weekday = say(f"dates.weekday.{day.isoweekday()}")
    if abs((day - today).days) <= 6:
        return say("dates.time", weekday=weekday, hour=local.hour, minute=f"{local.minute:02d}")
    return say("dates.weekday", weekday=weekday, day=day_words(day))


def begun(words: str) -> str:
    """Return words as a sentence begins with them; what its numbers stand for is kept."""
    text, links = words[:1].upper() + words[1:], links_of(words)
    return Linked(text, links) if links else text


def list_words(items: Iterable[str]) -> str:
    """Return words joined as people say them: 4, 5 and 6."""
    found = list(items)
    if len(found) < 2:
        return joined(found)
    return say("dates.list", first=joined(found[:-1], ", "), last=found[-1])
