"""Animals as people say them, ``1 ewe, 2 lambs``, to the kind and class that a mob holds."""

from __future__ import annotations

import re

from browseline import tables
from browseline.chain.desk.lookup import Names, singular, unknown
from browseline.errors import BadInput, finding
from browseline.farm.herd_words import class_said, class_words
from browseline.record.state import MobState

_PARTS = re.compile(r"\s*(?:,|\+|\band\b)\s*")


def split_head(text: str) -> tuple[int, str]:
    """Return the number and the words of ``2 lambs``; a bare number has no words.

    Raises
    ------
    BadInput
        If it does not begin with a whole number.
    """
    number, _, words = text.strip().partition(" ")
    if not (number.isascii() and number.isdigit()):
        raise BadInput([finding("cli.no_head", text, text=text)])
    return int(number), words.strip()


def head_texts(names: Names, mob: MobState | None, text: str) -> list[str]:
    """Return ``kind/class=number`` for each of several heads.

    A bare number counts the class that the mob is called after, where it holds others too.
    """
    out = []
    for part in filter(None, _PARTS.split(text)):
        if "=" in part:
            out.append(part)
            continue
        number, words = split_head(part)
        if not words and mob is not None and len(mob.lines) > 1:
            named = [line for said in (mob.id, mob.name) if (line := names.line(mob, said)) is not None]
            if named:
                out.append(f"{named[0].kind}/{named[0].klass}={number}")
                continue
        out.append(_of_class(names, mob, number, words))
    return out


def _of_class(names: Names, mob: MobState | None, number: int, words: str) -> str:
    if not words:
        return str(number)
    line = names.line(mob, words) if mob is not None else None
    if line is None:
        lines = mob.lines if mob is not None else ()
        raise unknown("animals", words, (class_words(x.klass, 2) for x in lines))
    return f"{line.kind}/{line.klass}={number}"


def one_class(names: Names, mob: MobState | None, words: str, kind: str = "") -> tuple[str, str]:
    """Return kind and class of animals that one word names: as the mob holds them, else by the tables.

    Raises
    ------
    BadInput
        If no class was said, or its kind is not clear.
    """
    if not words:
        raise BadInput([finding("cli.no_class", mob.id if mob is not None else "")])
    line = names.line(mob, words) if mob is not None else None
    if line is not None:
        return line.kind, line.klass
    listed = class_said(words, kind)
    if listed is not None:
        return listed
    klass = " ".join(singular(word) for word in words.split())
    held = {x.kind for x in mob.lines} if mob is not None else set()
    kinds = {kind} if kind else held if len(held) == 1 else _kinds(klass)
    if len(kinds) != 1:
        raise BadInput([finding("cli.which_kind", words, kinds=", ".join(sorted(kinds or _kinds(""))))])
    return kinds.pop(), klass


def _kinds(klass: str) -> set[str]:
    """Return the kinds of the table that a class may be of; all of them for no words."""
    wanted = set(klass.split())
    rows = (row.split(", ", 1) for row in tables.applies("animals", "intake"))
    return {kind for kind, own in rows if wanted <= {kind, *re.findall(r"\w+", own)}}
