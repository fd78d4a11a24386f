"""Where a plan in force cannot be kept any more: the stays that a limit shuts by now, and why."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import numpy as np

from browseline.limits import Bite, Scene, bites
from browseline.moves.form import Clash, Plan, Yardstick
from browseline.moves.replan import place_words, stays_in
from browseline.moves.yardstick import touched
from browseline.words import begun, day_words, say


def broken(scene: Scene, yardstick: Yardstick, plan: Plan) -> tuple[Clash, ...]:
    """Return each stay of a plan on ground that is shut to its mob, and each move on a day without hands.

    Parameters
    ----------
    plan : int array, shape (mob, day)
        One that breaks a hard limit.
    """
    found = [*_shut_stays(scene, yardstick, plan), *_no_hands(scene, yardstick, plan)]
    if found:
        return tuple(found)
    says = say("moves.clash.broken.other")
    return (Clash("broken", "", scene.now, scene.now, says, (say("moves.way.again"),)),)


def why_shut(scene: Scene, mob: str, paddock: str, limit: str) -> Bite | None:
    """Return what a limit says today of ground that it shuts to a mob; None if nothing."""
    found = bites(scene, mob, paddock)
    return next((bite for bite in found if bite.limit == limit and bite.moment is not None), None)


def _shut_stays(scene: Scene, yardstick: Yardstick, plan: Plan) -> Iterator[Clash]:
    shut = [(face.name, touched(scene, face.closed)) for face in yardstick.faces if face.closed is not None]
    for m, mob in enumerate(yardstick.mobs):
        for place, a, b in stays_in(yardstick, plan, m):
            by = [name for name, days in shut if place < yardstick.yard and days[m, a:b, place].any()]
            if by and not yardstick.bars.off[m, a:b].all():
                bite = why_shut(scene, mob, yardstick.paddocks[place], by[0])
                shut_by = say("moves.clash.broken.limit", limit=say(f"limits.{by[0]}.name"))
                because = bite.because if bite is not None else shut_by
                name = begun(place_words(scene, yardstick, place))
                clash = _clash(scene, yardstick, m, (a, b), "shut", place=name, because=because)
                yield replace(clash, figures=bite.figures if bite is not None else ())


def _no_hands(scene: Scene, yardstick: Yardstick, plan: Plan) -> Iterator[Clash]:
    for m in range(len(yardstick.mobs)):
        moves = np.flatnonzero(plan[m, 1:] != plan[m, :-1]) + 1
        for day in moves[~yardstick.bars.can_move[moves]]:
            key = "goes" if yardstick.bars.off[m, day] else "nobody"
            yield _clash(scene, yardstick, m, (int(day), int(day) + 1), key)


def _clash(
    scene: Scene, yardstick: Yardstick, m: int, days: tuple[int, int], key: str, **fields: str
) -> Clash:
    mob = yardstick.mobs[m]
    who = scene.state.mob(mob)
    begin, end = (scene.now + timedelta(days=d) for d in days)
    first, last = (day_words(scene.local(at).date()) for at in (begin, end))
    says = say(f"moves.clash.broken.{key}", mob=who.name if who else mob, first=first, last=last, **fields)
    return Clash("broken", mob, begin, end, says, (say("moves.way.again"),))
