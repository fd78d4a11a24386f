"""Shut: somebody shut the paddock, for a reason, until a day or a condition."""

from __future__ import annotations

import numpy as np

from browseline.limits.form import Bite, Face, Late, Limit, Moment, Ready, Scene
from browseline.record.state import MobState, ShutState
from browseline.words import day_words, say


def until_words(shut: ShutState) -> str:
    """Return until when a paddock is shut, in the words of whoever shut it."""
    if shut.until_day is not None:
        return say("limits.shut.until_day", day=day_words(shut.until_day))
    return say("limits.shut.until", condition=shut.until) if shut.until else say("limits.shut.until_opened")


def _shut(scene: Scene, paddock: str) -> ShutState | None:
    """Return why a paddock, or the whole that it is a part of, is shut."""
    found = (scene.state.shut_now(place) for place in scene.ground(paddock))
    return next((shut for shut in found if shut is not None), None)


def _ends(scene: Scene, shut: ShutState) -> bool:
    """Return whether the day it was shut until has come; a condition only ends when somebody opens."""
    return shut.until_day is not None and not shut.until and scene.days[0] >= shut.until_day


def kept_out(scene: Scene, mob: MobState, paddock: str) -> bool:
    """Return whether the farm keeps this mob out of this paddock for good."""
    named = scene.farm.mob(mob.id)
    return named is not None and any(place in named.keep_out for place in scene.ground(paddock))


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    if kept_out(scene, mob, paddock):
        moment = Moment.at(scene.begin(mob, paddock))
        because = say("limits.shut.kept_out", mob=mob.name)
        return [
            Bite(
                "shut",
                mob.id,
                paddock,
                moment,
                "hard",
                because,
                say("limits.shut.do"),
                no_growth=moment.likely,
                short=say("limits.shut.short_kept"),
                reserve=("M",),
            )
        ]
    shut = _shut(scene, paddock)
    if shut is None or _ends(scene, shut):
        return []
    because = say("limits.shut.because", reason=shut.because, until=until_words(shut))
    late = tuple(Late(n, risk=say("limits.shut.late")) for n in (1, 2, 3))
    moment = Moment.at(max(shut.since.start, scene.begin(mob, paddock)))
    return [
        Bite(
            "shut",
            mob.id,
            paddock,
            moment,
            "hard",
            because,
            say("limits.shut.do"),
            late=late,
            no_growth=moment.likely,
            short=say("limits.shut.short", reason=shut.because),
            reserve=("M",),
        )
    ]


def _ready(scene: Scene, _mob: MobState, paddock: str) -> Ready | None:
    shut = _shut(scene, paddock)
    if shut is None or _ends(scene, shut):
        return None
    day = shut.until_day if not shut.until else None
    moment = Moment.at(scene.midnight(day)) if day is not None else None
    return Ready("shut", moment, say("limits.shut.because", reason=shut.because, until=until_words(shut)))


def _face(scene: Scene) -> Face:
    closed = np.zeros((len(scene.mobs), len(scene.days), len(scene.paddocks)), bool)
    for p, paddock in enumerate(scene.paddocks):
        closed[:, :, p] = np.array([[kept_out(scene, mob, paddock)] for mob in scene.mobs]).reshape(-1, 1)
        shut = _shut(scene, paddock)
        if shut is None:
            continue
        for d, day in enumerate(scene.days):
            closed[:, d, p] |= bool(shut.until) or shut.until_day is None or day < shut.until_day
    return Face(closed=closed)


LIMIT = Limit("shut", _bites, _face, _ready)
