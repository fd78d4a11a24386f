"""Water: what the trough or trailer holds against what the mob drinks in a day."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np

from browseline.farm.needs import water, water_at
from browseline.farm.records import Paddock
from browseline.figures import Figure, typed
from browseline.limits._prices import trip
from browseline.limits.form import Bite, Face, Late, Limit, Moment, Scene
from browseline.record.state import MobState
from browseline.units import shown
from browseline.words import say

EVERY_D = 2
"""What lasts no two days in heat is filled every day; the tool's own. [d]"""


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    found = scene.paddock(paddock)
    if found is None or found.water == "stream" or (found.water == "trough" and found.trough is None):
        return []
    if found.water == "unknown":
        return []
    if found.water == "none":
        return [
            Bite(
                "water",
                mob.id,
                paddock,
                Moment.at(scene.begin(mob, paddock)),
                "hard",
                say("limits.water.none", paddock=found.name),
                say("limits.water.none_do"),
                short=say("limits.water.none_short"),
                reserve=("M",),
            )
        ]
    return _runs_dry(scene, mob, found)


def _runs_dry(scene: Scene, mob: MobState, paddock: Paddock) -> list[Bite]:
    """Return the bite of a trailer or a trough that is filled by hand, full when the mob came."""
    cool, hot = water(mob.lines, False, mob.id), water(mob.lines, True, mob.id)
    if paddock.trough is None or cool is None or hot is None or not cool.value or not hot.value:
        return [
            Bite(
                "water",
                mob.id,
                paddock.id,
                None,
                "question",
                say("limits.water.not_known", paddock=paddock.name),
                say("limits.water.not_known_do"),
            )
        ]
    units = scene.farm.units
    holds = typed("trough", paddock.trough.to("L"), "L", paddock.trough.text, about=paddock.id)
    slow, fast = (holds.value or 0.0) / cool.value, (holds.value or 0.0) / hot.value
    begin = scene.begin(mob, paddock.id)
    been = (scene.now - begin) / timedelta(days=1)
    today = _today(scene, mob)
    drunk = today.value if today is not None and today.value else (cool.value + hot.value) / 2
    likely = (holds.value or 0.0) / drunk
    moment = Moment(*sorted(begin + timedelta(days=_next_fill(been, d)) for d in (fast, likely, slow)))
    days = Figure(
        "water_days",
        likely,
        "d",
        fast,
        slow,
        parts=(holds, cool, hot, *((today,) if today is not None else ())),
        formula=f"{holds.value:.4g} L ÷ {cool.value:.4g} … {hot.value:.4g} L/d",
        about=mob.id,
    )
    because = say(
        "limits.water.because",
        holds=shown(holds.value or 0.0, "volume", units),
        cool=shown(cool.value, "water use", units),
        hot=shown(hot.value, "water use", units),
    )
    late = tuple(Late(n, risk=say("limits.water.late")) for n in (1, 2, 3))
    return [
        Bite(
            "water",
            mob.id,
            paddock.id,
            moment,
            "hard",
            because,
            say("limits.water.every_day" if fast < EVERY_D else "limits.water.do"),
            (days,),
            late,
            moment.likely,
            say("limits.water.short"),
        )
    ]


def _today(scene: Scene, mob: MobState) -> Figure | None:
    """Return what the mob drinks at today's highest temperature, where weather is known. [L/d]"""
    if scene.weather is None:
        return None
    day = scene.weather.days == np.datetime64(scene.days[0], "D")
    if not day.any():
        return None
    return water_at(mob.lines, float(np.median(scene.weather.tmax_c[:, day])), mob.id)


def _next_fill(been_d: float, lasts_d: float) -> float:
    """Return the days since they came at which it next runs dry, if it was filled whenever it had. [d]"""
    return lasts_d * (math.floor(been_d / lasts_d) + 1)


def _face(scene: Scene) -> Face:
    """Return paddocks without water as shut to every mob; a trough that is filled shuts nothing.

    A trailer that is filled by hand costs its trips where the farm typed what one costs (``water_trip``).
    """
    places = (scene.paddock(name) for name in scene.paddocks)
    dry = np.array([place is not None and place.water == "none" for place in places])
    shape = (len(scene.mobs), len(scene.days), len(scene.paddocks))
    closed = np.broadcast_to(dry, shape).copy()
    each = trip(scene.farm)
    if each is None:
        return Face(closed=closed)
    dear = np.zeros(shape)
    for m, mob in enumerate(scene.mobs):
        for i, name in enumerate(scene.paddocks):
            every = fills_every_d(scene, mob, name)
            dear[m, :, i] = (each.value or 0.0) / every if every is not None else 0.0
    return Face(closed=closed, dear_usd_d=dear if dear.any() else None, dear_by_head=True)


def fills_every_d(scene: Scene, mob: MobState, paddock: str) -> float | None:
    """Return how often water has to be carried to a mob in a paddock; None where none is. [d]"""
    found, cool, hot = scene.paddock(paddock), water(mob.lines, False), water(mob.lines, True)
    if found is None or found.water != "trailer" or found.trough is None or cool is None or hot is None:
        return None
    today = _today(scene, mob)
    drunk = today.value if today is not None else ((cool.value or 0.0) + (hot.value or 0.0)) / 2
    return found.trough.to("L") / drunk if drunk else None


def _eases(scene: Scene, _mob: MobState) -> tuple[str, ...]:
    """Return the paddocks that are known to have water."""
    places = (scene.paddock(name) for name in scene.paddocks)
    return tuple(p.id for p in places if p is not None and p.water not in ("none", "unknown"))


LIMIT = Limit("water", _bites, _face, eases=_eases)
