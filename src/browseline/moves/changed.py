"""What differs from the plan in force in the next fortnight, one sentence each, with why it does."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from browseline.events import Sold
from browseline.figures import Figure, money_words
from browseline.moves.broken import why_shut
from browseline.moves.explain import HALF, Explainer
from browseline.moves.form import Plan
from browseline.moves.judge import judge, spread
from browseline.moves.kernel import TERMS
from browseline.moves.replan import LIKELY_D, place_words, visits_of
from browseline.moves.yardstick import touched
from browseline.units import amount_words
from browseline.words import begun, linked, list_words, say


def changes(asked: Explainer, old: Plan) -> tuple[tuple[str, ...], tuple[Figure, ...]]:
    """Return in words what differs in the next fortnight from the plan in force, mob by mob, and why.

    With the figures that the words of a limit rest on.

    Parameters
    ----------
    old : int array, shape (mob, day)
        -1 where it has no word.
    """
    new, found, whole = asked.plan, list[tuple[int, str, tuple[Figure, ...]]](), _whole(asked, old)
    for m in range(len(asked.yardstick.mobs)):
        differs = (old[m] >= 0) & (old[m] != new[m])
        off, gone = asked.yardstick.bars.off[m, : len(differs)], _gone(asked, m, len(differs))
        pair = np.where(differs & ~off, old[m] * (asked.yardstick.yard + 2) + new[m], -1)
        kept_in = np.where(differs & off, gone, -1)
        told = [(a, *_change(asked, m, a, b, old[m], whole)) for a, b in _soon(pair)]
        told += [(a, _not_out(asked, m, a, b, old[m]), ()) for a, b in _soon(kept_in[:LIKELY_D])]
        found += sorted(told, key=lambda one: one[0])
    return tuple(says for _, says, _ in found), tuple(figure for *_, rests in found for figure in rests)


def _soon(marked: NDArray[np.int64]) -> Iterator[tuple[int, int]]:
    """Yield first day and end of the runs of marks from 0 on that begin within the next fortnight."""
    return ((a, b) for mark, a, b in visits_of(marked) if mark >= 0 and a < LIKELY_D)


def _whole(asked: Explainer, old: Plan) -> Figure | None:
    """Return what all that changed saves together; None where the plan in force cannot be kept. [USD]"""
    said = judge(asked.yardstick, np.where(old < 0, asked.plan, old))
    if not said.kept:
        return None
    return spread("plan_change", (said.usd - asked.verdict.usd).sum(axis=1), "USD", about="all")


def _gone(asked: Explainer, m: int, span: int) -> NDArray[np.int64]:
    """Return for each of the first days 1 where a mob is not on the farm, else 0, shape (day,)."""
    gone = asked.yardstick.gone
    return np.zeros(span, np.int64) if gone is None else gone[m, :span].astype(np.int64)


def _not_out(asked: Explainer, m: int, a: int, b: int, old: NDArray[np.int64]) -> str:
    """Return in words that a mob is not out on some days, since it is sold, gone or housed by then."""
    scene, yardstick = asked.scene, asked.yardstick
    gone = bool(_gone(asked, m, b)[a])
    was = dict.fromkeys(place_words(scene, yardstick, int(p)) for p in old[a:b])
    off = yardstick.bars.off[m] if not gone or yardstick.gone is None else yardstick.gone[m]
    begins = a - int(np.argmin(np.append(off[: a + 1][::-1], False))) + 1
    key = ("sold" if _sold(asked, m, begins) else "gone") if gone else "housed"
    why = say(f"moves.change.{key}", day=asked.day(begins))
    who = scene.state.mob(yardstick.mobs[m])
    return say("moves.change.days", mob=who.name if who else yardstick.mobs[m], first=asked.day(a), why=why,
               last=asked.day(b), now=place_words(scene, yardstick, yardstick.yard + gone),
               was=list_words(was))  # fmt: skip


def _sold(asked: Explainer, m: int, d: int) -> bool:
    """Return whether the last planned entry that a mob is gone by on a day is a sale."""
    scene, day = asked.scene, asked.yardstick.days[d]
    own = [event for event in scene.coming if event.subject == asked.yardstick.mobs[m]]
    by = [event.body for event in own if scene.local(event.observed.start).date() <= day]
    return bool(by) and isinstance(by[-1], Sold)


def _change(
    asked: Explainer, m: int, a: int, b: int, old: NDArray[np.int64], whole: Figure | None
) -> tuple[str, tuple[Figure, ...]]:
    """Return one change in words: who, when, where instead of where, and what the old way would do."""
    scene, yardstick, was = asked.scene, asked.yardstick, int(old[a])
    who = scene.state.mob(yardstick.mobs[m])
    now, before = (place_words(scene, yardstick, p) for p in (int(asked.plan[m, a]), was))
    fields = {"mob": who.name if who else yardstick.mobs[m], "now": now, "was": before}
    nobody = _nobody(asked, a, b, old)
    why, figures = (nobody, ()) if nobody else _why(asked, m, a, b, was, whole)
    return say("moves.change.days", first=asked.day(a), last=asked.day(b), why=why, **fields), figures


def _nobody(asked: Explainer, a: int, b: int, old: NDArray[np.int64]) -> str:
    """Return that a move of the old way falls on a day on which nobody can move animals, or nothing."""
    moves = [t for t in range(max(a, 1), min(b + 1, len(old))) if 0 <= old[t - 1] != old[t] >= 0]
    barred = [t for t in moves if not asked.yardstick.bars.can_move[t]]
    return say("moves.change.nobody", day=asked.day(barred[0])) if barred else ""


def _why(
    asked: Explainer, m: int, a: int, b: int, was: int, whole: Figure | None
) -> tuple[str, tuple[Figure, ...]]:
    limit = _shut_by(asked, m, a, b, was)
    if limit:
        return _shut(asked, m, was, begun(place_words(asked.scene, asked.yardstick, was)), limit)
    return _dearer(asked, m, a, b, was, whole), ()


def _dearer(asked: Explainer, m: int, a: int, b: int, was: int, whole: Figure | None) -> str:
    """Return what the old place would cost more by now, or that it goes with what else changed.

    With all else as planned now it may cost more than the whole of the plan in force: nobody is asked that.
    """
    before = begun(place_words(asked.scene, asked.yardstick, was))
    other = asked.plan.copy()
    other[m, a:b] = was
    more = asked.more(m, other, {was, *(int(p) for p in asked.plan[m, a:b])})
    more = asked.really(other, (m, a, b), more) if more is not None else None
    if more is None:
        other_mob = _taken_by(asked, m, a, b, was)
        key = "moves.change.taken" if other_mob else "moves.change.barred"
        return say(key, was=before, mob=other_mob)
    cost: Figure = spread("plan_change", more.sum(axis=1), "USD", about=f"{asked.yardstick.mobs[m]} {a}")
    if (cost.value or 0.0) < -HALF:
        return asked.less("moves.change", other, a, cost, was=before)
    if (cost.value or 0.0) < HALF:
        return say("moves.change.goes_with")
    if whole is not None and (cost.value or 0.0) > (whole.value or 0.0) + HALF:
        return _with_the_rest(whole)
    mostly = say(f"moves.lost.{TERMS[int(np.argmax(more.mean(axis=0)))]}")
    return say("moves.change.dearer", was=before, cost=money_words(cost), mostly=mostly)


def _with_the_rest(whole: Figure) -> str:
    """Return that a change goes with all others, and what they save together."""
    if (whole.value or 0.0) < HALF:
        return say("moves.change.with_rest")
    return say("moves.change.saves", cost=linked(amount_words(whole.value or 0.0, whole.unit), whole))


def _taken_by(asked: Explainer, m: int, a: int, b: int, was: int) -> str:
    """Return the name of a mob that the new plan has on the old place, where the two do not run together."""
    scene, mobs = asked.scene, asked.yardstick.mobs
    for i, ident in enumerate(mobs if was < asked.yardstick.yard else ()):
        if i != m and not asked.yardstick.bars.together[m, i] and (asked.plan[i, a:b] == was).any():
            found = scene.state.mob(ident)
            return found.name if found else ident
    return ""


def _shut(asked: Explainer, m: int, was: int, before: str, limit: str) -> tuple[str, tuple[Figure, ...]]:
    """Return that the old place is shut, by what the limit says of it where it says it today."""
    bite = why_shut(asked.scene, asked.yardstick.mobs[m], asked.yardstick.paddocks[was], limit)
    if bite is None:
        return say("moves.change.shut_by", was=before, limit=say(f"limits.{limit}.name")), ()
    return say("moves.change.shut", was=before, because=bite.because), bite.figures


def _shut_by(asked: Explainer, m: int, a: int, b: int, was: int) -> str:
    """Return the limit that shuts the old place on any of the days, or nothing."""
    if was >= asked.yardstick.yard:
        return ""
    shut = [
        face.name
        for face in asked.yardstick.faces
        if face.closed is not None and touched(asked.scene, face.closed)[m, a:b, was].any()
    ]
    return shut[0] if shut else ""
