"""Every sentence a person reads: its key, its fields and its catalogue.

A sentence is asked for by key, ``say("limits.grass.because", height="4 in")``; the words stand
in ``locale/<language>/<room>.po`` with the numbers as named fields, so a second language is a
folder of files. The room is the part of the key before the first dot.
"""

from __future__ import annotations

import gettext
import hashlib
import io
from collections.abc import Iterable
from contextvars import ContextVar
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

HALF_HOUR = timedelta(minutes=30)
LOCALE = Path(__file__).parent / "locale"
language: ContextVar[str] = ContextVar("language", default="en")


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
        template.

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
        template = entries.ngettext(key, key, count)
        fields["count"] = count
    if template == key:
        raise KeyError(key)
    return template.format(**fields)


def known(key: str) -> bool:
    """Return whether the language in force has a sentence of this key."""
    room = key.partition(".")[0]
    try:
        return catalogue(language.get(), room).gettext(key) != key
    except FileNotFoundError:
        return False


def edition(room: str) -> str:
    """Return the edition of one room's sentences in the language in force: a hash of its file."""
    path = LOCALE / language.get() / f"{room}.po"
    return hashlib.blake2b(path.read_bytes(), digest_size=8).hexdigest()


def day_words(day: date) -> str:
    """Return a day as people say it: 8 Jul."""
    return say("dates.day", day=day.day, month=say(f"dates.month.{day.month}"))


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


def list_words(items: Iterable[str]) -> str:
    """Return words joined as people say them: 4, 5 and 6."""
    found = list(items)
    if len(found) < 2:
        return "".join(found)
    return say("dates.list", first=", ".join(found[:-1]), last=found[-1])
