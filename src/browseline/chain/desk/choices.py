"""What may be chosen where an entry is written: mobs, places, plantings, animals of this farm."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from browseline import tables
from browseline.chain.look import Picture
from browseline.chain.named import heads_words, paddock_name
from browseline.farm.herd_words import class_words
from browseline.limits.hay import lying
from browseline.record.state import AWAY, PEN, YARD
from browseline.words import say

PLACES = (YARD, PEN, AWAY)
DENSITIES = ("fair", "good", "excellent")
PURPOSES = ("hay", "mowing", "topping")


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that may be chosen: what is sent, and how people call it."""

    value: str
    label: str


def choices_of(picture: Picture, name: str, kind: str) -> tuple[Choice, ...]:
    """Return what may be chosen for a field or a subject of a kind of entry; nothing where anything may."""
    make = _BY_KIND.get((kind, name)) or _BY_NAME.get(name)
    return tuple(make(picture)) if make is not None else ()


def mobs(picture: Picture) -> Iterable[Choice]:
    """Return the living mobs with their animals and their place."""
    for mob in picture.state.living():
        place = paddock_name(picture, mob.place)
        yield Choice(mob.id, say("form.choice.mob", mob=mob.name, heads=heads_words(mob), place=place))


def paddocks(picture: Picture) -> Iterable[Choice]:
    """Return the paddocks in the order of the farm, and the parts that nets made of them."""
    for paddock in picture.farm.paddocks:
        yield Choice(paddock.id, called(paddock.id, paddock.name))
    held = {paddock.id for paddock in picture.farm.paddocks}
    for part, whole in picture.state.parents:
        if part not in held:
            yield Choice(part, say("form.choice.part", part=part, paddock=paddock_name(picture, whole)))


def called(ident: str, name: str) -> str:
    """Return a paddock as people know it: its name, and its number on the gate where that is another."""
    return name if name == ident else say("form.choice.paddock", paddock=name, id=ident)


def places(picture: Picture) -> Iterable[Choice]:
    """Return where a mob may go: every paddock, then yard, pen and away."""
    shut = {one.paddock for one in picture.state.shut} | {one.place for one in lying(picture.scene)}
    for choice in paddocks(picture):
        word = say("form.choice.shut", paddock=choice.label) if choice.value in shut else choice.label
        yield Choice(choice.value, word)
    yield from (Choice(place, say(f"pages.place.{place}")) for place in PLACES)


def shut_paddocks(picture: Picture) -> Iterable[Choice]:
    """Return the paddocks that somebody shut, and those on which hay lies."""
    hay = (one.place for one in lying(picture.scene))
    for paddock in dict.fromkeys((*(shut.paddock for shut in picture.state.shut), *hay)):
        yield Choice(paddock, paddock_name(picture, paddock))


def conditions(picture: Picture) -> Iterable[Choice]:
    """Return the conditions on which shut paddocks open, each once."""
    for text in dict.fromkeys(shut.until for shut in picture.state.shut if shut.until):
        yield Choice(text, text)


def plantings(picture: Picture) -> Iterable[Choice]:
    """Return the plantings, each followed by its rows."""
    for planting in picture.farm.plantings:
        yield Choice(planting.id, planting.name)
        for row in planting.rows:
            label = say("form.choice.row", planting=planting.name, row=row.name)
            yield Choice(f"{planting.id}/{row.id}", label)


def penned(picture: Picture) -> Iterable[Choice]:
    """Return the animals that stand in a pen."""
    for mob in picture.state.living():
        for pen in mob.pens:
            yield Choice(pen.animal, say("form.choice.penned", animal=pen.animal, mob=mob.name, why=pen.why))


def patients(picture: Picture) -> Iterable[Choice]:
    """Return what may be treated by name: animals in a pen, then whole mobs."""
    yield from penned(picture)
    yield from (Choice(mob.id, mob.name) for mob in picture.state.living())


def classes_here(picture: Picture) -> Iterable[Choice]:
    """Return the classes of animals on the farm, each once."""
    found = {line.klass: line for mob in picture.state.living() for line in mob.lines}
    yield from (Choice(klass, class_words(klass, 2)) for klass in found)


def classes_known(picture: Picture) -> Iterable[Choice]:
    """Return the classes on the farm, then those of the tables."""
    here = list(classes_here(picture))
    known = [row.partition(", ")[2] for row in tables.applies("animals", "intake")]
    yield from here
    yield from (
        Choice(name, class_words(name, 2))
        for name in dict.fromkeys(known)
        if name not in {c.value for c in here}
    )


def lots(picture: Picture) -> Iterable[Choice]:
    """Return the lots of hay."""
    yield from (Choice(lot.id, lot.id) for lot in picture.farm.hay)


def _words(room: str, values: Iterable[str]) -> Iterable[Choice]:
    return (Choice(value, say(f"form.choice.{room}.{value}")) for value in values)


_BY_NAME = {
    "mob": mobs, "paddock": paddocks, "to": places, "planting": plantings, "lot": lots,
    "heads_class": classes_here, "klass": classes_here, "new_klass": classes_known,
    "density": lambda _: _words("density", DENSITIES), "purpose": lambda _: _words("purpose", PURPOSES),
    "clear": lambda _: _words("clear", ("yes", "no")),
}  # fmt: skip
_BY_KIND = {
    ("back", "animal"): penned, ("treated", "animal"): patients, ("merged", "into"): mobs,
    ("opened", "paddock"): shut_paddocks, ("opened", "met"): conditions,
    ("weaned", "into"): mobs, ("split", "into"): mobs,
    ("born", "heads_class"): classes_known, ("bought", "heads_class"): classes_known,
    ("borrowed", "heads_class"): classes_known, ("spread", "purpose"): lambda _: (),
}  # fmt: skip
