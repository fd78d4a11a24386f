"""Edits on a copy: a value of ``farm.toml`` by its dotted way, or an entry as it is typed."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from datetime import datetime
from itertools import groupby
from pathlib import Path

from browseline.chain.desk.desk import hold
from browseline.chain.desk.entry import entered
from browseline.chain.desk.typed import typed, words_of
from browseline.errors import BadInput, finding
from browseline.events.verbs import ENTRIES
from browseline.farm.write import Key, Value, edit_all

FILES_NEEDED = frozenset({"photo"})
"""Verbs that need a file beside them, so that no line can hold them."""
LONGEST = 400
_STEP = re.compile(r'\s*(?:"([^"]*)"|([^.="\s][^.="]*?))\s*(\.|$)')


def is_entry(text: str) -> bool:
    """Return whether a line begins with a verb that writes an entry."""
    words = words_of(text)
    return bool(words) and words[0] in ENTRIES


def apply_all(folder: Path, edits: Sequence[str], now: datetime) -> None:
    """Make edits in the folder of a copy, in their order.

    Values that follow one another are changed together: a planting may go with the money that it brings.

    Parameters
    ----------
    folder : Path
        Never a live farm: what is edited here is thrown away.
    edits : sequence of str
        ``plantings.walnut.spacing=20 ft`` (nothing after the sign takes the value out), or an entry:
        ``sold 10 heifers 12000``.

    Raises
    ------
    BadInput
        If a line says neither, or the farm could not be used with it.
    """
    long = [finding("trials.long", f"{text[:40]}…", most=LONGEST) for text in edits if len(text) > LONGEST]
    if long:
        raise BadInput(long)
    for entries, together in groupby(edits, is_entry):
        if entries:
            for text in together:
                _enter(folder, text, now)
        else:
            edit_all(folder, [setting(text) for text in together], now.date())


def _enter(folder: Path, text: str, now: datetime) -> None:
    """Write an entry into the copy's record; what would only be asked of a live farm is not asked here."""
    words = words_of(text)
    if words[0] in FILES_NEEDED:
        raise BadInput([finding("trials.files", text)])
    said = typed(words)
    with hold(folder, now) as at:
        at.record.append([entered(said.entry, said.words, said.texts, at, said.said)])


def setting(text: str) -> tuple[tuple[Key, ...], Value]:
    """Return the way to a value and the value of a line ``way.to.it=value``.

    A value is read as TOML where it is TOML (numbers, days, lists, true), else it is the text itself.

    Raises
    ------
    BadInput
        If the line has no way or no sign between.
    """
    way, sign, value = text.partition("=")
    if not sign:
        raise BadInput([finding("trials.no_edit", text)])
    return keys_of_way(way, text), value_of(value.strip())


def keys_of_way(way: str, text: str = "") -> tuple[Key, ...]:
    """Return the steps of a dotted way; a step in quotes may hold dots.

    Raises
    ------
    BadInput
        If a step is empty.
    """
    steps: list[Key] = []
    at = 0
    way = way.strip()
    while at < len(way):
        found = _STEP.match(way, at)
        if found is None or (found[3] == "." and found.end() == len(way)):
            raise BadInput([finding("trials.no_way", text or way)])
        steps.append(found[1] if found[1] is not None else found[2])
        at = found.end()
    if not steps:
        raise BadInput([finding("trials.no_way", text or way)])
    return tuple(steps)


def value_of(text: str) -> Value:
    """Return the value that a text stands for; None where it is empty."""
    if not text:
        return None
    try:
        made: Value = tomllib.loads(f"value = {text}")["value"]
    except (tomllib.TOMLDecodeError, RecursionError):
        return text
    return made
