"""Poisonous plants on the page: which ground they shut, where to look before any move, what to say."""

from __future__ import annotations

from collections.abc import Iterator

from browseline.chain.look import Picture
from browseline.figures import Figure, Origin
from browseline.ledger.account import Account
from browseline.limits._plants import growing_in, triggers
from browseline.limits.poison import harm, shut_by_plants, to_look, worst_words
from browseline.words import linked, list_words, say


def _name(picture: Picture, ident: str) -> str:
    found = picture.farm.paddock(ident)
    return found.name if found else ident


def plant_shuts(picture: Picture) -> Iterator[tuple[str, str, str, str]]:
    """Yield the paddocks that a plant shuts now and nobody else has: id, name, why, until when."""
    for paddock, because, until in shut_by_plants(picture.scene):
        if picture.state.shut_now(paddock) is None:
            yield paddock, _name(picture, paddock), because, until


def kept_shut(picture: Picture, place: str) -> str:
    """Return that a plant keeps a place shut whoever opens it, and which look opens it; "" if none does."""
    for paddock, because, _ in shut_by_plants(picture.scene):
        if place in picture.scene.ground(paddock):
            return say("answer.opened.plants", paddock=_name(picture, paddock), because=because, id=paddock)
    return ""


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
        yield say("answer.storm.vet", phone=vet_words(picture))
        yield say("answer.storm.relief")


def poison_account(picture: Picture) -> Account:
    """Return every poisonous plant of the farm: where, what sets it off, what is shut; under it the harm.

    Lethal amounts stand under Why and nowhere else: as harm to animals of the farm's own weight.
    """
    said = list(_shut_words(picture)) + list(_standing_words(picture))
    first = looks_first(picture)
    sentences = ([first] if first else []) + (said or [say("poison.page.none")])
    return Account(
        "browseline/poison/1", "poison", (say("poison.page.vet", phone=vet_words(picture)), *sentences),
        tuple(dict.fromkeys(_harm(picture))),
    )  # fmt: skip


def _shut_words(picture: Picture) -> Iterator[str]:
    for paddock, because, until in shut_by_plants(picture.scene):
        yield say("poison.page.shut", paddock=_name(picture, paddock), why=because, until=until)


def _standing_words(picture: Picture) -> Iterator[str]:
    for plant, places in _where(picture).items():
        names = list_words(_name(picture, place) for place in places)
        why = list_words(dict.fromkeys(say(f"poison.trigger.{row['trigger']}") for row in triggers(plant)))
        worst = worst_words(plant)
        yield say(
            "poison.page.plant", plant=say(f"poison.plant.{plant}"), paddocks=names, why=why, worst=worst
        )


def _where(picture: Picture) -> dict[str, list[str]]:
    """Return the paddocks in or beside which each poisonous plant stands."""
    out: dict[str, list[str]] = {}
    for paddock in picture.scene.paddocks:
        for plant in dict.fromkeys(g.plant for g in growing_in(picture.scene, paddock)):
            out.setdefault(plant, []).append(paddock)
    return out


def _harm(picture: Picture) -> Iterator[Figure]:
    for plant in _where(picture):
        for mob in picture.scene.mobs:
            yield from harm(plant, mob)


def vet_words(picture: Picture) -> str:
    """Return the vet's phone, or that none is written down."""
    known = next((c for c in picture.farm.contacts if c.role.casefold() == "vet"), None)
    if known is None or not known.phone:
        return say("answer.storm.no_vet")
    return linked(known.phone, Origin("farm"))
