"""What animals are called by number: one dry ewe, 46 dairy heifers."""

from __future__ import annotations

from browseline.farm import names
from browseline.words import known, say

NOUNS = (
    "ewe", "ram", "lamb", "hogget", "wether", "doe", "buck", "kid", "cow", "bull", "steer", "heifer", "calf",
    "sow", "boar", "gilt", "piglet", "grower", "finisher", "mare", "donkey", "horse", "goose", "layer",
    "broiler", "hen", "tom", "goat", "sheep", "pig",
)  # fmt: skip
"""Words for animals that anybody can count by sight: stages of feeding are left out."""


def noun_of(word: str) -> str | None:
    """Return the animal that a word names, one or many; None for any other word."""
    folded = word.casefold()
    return next((name for name in (folded, folded.removesuffix("s")) if name in NOUNS), None)


def noun_words(noun: str, head: int) -> str:
    """Return an animal as so many are called: ewe, ewes. ``noun`` is one of ``NOUNS``."""
    return say(f"herd.noun.{noun}", count=head)


def class_words(klass: str, head: int) -> str:
    """Return a class as so many animals of it are called; words that no catalogue knows stay as typed.

    A class of the tables is said as a farmer says it: dry ewes. In other words the last noun of those
    that stand together bears the number: ewe lambs, ewes four years old.
    """
    key = f"herd.class.{klass.casefold()}"
    if known(key):
        return say(key, count=head)
    words = klass.split(" ")
    first = next((n for n, word in enumerate(words) if noun_of(word)), None)
    if first is None:
        return klass
    last = first
    while last + 1 < len(words) and noun_of(words[last + 1]):
        last += 1
    noun = noun_of(words[last]) or words[last]
    return " ".join((*words[:last], noun_words(noun, head), *words[last + 1 :]))


def animals_words(said: str, head: int = 2) -> str:
    """Return animals told by kind and class as so many of the class are called, without the kind."""
    kind, _, klass = said.partition(" ")
    return class_words(klass if klass and kind in names.words("kind") else said, head)


def class_said(said: str, kind: str = "") -> tuple[str, str] | None:
    """Return kind and class of the tables that go by these words, one or many of them; else None.

    Parameters
    ----------
    said : str
        As ``class_words`` says it: dry ewes.
    kind : str
        Kind of animal, where it is known.
    """
    folded = " ".join(said.casefold().split())
    for own in (kind,) if kind else names.words("kind"):
        for klass in names.words("class", own):
            if folded in (klass.casefold(), class_words(klass, 1), class_words(klass, 2)):
                return own, klass
    return None
