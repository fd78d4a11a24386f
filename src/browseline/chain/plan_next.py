"""Where the plan in force sends a mob next, told on Today beside where the limits alone would."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from browseline.chain.in_force import moves_ahead
from browseline.chain.look import Picture
from browseline.chain.named import place_name
from browseline.events import Moved
from browseline.limits import faces
from browseline.record.state import MobState
from browseline.words import list_words, say, time_words

SOON = timedelta(hours=48)


@dataclass(frozen=True, slots=True)
class PlanNext:
    """The next planned move of a mob: when, where to, and the limits that shut that place then.

    ``tap`` tells whether it is so near, and open, that it is the move to offer first.
    """

    at: datetime
    place_id: str
    name: str
    shut: tuple[str, ...]
    tap: bool
    says: str


def plan_next(picture: Picture, mob: MobState) -> PlanNext | None:
    """Return where the plan in force sends a mob next; None where no move of it is planned."""
    own = ((event, event.body) for event in moves_ahead(picture) if event.subject == mob.id)
    found = next(((e, body.to) for e, body in own if isinstance(body, Moved) and body.to != mob.place), None)
    if found is None:
        return None
    (first, to), at = found, max(found[0].observed.start, picture.now)
    name = place_name(picture, to)
    shut = _shut(picture, mob, to, at)
    when = time_words(picture.scene.local(at), picture.today) if at > picture.now else say("chain.today.now")
    says = say("chain.next.plan", when=when, place=name)
    if shut:
        why = list_words([say(f"limits.{limit}.name") for limit in shut])
        says = f"{says} {say('chain.next.plan_shut', why=why)}"
    near = to in picture.scene.paddocks and at <= picture.now + SOON and not shut
    return PlanNext(first.observed.start, to, name, shut, near, says)


def _shut(picture: Picture, mob: MobState, to: str, at: datetime) -> tuple[str, ...]:
    """Return the limits that shut a place to a mob at a time; none for what is no paddock of the farm."""
    scene = picture.scene
    if to not in scene.paddocks:
        return ()
    m, p, day = scene.mobs.index(mob), scene.paddocks.index(to), (scene.local(at).date() - scene.days[0]).days
    shut = (
        face for face in faces(scene) if face.closed is not None and face.closed[m, day : day + 1, p].any()
    )
    return tuple(face.name for face in shut)
