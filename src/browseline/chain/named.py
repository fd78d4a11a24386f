"""What people call places and mobs."""

from __future__ import annotations

from browseline.chain.look import Picture
from browseline.chain.parts import place_of
from browseline.farm.herd_words import class_words
from browseline.ledger.facts import counted
from browseline.record.state import HeadLine, MobState
from browseline.words import joined, known, linked, say


def paddock_name(picture: Picture, ident: str | None) -> str:
    """Return what people call a place."""
    if ident is None:
        return say("chain.place.nowhere")
    found = place_of(picture.farm, ident)
    return found.name if found else ident


def place_name(picture: Picture, ident: str) -> str:
    """Return the name of a paddock, or of what is none: the yard, a pen, away."""
    key = f"pages.place.{ident}"
    return say(key) if picture.farm.paddock(ident) is None and known(key) else paddock_name(picture, ident)


def heads_words(mob: MobState) -> str:
    """Return the animals of a mob as people say them: 60 ewes + 96 lambs."""
    return joined((head_words(line) for line in mob.lines if line.head), " + ")


def head_words(line: HeadLine) -> str:
    """Return the animals of one class as people say them: 60 ewes, 46 dairy heifers."""
    head = counted("head", line.head, "head", about=line.klass)
    return joined((linked(f"{line.head}", head), class_words(line.klass, line.head)), " ")
