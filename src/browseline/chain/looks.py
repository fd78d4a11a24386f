"""What is said after somebody looked at trees, ground or animals, or read a height under a mob."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from browseline import tables
from browseline.events import Event, Looked, Walked
from browseline.limits import bites
from browseline.readings import fell, tree_shares
from browseline.record.state import AnimalLook, MobState, WeightRead
from browseline.units import shown
from browseline.words import day_words, say

if TYPE_CHECKING:
    from browseline.chain.look import Picture

SHORTENS = {"trees": "trees", "ground": "ground"}
FAST_D = 0.5


def after_look(event: Event, body: Looked, picture: Picture) -> Iterator[str]:
    """Yield the shares of trees seen with their intervals, and every stay that the look shortens."""
    if body.seen:
        yield from _shares(event, body, picture)
    for mob in picture.scene.mobs:
        if mob.place == event.subject:
            yield from _shortened(mob, event.subject, SHORTENS.get(body.at), picture)
    if body.animal or body.condition or body.eyelid:
        yield from animal_flags(picture)


def _shortened(mob: MobState, paddock: str, limit: str | None, picture: Picture) -> Iterator[str]:
    """Yield what a limit says of a mob that it bites by now."""
    for bite in bites(picture.scene, mob.id, paddock):
        if bite.limit == limit and bite.moment is not None and bite.moment.likely <= picture.now:
            yield say("answer.look.shortens", mob=mob.name, do=bite.do, because=bite.because)


def _shares(event: Event, body: Looked, picture: Picture) -> Iterator[str]:
    place = picture.farm.paddock(event.subject)
    for name, found in (("bitten", body.bitten), ("barked", body.barked)):
        if found is None or not body.seen or found > body.seen:
            continue
        share = tree_shares(body.seen, found, name, event.subject)
        low, middle, high = (100 * (x or 0.0) for x in (share.low, share.value, share.high))
        yield say(
            f"answer.look.{name}", found=found, seen=body.seen, share=f"{middle:.0f}", low=f"{low:.0f}",
            high=f"{high:.0f}", paddock=place.name if place is not None else event.subject,
        )  # fmt: skip


def after_walk(event: Event, _body: Walked, picture: Picture) -> Iterator[str]:
    """Yield how fast the grass fell under the mob that stands there, where it fell too fast."""
    place = picture.farm.paddock(event.subject)
    for mob in picture.scene.mobs:
        fall = fell(picture.farm, picture.state, mob, place) if place is not None else None
        if fall is not None and fall.fast_d >= FAST_D:
            units = picture.farm.units
            heights = (fall.start_cm, fall.now_cm, fall.expected_cm)
            start, now, expected = (shown(x, "length", units, 2) for x in heights)
            yield say("limits.trees.too_fast", start=start, now=now, expected=expected,
                      worth=f"{fall.worth_d:.1f}", fast=f"{fall.fast_d:.1f}")  # fmt: skip


# ---------------------------------------------------------------- animals: a sale or a visit, no diagnosis


def animal_flags(picture: Picture) -> list[str]:
    """Return what looks at animals and weights say: who should be looked at before any sale or move.

    Nothing is diagnosed: a pale eyelid, a falling condition or weight is told, and who may judge it.
    """
    newest: dict[str, list[AnimalLook]] = {}
    for look in sorted(picture.state.animals, key=lambda a: (a.at.end, a.event)):
        newest.setdefault(look.animal or look.paddock, []).append(look)
    out = []
    for animal, looks in newest.items():
        out += [*_eyelid(picture, animal, looks[-1]), *_condition(picture, animal, looks)]
    return [*out, *_weights(picture)]


def _number(text: str) -> float | None:
    try:
        return float(text.split()[0].replace(",", "."))
    except (ValueError, IndexError):
        return None


def _eyelid(picture: Picture, animal: str, look: AnimalLook) -> list[str]:
    score = _number(look.eyelid)
    row = tables.row("looks", "eyelid_ask", "sheep;goat")
    if score is None or score < row.middle():
        return []
    day = day_words(picture.scene.local(look.at.end).date())
    return [say("answer.animal.eyelid", animal=animal, text=look.eyelid, day=day)]


def _condition(picture: Picture, animal: str, looks: list[AnimalLook]) -> list[str]:
    read = [(look, n) for look in looks if (n := _number(look.condition)) is not None]
    if len(read) < 2 or read[-1][1] >= read[-2][1]:
        return []
    day = day_words(picture.scene.local(read[-1][0].at.end).date())
    was, now = read[-2][0].condition, read[-1][0].condition
    return [say("answer.animal.condition", animal=animal, was=was, now=now, day=day)]


def _weights(picture: Picture) -> list[str]:
    """Return the classes of a mob whose mean weight fell between the last two weighings."""
    read: dict[tuple[str, str], list[WeightRead]] = {}
    for one in sorted(picture.state.weights, key=lambda w: (w.at.end, w.event)):
        read.setdefault((one.mob, one.klass), []).append(one)
    out = []
    for (ident, klass), weights in read.items():
        if len(weights) < 2 or weights[-1].weight.to("kg") >= weights[-2].weight.to("kg"):
            continue
        found: MobState | None = picture.state.mob(ident)
        if found is not None and found.ended is None:
            day = day_words(picture.scene.local(weights[-1].at.end).date())
            out.append(say("answer.animal.weight", mob=found.name, animals=klass, was=weights[-2].weight.text,
                           now=weights[-1].weight.text, day=day))  # fmt: skip
    return out
