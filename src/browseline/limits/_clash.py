"""Where limits contradict each other, found by what all of them say in the one form, not by their names.

Four ways there are: one limit wants a paddock grazed that another still rests; the rest that is asked
for makes stays longer than is allowed; a mob must leave and no place is fit, or nothing that eases what
bites it is open; a job needs more days than another limit allows, or asks for a stay or a rest that one
forbids. ``chain.clashes`` says them in words, with the ways out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

import numpy as np

from browseline.farm.records import Job
from browseline.figures import Figure
from browseline.limits import Bite, Face, bites, faces, known, ready
from browseline.limits._jobs import foreseen, open_job
from browseline.limits._places import Place, places, together
from browseline.limits.form import Scene
from browseline.record.state import MobState

DAY = timedelta(days=1)
DUE = timedelta(hours=48)
SEEN_AHEAD = timedelta(days=7)
"""How far ahead a mob that must leave is looked at; and one bitten by the place itself (shade, water)."""
HALF_D = 0.5
"""Stays are told apart by half days; less than that nobody can time."""


@dataclass(frozen=True)
class Apart:
    """One limit wants the mob back in paddocks that another still rests.

    ``days`` are those still to wait, one a paddock; ``wants_d`` and ``holds_d`` the rests the two ask for,
    None where a limit has none for all paddocks alike; ``short_usd_d`` what a day less costs in a plan,
    None where it is never chosen. [d, USD/d]
    """

    wants: str
    holds: str
    paddocks: tuple[str, ...]
    days: tuple[float, ...]
    wants_d: float | None
    holds_d: float | None
    short_usd_d: float | None


@dataclass(frozen=True)
class TooLong:
    """The rest that one limit asks for makes stays longer than another allows.

    ``open_`` paddocks of ``area_ha`` are shared by ``groups`` that graze apart. ``short_usd_d`` and
    ``over_usd_d`` are what a day less of rest and a day more of stay cost in a plan, None where never chosen.
    [d, ha, USD/d]
    """

    rests: str
    stays: str
    rest_d: float
    longest_d: float
    stay_d: float
    open_: int
    groups: int
    area_ha: float
    short_usd_d: float | None
    over_usd_d: float | None

    @property
    def rest_left_d(self) -> float:
        """Return the rest that is left where no stay passes the longest. [d]"""
        return self.longest_d * (self.open_ / self.groups - 1)


@dataclass(frozen=True)
class NoWay:
    """A mob must leave and no place is fit by then; ``eased`` are the only places that would ease it.

    ``eased`` is empty where leaving alone would do.
    """

    bite: Bite
    at: datetime
    others: tuple[Place, ...]
    eased: tuple[str, ...] = ()

    @property
    def first(self) -> Place | None:
        """Return the place that is fit soonest, or None if nobody can say of any."""
        waiting = [p for p in self.others if p.state == "waits" and p.fit_at is not None]
        return min(waiting, key=lambda p: p.fit_at or self.at, default=None)


@dataclass(frozen=True)
class JobAgainst:
    """A job and a limit that stands against it.

    ``what`` is *work* (days still needed against days until ``bite``), *stay* or *rest* (as typed, against
    what the limit allows or asks). ``usd_d`` is what a day against it costs in a plan, None if hard. [d]
    ``ends`` is the day on which the job is over or its mob goes home, None where neither is typed.
    """

    job: Job
    what: Literal["work", "stay", "rest"]
    limit: str
    asked_d: float
    allowed_d: float
    usd_d: float | None
    bite: Bite | None = None
    figure: Figure | None = None
    ends: date | None = None


# ---------------------------------------------------------------- wanted and rested


def apart(scene: Scene, mob: MobState) -> tuple[Apart, ...]:
    """Return the paddocks that one limit wants grazed now and another still rests, by the two limits."""
    found: dict[tuple[str, str], list[tuple[str, float]]] = {}
    for place in places(scene, mob, scene.now):
        if place.state != "waits" or place.fit_at is None:
            continue
        days = (place.fit_at - scene.now) / DAY
        wants = [r.limit for r in ready(scene, mob.id, place.paddock)
                 if r.wants and r.moment is not None and r.moment.likely <= scene.now]  # fmt: skip
        if wants and days >= HALF_D:
            found.setdefault((wants[0], place.limits[0]), []).append((place.paddock, days))
    return tuple(_apart(scene, mob, *pair, rows) for pair, rows in found.items())


def _apart(scene: Scene, mob: MobState, wants: str, holds: str, rows: list[tuple[str, float]]) -> Apart:
    paddocks, days = zip(*rows, strict=True)
    m, columns = scene.mobs.index(mob), [scene.paddocks.index(p) for p in paddocks]
    own, other = _face(scene, wants), _face(scene, holds)
    wait = own.wait_d[m, columns] if own.wait_d is not None else np.array([np.nan])
    rest = float(other.rest_d[m, m]) if other.rest_d is not None else 0.0
    usd = None if other.rest_is_hard else other.short_rest_usd_d
    middle = None if np.isnan(wait).all() else float(np.nanmedian(wait))
    return Apart(wants, holds, paddocks, days, middle, rest or None, usd)


def _face(scene: Scene, limit: str) -> Face:
    return next((face for face in faces(scene) if face.name == limit), Face())


# ---------------------------------------------------------------- rest against stay


def too_long(scene: Scene, mob: MobState) -> TooLong | None:
    """Return that rest over the open paddocks makes stays longer than is allowed; None if it does not."""
    m = scene.mobs.index(mob)
    columns = [p for p, name in enumerate(scene.paddocks) if _grazed(scene, m, p, name)]
    if not columns or mob.place not in scene.paddocks:
        return None
    asked = max(_rests(scene, m, columns), key=lambda r: r[0], default=None)
    allowed = min(_longest(scene, m, columns), key=lambda s: s[0], default=None)
    if asked is None or allowed is None:
        return None
    groups = _groups(scene, mob, asked[1])
    if len(columns) <= groups:
        return None
    stay_d = asked[0] * groups / (len(columns) - groups)
    if stay_d - allowed[0] < HALF_D:
        return None
    short = None if asked[1].rest_is_hard else asked[1].short_rest_usd_d
    over = None if allowed[1].stay_is_hard else allowed[1].over_stay_usd_d
    area = sum(float(scene.herbage.land.area_ha[scene.herbage.index(scene.paddocks[p])]) for p in columns)
    return TooLong(asked[1].name, allowed[1].name, asked[0], allowed[0], stay_d, len(columns), groups, area,
                   short, over)  # fmt: skip


def _grazed(scene: Scene, m: int, p: int, name: str) -> bool:
    """Return whether a paddock is open to a mob today and no sacrifice ground."""
    paddock = scene.paddock(name)
    open_ = not any(f.closed is not None and f.closed[m, 0, p] for f in faces(scene))
    return open_ and paddock is not None and not paddock.sacrifice


def _rests(scene: Scene, m: int, columns: list[int]) -> Iterator[tuple[float, Face]]:
    """Yield the rest that each limit asks between two stays of a mob. [d]"""
    for face in faces(scene):
        if face.rest_d is not None and face.rest_d[m, m] > 0:
            yield float(face.rest_d[m, m]), face
        if face.wait_d is not None and not np.isnan(face.wait_d[m, columns]).all():
            yield float(np.nanmedian(face.wait_d[m, columns])), face


def _longest(scene: Scene, m: int, columns: list[int]) -> Iterator[tuple[float, Face]]:
    """Yield the longest stay that each limit allows on most paddocks. [d]"""
    for face in faces(scene):
        if face.longest_stay_d is not None:
            days = float(np.median(face.longest_stay_d[m, columns]))
            if np.isfinite(days) and days > 0:
                yield days, face


def _groups(scene: Scene, mob: MobState, rests: Face) -> int:
    """Return how many groups share the paddocks: mobs between which the limit asks for rest, apart.

    Who follows or runs with another comes in the same round.
    """
    m = scene.mobs.index(mob)
    shares = [mob]
    for i, other in enumerate(scene.mobs):
        rest = rests.rest_d[i, m] if rests.rest_d is not None else 0.0
        waits = rests.wait_d is not None and not np.isnan(rests.wait_d[i]).all()
        if i != m and other.place in scene.paddocks and (rest > 0 or waits):
            shares.append(other)
    alone: list[MobState] = []
    for one in shares:
        if not any(_one_round(scene, one, other) for other in alone):
            alone.append(one)
    return len(alone)


def _one_round(scene: Scene, mob: MobState, other: MobState) -> bool:
    own, of = scene.farm.mob(mob.id), scene.farm.mob(other.id)
    follows = (own is not None and own.follows == other.id) or (of is not None and of.follows == mob.id)
    return follows or together(scene, mob, other)


# ---------------------------------------------------------------- nowhere to go


def no_way(scene: Scene, mob: MobState, promised: Collection[str] = ()) -> tuple[NoWay, ...]:
    """Return that a mob must leave and no place is fit; and that what eases a bite lies in closed ground.

    Parameters
    ----------
    promised : collection of str
        Paddocks to which other mobs go that must leave as soon.
    """
    if mob.place is None or mob.place not in scene.paddocks:
        return ()
    dated = [b for b in bites(scene, mob.id, mob.place) if b.moment is not None and b.hardness != "question"]
    places_of = {limit.name: limit.eases for limit in known()}
    out, seen = [], set()
    for bite in dated:
        eases = places_of.get(bite.limit)
        if bite.moment is None or bite.limit in seen:
            continue
        seen.add(bite.limit)
        at = max(bite.moment.likely, scene.now)
        if eases is not None and at <= scene.now + SEEN_AHEAD:
            out += _unrelieved(scene, mob, bite, at, eases(scene, mob), promised)
        elif eases is None and at <= scene.now + DUE and not any(not way.eased for way in out):
            out += _stuck(bite, at, places(scene, mob, at, promised))
    return tuple(out)


def _stuck(bite: Bite, at: datetime, others: tuple[Place, ...]) -> list[NoWay]:
    """Return that no other paddock is fit by then; nothing is said while one has not been walked."""
    told = others and not any(p.state in ("fit", "unread") for p in others)
    return [NoWay(bite, at, others)] if told else []


def _unrelieved(
    scene: Scene, mob: MobState, bite: Bite, at: datetime, eased: tuple[str, ...], promised: Collection[str]
) -> list[NoWay]:
    if not eased or mob.place in eased:
        return []
    found = tuple(p for p in places(scene, mob, at, promised) if p.paddock in eased)
    if not found or any(p.state in ("fit", "unread") for p in found):
        return []
    return [NoWay(bite, at, found, eased)]


# ---------------------------------------------------------------- a job against the others

OWN = "job"
"""The limit of the jobs themselves: what else is said of their ground is held against it."""


def job_against(scene: Scene, mob: MobState) -> tuple[JobAgainst, ...]:
    """Return what stands against the open job of a mob: days too few, a stay too long, a rest too short."""
    job = open_job(scene, mob.id, scene.days[0])
    if job is None or job.paddock not in scene.paddocks:
        return ()
    work = _work(scene, mob, job) if mob.place == job.paddock else None
    return (*((work,) if work is not None else ()), *_typed_against(scene, mob, job))


def _work(scene: Scene, mob: MobState, job: Job) -> JobAgainst | None:
    """Return the first limit that bites before the work is foreseen done; none that shade or water eases."""
    days = foreseen(scene, job, mob).days
    if days is None or days.value is None:
        return None
    at_place = {limit.name for limit in known() if limit.eases is not None}
    for bite in bites(scene, mob.id, job.paddock):
        if bite.limit in (OWN, *at_place) or bite.moment is None or bite.hardness == "question":
            continue
        left = max((bite.moment.likely - scene.now) / DAY, 0.0)
        if days.value - left < HALF_D:
            return None
        face = _face(scene, bite.limit)
        hard = bite.hardness == "hard" or face.stay_is_hard
        usd = None if hard else face.over_stay_usd_d or None
        ends = min((day for day in (job.to_day, mob.due) if day is not None), default=None)
        return JobAgainst(job, "work", bite.limit, days.value, left, usd, bite, days, ends)
    return None


def _typed_against(scene: Scene, mob: MobState, job: Job) -> Iterator[JobAgainst]:
    """Yield where the stay or the rest that was typed for a job goes past what another limit allows."""
    m, p = scene.mobs.index(mob), scene.paddocks.index(job.paddock)
    stay = job.stay.to("d") if job.stay is not None else None
    rest = job.rest.to("d") if job.rest is not None else None
    for face in (face for face in faces(scene) if face.name != OWN):
        longest = np.inf if face.longest_stay_d is None else float(face.longest_stay_d[m, p])
        asks = 0.0 if face.rest_d is None else float(face.rest_d[m, m])
        if stay is not None and stay - longest >= HALF_D:
            usd = None if face.stay_is_hard else face.over_stay_usd_d
            yield JobAgainst(job, "stay", face.name, stay, longest, usd)
        if rest is not None and asks - rest >= HALF_D:
            usd = None if face.rest_is_hard else face.short_rest_usd_d
            yield JobAgainst(job, "rest", face.name, rest, asks, usd)
