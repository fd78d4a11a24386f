"""Where a mob was meant to go when it comes, if the plan sends it elsewhere, and what that would cost."""

from __future__ import annotations

import numpy as np

from browseline.figures import money_words
from browseline.moves.explain import Explainer
from browseline.moves.herd import typed_place
from browseline.moves.judge import spread
from browseline.moves.kernel import TERMS
from browseline.moves.replan import LIKELY_D, place_words
from browseline.words import say

HALF = 0.5


def meant(asked: Explainer, m: int, place: int, a: int, b: int) -> tuple[str, ...]:
    """Return why a stay with which a mob comes to the farm is not where it was typed; empty if it is.

    Parameters
    ----------
    m, place, a, b : int
        Mob, paddock, first day and end of the stay. [d]
    """
    yardstick = asked.yardstick
    mob = asked.scene.state.mob(yardstick.mobs[m])
    typed = typed_place(asked.scene, mob) if mob is not None else None
    if typed is None or typed[0] != yardstick.days[a] or typed[1] not in yardstick.paddocks:
        return ()
    q = yardstick.paddocks.index(typed[1])
    if q == place:
        return ()
    name = place_words(asked.scene, yardstick, q)
    more = None
    if yardstick.bars.open_[m, a, q]:
        more = asked.more(m, asked.with_stay(m, a, b, q), {place, q}, a >= LIKELY_D)
    if more is None:
        return (say("moves.meant.barred", place=name),)
    cost = spread("plan_more", more.sum(axis=1), "USD", about=name)
    if (cost.value or 0.0) < HALF:
        return (say("moves.meant.level", place=name),)
    why = say(f"moves.lost.{TERMS[int(np.argmax(more.mean(axis=0)))]}")
    return (say("moves.meant.dearer", place=name, cost=money_words(cost), why=why),)
