"""The closed lists of words a farm file may use, and the nearest word to a mistyped one."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from functools import cache

from browseline import tables


@cache
def words(which: str, of: str = "") -> tuple[str, ...]:
    """Return the words of a list in the order of the table; for classes, those of one kind."""
    rows = tables.texts("names")
    return tuple(row["key"] for row in rows if row["list"] == which and (not of or row["of"] == of))


@cache
def label(which: str, key: str, of: str = "") -> str:
    """Return how people say a word of a list; the word itself where the list lacks it."""
    for row in tables.texts("names"):
        if (row["list"], row["key"]) == (which, key) and (not of or row["of"] == of):
            return row["label"] or key
    return key


@cache
def meant(which: str, typed: str) -> str | None:
    """Return the word of another list that a word of this one stands for.

    Returns
    -------
    str or None
        Empty where none stands for it; None where this list lacks it.
    """
    rows = tables.texts("names")
    return next((row["of"] for row in rows if (row["list"], row["key"]) == (which, typed)), None)


def written(ident: str) -> str:
    """Return an id as names are written, for a mob that nobody named: *goats* are Goats."""
    return ident[:1].upper() + ident[1:]


def nearest(typed: str, known: Iterable[str]) -> str | None:
    """Return the known word most like a mistyped one, or None where none is near."""
    by_lower = {word.lower().replace("_", " "): word for word in known}
    asked = typed[:80].lower().replace("_", " ").strip()
    if asked in by_lower:
        return by_lower[asked]
    close = difflib.get_close_matches(asked, by_lower, n=1, cutoff=0.65)
    if close:
        return by_lower[close[0]]
    inside = [word for low, word in by_lower.items() if len(asked) > 2 and (asked in low or low in asked)]
    return inside[0] if inside else None
