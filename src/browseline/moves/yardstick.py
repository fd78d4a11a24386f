"""From a scene to a yardstick: the faces of all limits made one, where everybody stands, and costs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from browseline.farm.needs import on_grass
from browseline.farm.own_hay import hay_price
from browseline.farm.records import Farm
from browseline.figures import Figure
from browseline.limits import Face, Scene
from browseline.limits._prices import price
from browseline.moves.asked import alike, follow_d, hay_cuts, jobs, leaders, work_d, worked
from browseline.moves.form import Yardstick
from browseline.moves.herd import herd_of
from browseline.moves.kernel import Bars, Field
from browseline.moves.paths import far_km
from browseline.record.state import AWAY, YARD, MobState
from browseline.science import grazing
from browseline.sward import share_eaten

Array = NDArray[np.float64]
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
LONGEST_IN_TABLE_D = 7


def yardstick_of(scene: Scene, faces: tuple[Face, ...]) -> Yardstick:
    """Return what plans of a scene are measured by.

    Mobs that are away from the farm are not planned. Sacrifice ground, paddocks that a mob is kept out of
    and, for who eats grass, those without a height are never chosen. A day of the plan runs from a time of
    day to the same of the next: it is shut if either calendar day it touches is. The time is now's, or
    earlier where a stay with a hard end began earlier in the day, so that no hard stay is passed by part of
    a day.

    Parameters
    ----------
    faces : tuple of Face
        What ``limits.faces`` says; no limit is known by name.
    """
    rows = [i for i, m in enumerate(scene.mobs) if m.place != AWAY and m.head > 0]
    mobs = tuple(scene.mobs[i] for i in rows)
    days = scene.days[: scene.herbage.horizon_d]
    figures = _costs(scene.farm)
    pick = _Faces(faces, np.array(rows, np.int64), len(scene.paddocks))
    stays, rests, leaves, enters = (
        pick.with_(k) for k in ("longest_stay_d", "rest", "leave_kg_ha", "enter_kg_ha")
    )
    wanted = pick.stack(enters, "enter_kg_ha")
    enter = wanted.copy()
    can_move = ~pick.no_move(len(days))
    still = int(np.argmax(np.append(can_move, True)))
    sooner = _sooner(scene, mobs if any(f.stay_is_hard for f in stays) else ())
    herd = herd_of(scene, mobs, days, pick.flags("gone", len(days)))
    off = pick.flags("housed", len(days)) | herd.gone
    open_ = np.ascontiguousarray(_open(scene, mobs, pick.closed(len(days)), days) & ~off[:, :, None])
    leader = leaders(scene, mobs)
    enter[:, leader >= 0] = 0.0  # the leader waited for the start height; who follows comes to what it left
    enter[:, worked(scene, mobs)] = 0.0  # a job asks for its mob whatever stands there
    bars = Bars(
        open_, can_move, _together(scene, mobs),
        _arrivals(scene, mobs, can_move, len(days)),
        pick.stack(stays, "longest_stay_d"), _numbers(stays, "over_stay_usd_d"),
        _flags(stays, "stay_is_hard"),
        pick.rest(rests), pick.fit_from(rests) + sooner, _numbers(rests, "short_rest_usd_d"),
        _flags(rests, "rest_is_hard"), pick.stack(leaves, "leave_kg_ha"), _numbers(leaves, "below_usd_kg"),
        enter, _numbers(enters, "early_usd_kg"),
        herd.demand_kg_d, _eaten(scene), _starts(scene, mobs), _been(scene, mobs),
        np.full(len(mobs), still, np.int64), _ago(scene, mobs) - sooner,
        far_km(scene.farm, scene.paddocks), np.array([f.value or 0.0 for f in figures]),
        leader, follow_d(scene, mobs, sooner), jobs(scene, mobs, days, open_), work_d(scene, mobs),
        pick.own_rest(rests), off, pick.dear(len(days)), alike(scene),
    )  # fmt: skip
    names = {k: tuple(f.name for f in found) for k, found in
             (("stay", stays), ("rest", rests), ("leave", leaves), ("enter", enters))}  # fmt: skip
    kept = tuple(_of_mobs(face, np.array(rows, np.int64)) for face in faces)
    return Yardstick(tuple(m.id for m in mobs), scene.paddocks, days, kept, names, bars,
                     _field(scene, len(days), wanted), figures, sooner, herd.gone)  # fmt: skip


class _Faces:
    """The faces of all limits, cut to the mobs that are planned."""

    def __init__(self, faces: tuple[Face, ...], rows: NDArray[np.int64], paddocks: int) -> None:
        self.faces, self.rows, self.paddocks = faces, rows, paddocks

    def with_(self, word: str) -> list[Face]:
        """Return the faces that have a word on it."""
        if word == "rest":
            words = ("rest_d", "fit_from_d", "own_rest_d")
            return [f for f in self.faces if any(getattr(f, w) is not None for w in words)]
        return [f for f in self.faces if getattr(f, word) is not None]

    def stack(self, faces: list[Face], word: str) -> Array:
        """Return mob × paddock numbers of some faces, shape (limit, mob, paddock)."""
        shape = (len(faces), len(self.rows), self.paddocks)
        return np.array([np.asarray(getattr(f, word), float)[self.rows] for f in faces], float).reshape(shape)

    def rest(self, faces: list[Face]) -> Array:
        """Return rests between mobs, shape (limit, mob, mob). [d]"""
        count = len(self.rows)
        own = [
            np.zeros((count, count)) if f.rest_d is None else f.rest_d[np.ix_(self.rows, self.rows)]
            for f in faces
        ]
        return np.array(own, float).reshape(len(faces), count, count)

    def fit_from(self, faces: list[Face]) -> Array:
        """Return days until the rest after the past is over, shape (limit, mob, paddock). [d]"""
        shape = (len(faces), len(self.rows), self.paddocks)
        own = [np.zeros(shape[1:]) if f.fit_from_d is None else f.fit_from_d[self.rows] for f in faces]
        return np.array(own, float).reshape(shape)

    def own_rest(self, faces: list[Face]) -> Array:
        """Return rests between two stays of one mob, shape (limit, mob, paddock). [d]"""
        shape = (len(faces), len(self.rows), self.paddocks)
        own = [np.zeros(shape[1:]) if f.own_rest_d is None else f.own_rest_d[self.rows] for f in faces]
        return np.array(own, float).reshape(shape)

    def closed(self, days: int) -> NDArray[np.bool_]:
        """Return what any calendar shuts, shape (mob, day, paddock)."""
        out = np.zeros((len(self.rows), days, self.paddocks), bool)
        for face in self.faces:
            if face.closed is not None:
                out |= face.closed[self.rows, :days]
        return out

    def flags(self, word: str, days: int) -> NDArray[np.bool_]:
        """Return the days of which any face says a word, shape (mob, day)."""
        out = np.zeros((len(self.rows), days), bool)
        for face in self.with_(word):
            out |= np.asarray(getattr(face, word), bool)[self.rows, :days]
        return out

    def dear(self, days: int) -> Array:
        """Return what days cost by every face that prices them, shape (mob, day, paddock). [USD]"""
        out = np.zeros((len(self.rows), days, self.paddocks))
        for face in self.with_("dear_usd_d"):
            out += np.asarray(face.dear_usd_d, float)[self.rows, :days]
        return out

    def no_move(self, days: int) -> NDArray[np.bool_]:
        """Return the days on which nobody can move animals, shape (day,)."""
        out = np.zeros(days, bool)
        for face in self.faces:
            if face.no_move is not None:
                out |= face.no_move[:days]
        return out


def _of_mobs(face: Face, rows: NDArray[np.int64]) -> Face:
    """Return a face cut to some mobs."""
    names = ("closed", "longest_stay_d", "leave_kg_ha", "enter_kg_ha", "fit_from_d", "own_rest_d", "wait_d",
             "dear_usd_d", "dear_share", "housed", "gone")  # fmt: skip
    cut = {n: getattr(face, n)[rows] for n in names if getattr(face, n) is not None}
    if face.rest_d is not None:
        cut["rest_d"] = face.rest_d[np.ix_(rows, rows)]
    return replace(face, **cut)


def _numbers(faces: list[Face], word: str) -> Array:
    return np.array([getattr(f, word) for f in faces], float)


def _flags(faces: list[Face], word: str) -> NDArray[np.bool_]:
    return np.array([getattr(f, word) for f in faces], bool)


# ---------------------------------------------------------------- the calendar


def touched(scene: Scene, closed: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return plan days that touch a closed calendar day: shape as given, days on the second axis."""
    out = closed.copy()
    if scene.local(scene.now) > scene.midnight(scene.local(scene.now).date()):
        out[:, :-1] |= closed[:, 1:]
    return out


def _open(
    scene: Scene, mobs: tuple[MobState, ...], closed: NDArray[np.bool_], days: tuple[date, ...]
) -> NDArray[np.bool_]:
    shut = touched(scene, closed)
    for p, name in enumerate(scene.paddocks):
        paddock = scene.paddock(name)
        if paddock is not None and paddock.sacrifice:
            shut[:, :, p] = True
        for m, mob in enumerate(mobs):
            own = scene.farm.mob(mob.id)
            unread = not scene.herbage.read[scene.herbage.index(name)] and on_grass(mob.lines) != ()
            if unread or (own is not None and name in own.keep_out):
                shut[m, :, p] = True
    return np.ascontiguousarray(~shut[:, : len(days)])


def _together(scene: Scene, mobs: tuple[MobState, ...]) -> NDArray[np.bool_]:
    out = np.eye(len(mobs), dtype=bool)
    for a, mob in enumerate(mobs):
        own = scene.farm.mob(mob.id)
        for b, other in enumerate(mobs):
            if own is not None and other.id in own.runs_with:
                out[a, b] = out[b, a] = True
    return out


def _arrivals(
    scene: Scene, mobs: tuple[MobState, ...], can_move: NDArray[np.bool_], days: int
) -> NDArray[np.int64]:
    """Return the most arrivals of each day; on the first day that animals can be moved all may go."""
    most = np.full(days, max(scene.farm.rules.moves_a_day, 1), np.int64)
    first = int(np.argmax(np.append(can_move, True)))
    most[first : first + 1] = max(len(mobs), scene.farm.rules.moves_a_day)
    return most


# ---------------------------------------------------------------- where everybody stands


def _starts(scene: Scene, mobs: tuple[MobState, ...]) -> NDArray[np.int64]:
    yard = len(scene.paddocks)
    sacrifice = {p.id for p in scene.farm.paddocks if p.sacrifice}
    out = []
    for mob in mobs:
        grazes = mob.place in scene.paddocks and mob.place not in sacrifice and mob.place != YARD
        out.append(scene.paddocks.index(mob.place) if grazes and mob.place else yard)
    return np.array(out, np.int64)


def _been(scene: Scene, mobs: tuple[MobState, ...]) -> NDArray[np.int64]:
    """Return the days each mob has stood where it stands, by the farm's calendar: plans go by whole days."""
    today = scene.local(scene.now).date()
    stood = [(today - scene.local(m.since.start).date()).days if m.since else 0 for m in mobs]
    return np.array(stood, np.int64)


def _sooner(scene: Scene, mobs: tuple[MobState, ...]) -> float:
    """Return by how much moves of later days come before the present time of day. [d]

    They come at a full hour, for nobody plans to the minute; and no later in the day than any of ``mobs``
    came to where it stands, so that the longest stay of one that may not be passed is not.
    """
    clock = _clock(scene, scene.now)
    begun = (_clock(scene, mob.since.start) for mob in mobs if mob.since)
    at = min([clock, *(at for at in begun if at < clock)])
    return (clock - timedelta(hours=at // HOUR)) / DAY


def _clock(scene: Scene, instant: datetime) -> timedelta:
    """Return the time of day on the farm's clock."""
    local = scene.local(instant)
    return local - local.replace(hour=0, minute=0, second=0, microsecond=0)


def _ago(scene: Scene, mobs: tuple[MobState, ...]) -> Array:
    """Return the days since each mob, or one it came from, last left each paddock; infinite if never.

    The paddock where a mob stands counts as left now: it is, unless the plan keeps it there.
    """
    out = np.full((len(mobs), len(scene.paddocks)), np.inf)
    where = {name: p for p, name in enumerate(scene.paddocks)}
    for m, mob in enumerate(mobs):
        line = _ancestors(scene, mob)
        if mob.place in where:
            out[m, where[mob.place]] = 0.0
        for stay in scene.state.stays:
            if stay.mob in line and stay.place in where and stay.end is not None and not stay.planned:
                p = where[stay.place]
                out[m, p] = min(out[m, p], max((scene.now - stay.end.end) / DAY, 0.0))
    return out


def _ancestors(scene: Scene, mob: MobState) -> set[str]:
    found, ahead = {mob.id}, list(mob.parents)
    while ahead:
        name = ahead.pop()
        if name not in found:
            found.add(name)
            parent = scene.state.mob(name)
            ahead.extend(parent.parents if parent else ())
    return found


# ---------------------------------------------------------------- herbage and costs


def _eaten(scene: Scene) -> Array:
    numbers = [scene.herbage.numbers[scene.herbage.index(p)] for p in scene.paddocks]
    shares = [
        [share_eaten(n, float(max(d, 1))).value or 1.0 for d in range(LONGEST_IN_TABLE_D + 1)]
        for n in numbers
    ]
    return np.array(shares, float).reshape(len(numbers), LONGEST_IN_TABLE_D + 1)


def _field(scene: Scene, days: int, enter_kg_ha: Array) -> Field:
    herbage = scene.herbage
    order = [herbage.index(p) for p in scene.paddocks]
    land, ahead = herbage.land, herbage.ahead
    cover = enter_kg_ha.max(axis=(0, 1)) if enter_kg_ha.size else np.zeros(len(order))
    return Field(
        np.ascontiguousarray(herbage.mass_kg_ha[:, order]), np.ascontiguousarray(herbage.fertility[:, order]),
        grazing.Paddocks(land.curve[order], np.ascontiguousarray(land.share[order]), land.area_ha[order],
                         land.floor_kg_ha[order]),
        grazing.Days(np.ascontiguousarray(ahead.potential_kg_ha_d[:, :, :days]),
                     np.ascontiguousarray(ahead.loss_per_d[:, :, :days]),
                     np.ascontiguousarray(ahead.typed_kg_ha_d[:days, order]),
                     np.minimum(ahead.cut_to_kg_ha[:days, order], hay_cuts(scene, days))),
        herbage.leaf, np.where(herbage.read[order], cover, 0.0),
    )  # fmt: skip


def _costs(farm: Farm) -> tuple[Figure, ...]:
    """Return the costs of hay, a yard day, a move, a km, short cover, a day off a job.

    Hay at the farm's price if any. A day off a job that is open weighs what an arrival does: enough to
    bring animals to it, less than any harm.
    """
    hay = hay_price(farm)
    move = price(farm, "move")
    return (hay, price(farm, "yard_day"), move, price(farm, "walk"), price(farm, "end_cover"), move)
