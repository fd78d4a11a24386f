"""Hay: it was cut and lies there, by the days that the farm says it takes to get it off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from browseline.farm.own_hay import lies_d
from browseline.figures import Figure, typed
from browseline.limits.form import Bite, Face, Late, Limit, Moment, Ready, Scene
from browseline.record.state import CutDone, MobState
from browseline.words import day_words, say

NAME = "hay"
PURPOSE = "hay"
"""What a cut that leaves hay lying was made for."""


@dataclass(frozen=True, slots=True)
class Lying:
    """Hay on a paddock or a part: its cut, the day of that, and the first day on which it should be off.

    ``days`` is for how long the farm says that hay lies. [d]
    """

    place: str
    cut: CutDone
    day: date
    off: date
    days: Figure


def lying(scene: Scene) -> tuple[Lying, ...]:
    """Return the hay that lies today, by place: of the last cut of each, where nobody entered that it is off.

    Bales that were counted and a paddock that was opened since are such entries. Nothing is known where the
    farm does not say how long hay lies.
    """
    days_d, said = lies_d(scene.farm.rules), scene.farm.rules.hay_days
    if days_d is None or said is None:
        return ()
    days = typed("hay_days", said.to("d"), "d", said.text)
    last: dict[str, CutDone] = {}
    for cut in sorted(scene.state.cuts, key=lambda one: one.at.end):
        if cut.purpose == PURPOSE:
            last[_place(scene, cut)] = cut
    found = []
    for place, cut in last.items():
        day = scene.local(cut.at.end).date()
        off = day + timedelta(days=days_d)
        if not cut.off and scene.days[0] < off:
            found.append(Lying(place, cut, day, off, days))
    return tuple(found)


def _place(scene: Scene, cut: CutDone) -> str:
    """Return where hay was cut: a part while it is fenced off, else the whole paddock."""
    return cut.part if cut.part in scene.paddocks else cut.paddock


def _on(scene: Scene, paddock: str) -> Lying | None:
    """Return the hay that lies longest on a paddock or on the whole that it is a part of."""
    ground = scene.ground(paddock)
    here = [one for one in scene.once("hay lying", lambda: lying(scene)) if one.place in ground]
    return max(here, key=lambda one: one.off, default=None)


def _because(hay: Lying) -> str:
    days = f"{(hay.off - hay.day).days}"
    return say("limits.hay.because", day=day_words(hay.day), off=day_words(hay.off), days=days)


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    hay = _on(scene, paddock)
    if hay is None:
        return []
    moment = Moment.at(max(hay.cut.at.start, scene.begin(mob, paddock)))
    return [
        Bite(
            NAME,
            mob.id,
            paddock,
            moment,
            "hard",
            _because(hay),
            say("limits.hay.do"),
            (hay.days,),
            tuple(Late(n, risk=say("limits.hay.late")) for n in (1, 2, 3)),
            moment.likely,
            say("limits.hay.short", off=day_words(hay.off)),
            reserve=("M",),
        )
    ]


def _ready(scene: Scene, _mob: MobState, paddock: str) -> Ready | None:
    hay = _on(scene, paddock)
    if hay is None:
        return None
    return Ready(NAME, Moment.at(scene.midnight(hay.off)), _because(hay), (hay.days,))


def _face(scene: Scene) -> Face:
    closed = np.zeros((len(scene.mobs), len(scene.days), len(scene.paddocks)), bool)
    for p, paddock in enumerate(scene.paddocks):
        hay = _on(scene, paddock)
        if hay is not None:
            closed[:, :, p] = np.array([day < hay.off for day in scene.days], bool)
    return Face(closed=closed)


LIMIT = Limit(NAME, _bites, _face, _ready)
