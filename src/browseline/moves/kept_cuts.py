"""The hay cuts that were kept with the plan in force: those that still stand, and why another is dropped."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from browseline.limits import Scene
from browseline.moves.cuts import LEAST_USD, Cutter, Made
from browseline.moves.form import Cut, KeptCut
from browseline.moves.yardstick import touched
from browseline.words import day_words, say


def still_kept(scene: Scene, how: Cutter, now: Made, kept: Sequence[KeptCut]) -> tuple[Made, tuple[str, ...]]:
    """Return a plan with the cuts that were kept with it, and one sentence for each that is dropped.

    Parameters
    ----------
    now : Made
        The plan without cuts.
    """
    dropped: list[str] = []
    names: dict[Cut, KeptCut] = {}
    for one in sorted(kept, key=lambda k: k.day):
        cut = _cut_of(scene, how, now, one)
        after = how.made(now.plan, (*now.cuts, cut), near=now) if isinstance(cut, Cut) else None
        if isinstance(cut, Cut) and after is not None:
            now, names[cut] = after, one
            continue
        why = cut if isinstance(cut, str) else say(f"moves.cut.gone.{how.barred(now, cut)}")
        dropped.append(_dropped(scene, one, why))
    while (level := _saves_nothing(how, now)) is not None:
        cut, now = level
        dropped.append(_dropped(scene, names[cut], say("moves.cut.gone.level")))
    return now, tuple(dropped)


def none_kept(scene: Scene, kept: Sequence[KeptCut]) -> tuple[str, ...]:
    """Return one sentence for each cut that was kept, on a farm that no longer says how it makes hay."""
    return tuple(_dropped(scene, one, say("moves.cut.gone.not_said")) for one in kept)


def changed_cuts(scene: Scene, kept: Sequence[KeptCut], made: Made) -> tuple[str, ...]:
    """Return in words which cuts of a plan made again are others than those that were kept."""
    yardstick = made.yardstick
    new = {(yardstick.paddocks[c.paddock], yardstick.days[c.day]) for c in made.cuts}
    old = {(one.paddock, one.day) for one in kept if one.day >= yardstick.days[0]}
    said = []
    for paddock, day in sorted(old - new, key=lambda one: (one[1], one[0])):
        later = min((d for p, d in new - old if p == paddock), default=None)
        fields = {"paddock": _name(scene, paddock), "was": day_words(day)}
        if later is None:
            said.append(say("moves.cut.change.gone", **fields))
        else:
            said.append(say("moves.cut.change.moved", **fields, day=day_words(later)))
    moved = {paddock for paddock, _ in old}
    fresh = sorted(((day, paddock) for paddock, day in new - old if paddock not in moved)) if kept else []
    said += [say("moves.cut.change.new", paddock=_name(scene, p), day=day_words(d)) for d, p in fresh]
    return tuple(said)


def _cut_of(scene: Scene, how: Cutter, now: Made, one: KeptCut) -> Cut | str:
    """Return a kept cut in days of the plan, or why it cannot be made."""
    yardstick = how.yardstick
    if one.day < yardstick.days[0]:
        return say("moves.cut.gone.missed")
    if one.paddock not in yardstick.paddocks or one.day not in yardstick.days:
        return say("moves.cut.gone.place")
    done = _done(scene, one)
    if done is not None:
        return say("moves.cut.gone.done", on=day_words(done))
    p, day = yardstick.paddocks.index(one.paddock), yardstick.days.index(one.day)
    clear = day + how.how.days
    if not how.fit[day, p]:
        return _not_fit(scene, how, p, day, clear)
    stood = np.flatnonzero(np.any(now.plan == p, axis=0))
    if np.any((stood >= day) & (stood < clear)):
        return say("moves.cut.gone.grazed")
    before = stood[stood < day]
    return Cut(p, int(before[-1]) + 1 if len(before) else 0, day, clear, float(how.to_kg_ha[p]))


def _done(scene: Scene, one: KeptCut) -> date | None:
    """Return the day on which a paddock was cut since its cut was kept; None if it was not."""
    ground = scene.ground(one.paddock)
    cuts = (c for c in scene.state.cuts if c.paddock == one.paddock or c.place in ground)
    return max((scene.local(c.at.end).date() for c in cuts if c.at.end >= one.kept), default=None)


def _not_fit(scene: Scene, how: Cutter, p: int, day: int, clear: int) -> str:
    """Return which limit, or what else, bars a cut on a day."""
    for face in how.yardstick.faces:
        if face.closed is not None and touched(scene, face.closed)[:, day:clear, p].all(axis=0).any():
            return say("moves.cut.gone.shut", limit=say(f"limits.{face.name}.name"))
    move = how.yardstick.bars.can_move
    if clear > len(move):
        return say("moves.cut.gone.back")
    if not (move[day] and move[clear - 1]):
        return say("moves.cut.gone.nobody")
    if not scene.herbage.read[scene.herbage.index(how.yardstick.paddocks[p])]:
        return say("moves.cut.gone.unread")
    return say("moves.cut.gone.taken")


def _saves_nothing(how: Cutter, now: Made) -> tuple[Cut, Made] | None:
    """Return a cut without which the plan is no dearer, and the plan without it; None if there is none."""
    for cut in now.cuts:
        without = how.made(now.plan, [one for one in now.cuts if one is not cut], near=now)
        if without is not None and how.cost(without) < how.cost(now) + LEAST_USD:
            return cut, without
    return None


def _dropped(scene: Scene, one: KeptCut, why: str) -> str:
    return say("moves.cut.gone.said", paddock=_name(scene, one.paddock), day=day_words(one.day), why=why)


def _name(scene: Scene, paddock: str) -> str:
    found = scene.paddock(paddock)
    return found.name if found else paddock
