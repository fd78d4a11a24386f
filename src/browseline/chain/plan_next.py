"""Where the plan in force sends a mob next, told on Today beside where the limits alone would."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from browseline.chain.barred import Barred, barred, barred_of, leaves
from browseline.chain.in_force import move_missed, moves_ahead
from browseline.chain.look import Picture
from browseline.chain.named import place_name
from browseline.chain.next_place import NextPlace
from browseline.chain.out_now import out_now
from browseline.events import Event, Moved
from browseline.record.state import MobState
from browseline.words import day_words, list_words, say, time_words

SOON = timedelta(hours=48)


@dataclass(frozen=True, slots=True)
class PlanNext:
    """The next planned move of a mob: when, where to, and the limits that shut that place.

    They shut it then, or before the mob is to leave it.

    ``tap`` tells whether it is so near, and open, that it is the move to offer first; ``same`` that the
    limits alone say the same place, so that they need no line of their own.
    """

    at: datetime
    place_id: str
    name: str
    shut: tuple[str, ...]
    tap: bool
    says: str
    same: bool = False


def plan_next(picture: Picture, mob: MobState, limits: NextPlace | None = None) -> PlanNext | None:
    """Return where the plan in force sends a mob next; None where no move of it is planned.

    A planned move that was let pass comes before those ahead. Where ``limits``, the next place by the limits
    alone, is the same and ready, one sentence tells both.
    """
    missed = move_missed(picture, mob)
    first = missed or _ahead(picture, mob)
    if first is None or not isinstance(first.body, Moved):
        return None
    to, at = first.body.to, max(first.observed.start, picture.now)
    name = place_name(picture, to)
    bar = barred(picture.scene, mob, to, at, leaves(picture, first)) or barred_of(picture, first)
    shut = bar.shut if bar is not None else ()
    same = not shut and limits is not None and limits.ready and not limits.stays and limits.paddock == to
    place = say("chain.next.high", place=name, height=limits.height) if limits and same else name
    when = time_words(picture.scene.local(first.observed.start), picture.today)
    if missed:
        says = say("chain.next.missed", when=when, place=place)
    else:
        says = say("chain.next.plan", when=when if at > picture.now else say("chain.today.now"), place=place)
    if bar is not None and shut:
        says = f"{says} {_shut(bar)}"
    elif bar is not None and bar.gone:
        says = f"{says} {say('chain.next.plan_gone')}"
    elif bar is not None and bar.still:
        says = f"{says} {say('chain.next.plan_taken', mobs=bar.still)}"
    elif bar is not None:
        says = f"{says} {say('chain.next.plan_still')}"
    out = out_now(picture, mob) if at > picture.now else None
    if out is not None:
        says = f"{says} {say('chain.next.do_not_wait', limit=say(f'limits.{out.limit}.name'))}"
    near = to in picture.scene.paddocks and at <= picture.now + SOON and bar is None and out is None
    return PlanNext(first.observed.start, to, name, shut, near, says, same)


def _shut(bar: Barred) -> str:
    """Return that the planned place is shut then, or before they are to leave it, and why."""
    why = list_words([say(f"limits.{limit}.name") for limit in bar.shut])
    if bar.shut_from is None:
        return say("chain.next.plan_shut", why=why)
    return say("chain.next.plan_shut_from", why=why, day=day_words(bar.shut_from))


def _ahead(picture: Picture, mob: MobState) -> Event | None:
    for event in moves_ahead(picture):
        if event.subject == mob.id and isinstance(event.body, Moved) and event.body.to != mob.place:
            return event
    return None
