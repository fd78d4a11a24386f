"""A command as it is typed, spoken or written on paper: its verb, its words and its options."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass

from browseline.chain.desk.desk import Said
from browseline.chain.desk.entry import option_fields
from browseline.errors import BadInput, finding
from browseline.events.verbs import ENTRIES, Entry, nearest_verb, spoken
from browseline.words import list_words, say

ALONE = ("undo", "correct")
"""Verbs that change other entries."""
OFTEN = ("move", "walk", "look", "shut", "open", "count", "feed", "rain", "sold", "spent", "note")
"""The verbs that are written most: what a line may begin with."""
PROMISE = "promise"
"""Days away, harvests and leases: they are written into the farm's file, not into the record."""
_FLAGS = ("yes", "planned")
_SHARED = ("at", "who", "because")


@dataclass(frozen=True, slots=True)
class Typed:
    """An entry's command: its words, its own options by field, and what every entry may say."""

    entry: Entry
    words: list[str]
    texts: dict[str, str]
    said: Said


def words_of(line: str) -> list[str]:
    """Return the words of a line; double quotes hold words together, an apostrophe is a letter."""
    split = shlex.shlex(line, posix=True, punctuation_chars="")
    split.whitespace_split, split.quotes, split.escape, split.commenters = True, '"', "", ""
    try:
        return list(split)
    except ValueError:
        return line.split()


def typed(words: Sequence[str]) -> Typed:
    """Return what the words of a command say; options may be said without dashes.

    Raises
    ------
    BadInput
        If its verb writes no entry, or an option is not one of its own.
    """
    words = [words[0].casefold(), *words[1:]] if words else []
    entry = ENTRIES.get(words[0]) if words else None
    if entry is None:
        raise _no_entry(words)
    bare, given = _options(words, spoken(words)[1:])
    names = {name: field for field, options in option_fields(entry).items() for name in options}
    texts = {names[name]: text for name, text in given.items() if name in names}
    shared = {name: text for name, text in given.items() if name not in names}
    if wrong := [name for name in shared if name not in (*_SHARED, *_FLAGS)]:
        raise BadInput([finding("cli.batch.words", f"{' '.join(words)}: --{wrong[0]}")])
    said = Said(
        shared.get("at", ""), shared.get("who", Said().who), shared.get("because", ""),
        "yes" in shared, "planned" in shared,
    )  # fmt: skip
    return Typed(entry, bare, texts, said)


def _no_entry(words: Sequence[str]) -> BadInput:
    """Return the finding of a line that writes no entry: empty, done by itself, or begun by no verb."""
    line = " ".join(words)
    if not words or words[0] in ALONE:
        return BadInput([finding("cli.batch.alone" if words else "cli.batch.no_verb", line)])
    near = nearest_verb(words[0], (PROMISE,))
    if near == PROMISE:
        return BadInput(
            [finding("cli.promise_elsewhere", line, said=words[0], example=say("cli.example.promise"))]
        )
    if near in ENTRIES:
        mend = say("cli.nearest", name=say(f"cli.example.{near}").removeprefix("browseline "))
    else:
        mend = say("cli.line.verbs", verbs=list_words(OFTEN))
    return BadInput([finding("cli.no_entry_verb", line, said=words[0], mend=mend)])


def _options(words: Sequence[str], args: Sequence[str]) -> tuple[list[str], dict[str, str]]:
    """Return the bare words, and the options by name; a flag holds no text."""
    bare: list[str] = []
    given: dict[str, str] = {}
    left = list(args)
    while left:
        word = left.pop(0)
        if word == "--":
            return [*bare, *left], given
        name, equals, text = word.removeprefix("--").partition("=")
        if not word.startswith("--"):
            bare.append(word)
        elif name in _FLAGS or equals:
            given[name] = text
        elif left:
            given[name] = left.pop(0)
        else:
            raise BadInput([finding("cli.batch.words", " ".join(words))])
    return bare, given
