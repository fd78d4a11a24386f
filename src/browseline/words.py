"""Every sentence a person reads: its key, its fields and its catalogue.

A sentence is asked for by key, ``say("limits.grass.because", height="4 in")``; the words stand
in ``locale/<language>/<room>.po`` with the numbers as named fields, so a second language is a
folder of files. The room is the part of the key before the first dot.
"""

from __future__ import annotations

import gettext
import io
from contextvars import ContextVar
from functools import cache
from pathlib import Path

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


def say(key: str, /, *, count: int | None = None, **fields: object) -> str:
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
