"""Worms: days in, and days since the last host of the same worms left.

Sheep and goats share the barber pole worm. Four days in and thirty-five out are interval rules, not
clean pasture: the page says so and shows the longer readings beside them (conflict K06). Cattle and
horses mostly do not share these worms. Where weather is known the day-degree date stands beside the
days of the rule as the latest; it never lengthens a stay by itself.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from browseline import tables
from browseline.farm import settings
from browseline.figures import Figure, typed
from browseline.limits import _larvae
from browseline.limits._prices import price_usd
from browseline.limits.form import Bite, Face, Hardness, Late, Limit, Moment, Ready, Scene
from browseline.record.state import MobState, Stay
from browseline.words import day_words, say

HOSTS = ("sheep", "goat")
PAIR = "sheep;goat"
FAR = timedelta(days=3650)


def hosts(mob: MobState) -> bool:
    """Return whether a mob carries the worms that sheep and goats share."""
    return any(line.kind in HOSTS and line.head > 0 for line in mob.lines)


def _rule(scene: Scene, which: str) -> Figure:
    said = scene.farm.rules.worm_stay if which == "worm_stay" else scene.farm.rules.worm_rest
    if said is not None:
        return typed(which, said.to("d"), "d", said.text)
    named = settings.chosen(scene.farm, which) if which == "worm_rest" else None
    if named is not None:
        return settings.figure(named, which)
    return tables.row("worms", which, PAIR).figure(which)


def longest_d(scene: Scene) -> float:
    """Return the longest stay of hosts. [d]"""
    return _rule(scene, "worm_stay").value or 0.0


def _hardness(scene: Scene) -> Hardness:
    return "hard" if scene.farm.rules.worms_hard else "soft"


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    if not hosts(mob):
        return []
    return [*_too_soon(scene, mob, paddock), _too_long(scene, mob, paddock)]


def _too_long(scene: Scene, mob: MobState, paddock: str) -> Bite:
    """Return the bite of the longest stay; a stay that began in an interval counts from its start."""
    stay = _rule(scene, "worm_stay")
    days = timedelta(days=stay.value or 0.0)
    begin = scene.begin(mob, paddock)
    end = mob.since.end if mob.place == paddock and mob.since is not None else begin
    larvae, wet = _larvae.infective(scene, begin), _larvae.wetness(scene, begin)
    latest = max(end + days, begin + days, larvae[0].latest if larvae else begin)
    earliest = min(begin + days, larvae[0].earliest) if larvae else begin + days
    moment = Moment(earliest, begin + days, latest)
    hardness = _hardness(scene)
    said = [say("limits.worms.because", days=f"{stay.value:g}")]
    said += [_larvae_words(scene, larvae[0])] if larvae else []
    said += [wet[0]] if wet else []
    early = _went_early(scene, mob, paddock)
    said += [early] if early else []
    beside = (*((larvae[1],) if larvae else ()), *((wet[1],) if wet else ()))
    beside += (_rule(scene, "worm_rest"), *_larvae.readings()) if early else ()
    late = tuple(Late(n, risk=say("limits.worms.late", count=n)) for n in (1, 2, 3))
    return Bite(
        "worms",
        mob.id,
        paddock,
        moment,
        hardness,
        " ".join(said),
        say("limits.worms.do"),
        (stay, *beside),
        late,
        moment.likely,
        say("limits.worms.short", days=f"{stay.value:g}"),
    )


def _went_early(scene: Scene, mob: MobState, paddock: str) -> str:
    """Return that hosts went in before a rest was over that has ended since; else nothing."""
    begin = scene.begin(mob, paddock)
    ready = _clean(scene, paddock, mob.id, begin)
    if ready is None or not begin < ready <= scene.now:
        return ""
    days = f"{_rule(scene, 'worm_rest').value:g}"
    return say("limits.worms.went_early", day=day_words(scene.local(ready).date()), days=days)


def _larvae_words(scene: Scene, larvae: Moment) -> str:
    first, last = (day_words(scene.local(x).date()) for x in (larvae.earliest, larvae.latest))
    day = day_words(scene.local(larvae.likely).date())
    return say("limits.worms.larvae", day=day, first=first, last=last)


def _too_soon(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    """Return the bite of going in, or standing there, before the rest is over.

    Once it is over nothing is gained by leaving: that they went in early is told beside the longest stay.
    """
    begin = scene.begin(mob, paddock)
    ready = _clean(scene, paddock, mob.id, begin)
    if ready is None or ready <= scene.now:
        return []
    rest = _rule(scene, "worm_rest")
    hardness = _hardness(scene)
    because = say("limits.worms.too_soon", day=day_words(scene.local(ready).date()), days=f"{rest.value:g}")
    return [
        Bite(
            "worms",
            mob.id,
            paddock,
            Moment.at(begin),
            hardness,
            because,
            say("limits.worms.too_soon_do"),
            (rest, *_larvae.readings()),
            no_growth=begin,
            short=say("limits.worms.too_soon_short"),
        )
    ]


def _clean(scene: Scene, paddock: str, mob: str, begin: datetime) -> datetime | None:
    """Return the end of the rest after the last hosts in a paddock before ``begin``, or None."""
    left = [_left(scene, stay) for stay in scene.state.stays if _counts(scene, stay, paddock, mob, begin)]
    return max(left) + timedelta(days=_rule(scene, "worm_rest").value or 0.0) if left else None


def after_hosts(scene: Scene, left: datetime) -> datetime:
    """Return when hosts of the same worms may follow others that left at an instant, by the farm's rule."""
    return left + timedelta(days=_rule(scene, "worm_rest").value or 0.0)


def _counts(scene: Scene, stay: Stay, paddock: str, mob: str, begin: datetime) -> bool:
    """Return whether a stay put worms on a paddock: hosts, there in fact, not the present stay itself."""
    if stay.planned or not _same_ground(scene, stay.place, paddock):
        return False
    if stay.mob == mob and stay.begin.start >= begin:
        return False
    return _was_host(scene, stay)


def _same_ground(scene: Scene, place: str, paddock: str) -> bool:
    """Return whether dung left in one place lies in the other: the same, a part of it, or its whole."""
    return place in scene.ground(paddock) or paddock in scene.ground(place)


def _was_host(scene: Scene, stay: Stay) -> bool:
    logged = [(at, lines) for at, mob, lines in scene.state.heads if mob == stay.mob and at <= stay.begin.end]
    lines = max(logged, key=lambda entry: entry[0])[1] if logged else ()
    known = scene.state.mob(stay.mob)
    return any(line.kind in HOSTS for line in (lines or (known.lines if known else ())))


def _left(scene: Scene, stay: Stay) -> datetime:
    """Return when hosts left; those still there leave now at the earliest."""
    return stay.end.end if stay.end is not None else scene.now


def _ready(scene: Scene, mob: MobState, paddock: str) -> Ready | None:
    """Return when the rest is over; None for animals that do not carry these worms."""
    if not hosts(mob):
        return None
    rest = _rule(scene, "worm_rest")
    ready = _clean(scene, paddock, mob.id, scene.now + FAR)
    if ready is None:
        figures = (rest, *_larvae.readings())
        return Ready("worms", Moment.at(scene.now), say("limits.worms.never_grazed"), figures)
    key = "ready_now" if ready <= scene.now else "ready"
    words = say(f"limits.worms.{key}", day=day_words(scene.local(ready).date()), days=f"{rest.value:g}")
    left = ready - timedelta(days=rest.value or 0.0)
    larvae = _larvae.infective(scene, left)
    latest = max(ready, larvae[0].latest) if larvae else ready
    words = f"{words} {say('limits.worms.longer')}"
    return Ready("worms", Moment(ready, ready, latest), words, (rest, *_larvae.readings()))


def _face(scene: Scene) -> Face:
    """Return the longest stay of hosts, and the rest between any two of them."""
    carries = np.array([hosts(mob) for mob in scene.mobs], bool)
    stay, rest = (_rule(scene, which).value or 0.0 for which in ("worm_stay", "worm_rest"))
    longest = np.where(carries[:, None], stay, np.inf) * np.ones((1, len(scene.paddocks)))
    between = np.where(carries[:, None] & carries[None, :], rest, 0.0)
    price = price_usd(scene.farm, "yard_day")
    hard = scene.farm.rules.worms_hard
    return Face(
        longest_stay_d=longest,
        over_stay_usd_d=price,
        stay_is_hard=hard,
        rest_d=between,
        short_rest_usd_d=price,
        rest_is_hard=hard,
        fit_from_d=np.array([[_fit_from_d(scene, mob, p) for p in scene.paddocks] for mob in scene.mobs]),
    )


def _fit_from_d(scene: Scene, mob: MobState, paddock: str) -> float:
    """Return the days until rest after all hosts of the past is over; 0 if it is. [d]"""
    ready = _clean(scene, paddock, mob.id, scene.now + FAR) if hosts(mob) else None
    return max((ready - scene.now) / timedelta(days=1), 0.0) if ready else 0.0


LIMIT = Limit("worms", _bites, _face, _ready)
