"""Poisonous plants on the page: which ground they shut, where to look before any move, what to say."""

from __future__ import annotations

from collections.abc import Iterator

from browseline.chain.look import Picture
from browseline.limits.poison import shut_by_plants, to_look
from browseline.words import list_words, say


def _name(picture: Picture, ident: str) -> str:
    found = picture.farm.paddock(ident)
    return found.name if found else ident


def plant_shuts(picture: Picture) -> Iterator[tuple[str, str, str]]:
    """Yield the paddocks that a plant shuts now and nobody else has: name, why, until when."""
    for paddock, because, until in shut_by_plants(picture.scene):
        if picture.state.shut_now(paddock) is None:
            yield _name(picture, paddock), because, until


def looks_first(picture: Picture) -> str:
    """Return where to look before any move since the last storm, with the plants; nothing if nowhere."""
    places = to_look(picture.scene)
    if not places:
        return ""
    told = (say("chain.today.look_place", paddock=_name(picture, x.paddock), plants=x.plants) for x in places)
    return say("chain.today.look_first", places=list_words(told))


def storm_words(picture: Picture) -> Iterator[str]:
    """Yield what follows a storm entry where poisonous plants stand: look, out, vet, print again."""
    first = looks_first(picture)
    if not first:
        return
    yield first
    names = {place for place, _, _ in shut_by_plants(picture.scene)}
    for mob in picture.scene.mobs:
        if mob.place in names:
            yield say("answer.storm.out", mob=mob.name, paddock=_name(picture, mob.place))
    if names:
        yield say("answer.storm.vet", phone=_vet(picture))
        yield say("answer.storm.relief")


def _vet(picture: Picture) -> str:
    known = next((c for c in picture.farm.contacts if c.role.casefold() == "vet"), None)
    return known.phone if known is not None and known.phone else say("answer.storm.no_vet")
