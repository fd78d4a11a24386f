"""What is said after ground was shut: which stays of the plan in force are on it, and who stands there."""

from __future__ import annotations

from collections.abc import Iterator

from browseline.chain.in_force import moves_due
from browseline.chain.look import Picture
from browseline.chain.named import paddock_name
from browseline.chain.plant_dangers import vet_words
from browseline.events import Event, Looked, Moved, Shut
from browseline.words import say


def after_shut(event: Event, body: Shut, picture: Picture) -> Iterator[str]:
    """Yield how many planned stays begin on ground that was shut while it is, and to plan again."""
    place, until = event.part or event.subject, body.until_day
    on = [
        one
        for one in moves_due(picture)
        if isinstance(one.body, Moved)
        and place in picture.scene.ground(one.part or one.body.to)
        and (until is None or picture.scene.local(one.observed.start).date() < until)
    ]
    if on:
        yield say("answer.shut.planned", count=len(on), place=paddock_name(picture, place))


def after_plants(event: Event, _body: Looked, picture: Picture) -> Iterator[str]:
    """Yield that ground with poisonous plants is shut, what opens it, and who has to be out of it."""
    place = event.part or event.subject
    name = paddock_name(picture, place)
    yield say("answer.plants.shut", place=name, id=place)
    inside = [mob for mob in picture.scene.mobs if place in picture.scene.ground(mob.place or "")]
    for mob in inside:
        yield say("answer.storm.out", mob=mob.name, paddock=name)
    yield say("answer.storm.vet", phone=vet_words(picture))
    yield from after_shut(event, Shut(""), picture)
