"""What people call places and mobs."""

from __future__ import annotations

from browseline.chain.look import Picture
from browseline.record.state import MobState
from browseline.words import say


def paddock_name(picture: Picture, ident: str | None) -> str:
    """Return what people call a place."""
    if ident is None:
        return say("chain.place.nowhere")
    found = picture.farm.paddock(ident)
    return found.name if found else ident


def heads_words(mob: MobState) -> str:
    """Return the animals of a mob as people say them: 60 ewes + 96 lambs."""
    return " + ".join(f"{line.head} {line.klass}" for line in mob.lines if line.head)
