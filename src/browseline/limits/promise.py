"""Promise: what was agreed for a stretch of days: away, hay, harvest, contract, term."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from browseline.farm.records import Promise
from browseline.limits.form import Bite, Face, Late, Limit, Moment, Ready, Scene
from browseline.record.state import MobState
from browseline.words import day_words, say

NOBODY_MOVES = ("away", "term")
GRAZING = "grazing"
SHUT_NOTHING = (*NOBODY_MOVES, "feed", GRAZING)
LEASE = "lease"
DAY, YEAR = timedelta(days=1), timedelta(days=365)


def shuts(promise: Promise, mob: str, ground: tuple[str, ...], day: date) -> bool:
    """Return whether a promise keeps a mob out of a paddock on a day: a lease when it does not hold."""
    return _keeps_out(promise, mob, ground) and _holds(promise, day)


def _keeps_out(promise: Promise, mob: str, ground: tuple[str, ...]) -> bool:
    if promise.kind in SHUT_NOTHING or not promise.paddocks:
        return False
    return any(place in promise.paddocks for place in ground) and (not promise.mobs or mob in promise.mobs)


def _holds(promise: Promise, day: date) -> bool:
    holds = promise.from_day <= day < promise.to_day
    return not holds if promise.kind == LEASE else holds


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    out = []
    for promise in scene.farm.promises:
        if not _keeps_out(promise, mob.id, scene.ground(paddock)):
            continue
        ahead = [day for day in scene.days if _holds(promise, day)]
        if not ahead:
            continue
        moment = Moment.at(scene.midnight(ahead[0]))
        because = say(
            "limits.promise.lease" if promise.kind == LEASE else "limits.promise.because",
            what=promise.what,
            first=day_words(promise.from_day),
            last=day_words(promise.to_day - DAY),
        )
        late = tuple(Late(n, risk=say("limits.promise.late", what=promise.what)) for n in (1, 2, 3))
        out.append(
            Bite(
                "promise",
                mob.id,
                paddock,
                moment,
                "hard" if promise.hard else "soft",
                because,
                say("limits.promise.do"),
                late=late,
                no_growth=moment.likely,
                short=say("limits.promise.short", what=promise.what),
                reserve=("M",),
            )
        )
    return out


def no_move(scene: Scene) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return the days on which nobody can move animals, shape (day,): away, term, the week's own days."""
    rules = scene.farm.rules
    away = [p for p in scene.farm.promises if p.kind in NOBODY_MOVES]
    return np.array(
        [
            day.isoweekday() in rules.no_move_weekdays or any(p.from_day <= day < p.to_day for p in away)
            for day in scene.days
        ],
        bool,
    )


def _face(scene: Scene) -> Face:
    closed = np.zeros((len(scene.mobs), len(scene.days), len(scene.paddocks)), bool)
    for promise in scene.farm.promises:
        if not promise.hard:
            continue
        days = np.array([_holds(promise, day) for day in scene.days], bool)
        for m, mob in enumerate(scene.mobs):
            named = [_keeps_out(promise, mob.id, scene.ground(paddock)) for paddock in scene.paddocks]
            closed[m] |= days[:, None] & np.array(named, bool)
    housed = np.array([[_housed(scene, mob, day) for day in scene.days] for mob in scene.mobs], bool)
    gone = np.array([[_gone(scene, mob, day) for day in scene.days] for mob in scene.mobs], bool)
    return Face(
        closed=closed,
        no_move=no_move(scene),
        housed=housed if housed.any() else None,
        gone=gone if gone.any() else None,
    )


def _seasons(scene: Scene, mob: MobState) -> list[Promise]:
    """Return the seasons in which a mob lives off the grass: those that were over a year ago say nothing."""
    return [
        p
        for p in scene.farm.promises
        if p.kind == GRAZING and (not p.mobs or mob.id in p.mobs) and p.to_day > scene.days[0] - YEAR
    ]


def _housed(scene: Scene, mob: MobState, day: date) -> bool:
    """Return whether a mob is fed in the yard on a day: outside every season in which it lives off the grass.

    The days after the last season are days in the yard too. A mob that went out again before a season begins
    stays out until then; one that was never taken in since a season ended is to come in.
    """
    seasons = _seasons(scene, mob)
    if not seasons or any(p.from_day <= day < p.to_day for p in seasons):
        return False
    begins = min((p.from_day for p in seasons if p.to_day > scene.days[0]), default=date.max)
    return not (_out_again(scene, mob, seasons) and day < begins)


def _out_again(scene: Scene, mob: MobState, seasons: list[Promise]) -> bool:
    """Return whether a mob stands on grass and was off it since its last season ended, if one did."""
    ended = max((p.to_day for p in seasons if p.to_day <= scene.days[0]), default=None)
    if mob.place not in scene.paddocks or ended is None:
        return mob.place in scene.paddocks
    off = (
        s for s in scene.state.stays if s.mob == mob.id and s.place not in scene.paddocks and not s.planned
    )
    return any(s.end is None or s.end.end > scene.midnight(ended) for s in off)


def _ready(scene: Scene, mob: MobState, _paddock: str) -> Ready | None:
    """Return from when on a mob that is housed lives off the grass again; None where it is not housed."""
    if not _housed(scene, mob, scene.days[0]):
        return None
    seasons = _seasons(scene, mob)
    ahead = min((p for p in seasons if p.from_day > scene.days[0]), key=lambda p: p.from_day, default=None)
    if ahead is not None:
        until = Moment.at(scene.midnight(ahead.from_day))
        told = say("limits.promise.housed_until", what=ahead.what, day=day_words(ahead.from_day))
        return Ready("promise", until, told)
    last = max(seasons, key=lambda p: p.to_day)
    days = {"first": day_words(last.from_day), "last": day_words(last.to_day - DAY)}
    return Ready("promise", None, say("limits.promise.housed", what=last.what, **days))


def _gone(scene: Scene, mob: MobState, day: date) -> bool:
    """Return whether a lent mob is with its owner from a day on; one that is late is here until it goes."""
    return mob.due is not None and mob.due >= scene.days[0] and day >= mob.due


LIMIT = Limit("promise", _bites, _face, _ready)
