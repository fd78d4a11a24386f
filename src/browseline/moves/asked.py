"""What the farm itself asks of a plan: who follows whom, which job is open where, when hay is cut."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from browseline.farm.records import Promise
from browseline.limits import Scene
from browseline.limits._follow import gap
from browseline.limits._jobs import foreseen, harmed, open_job
from browseline.limits.job import foreseen_words, target_words
from browseline.moves.form import Plan, Yardstick
from browseline.moves.replan import place_words
from browseline.record.state import MobState
from browseline.words import day_words, say

Array = NDArray[np.float64]
HAY = "hay"


# ---------------------------------------------------------------- followers


def leaders(scene: Scene, mobs: tuple[MobState, ...]) -> NDArray[np.int64]:
    """Return whom each mob follows, shape (mob,); -1 if nobody, or one that is not planned."""
    names = [mob.id for mob in mobs]
    own = [scene.farm.mob(name) for name in names]
    return np.array([names.index(x.follows) if x and x.follows in names else -1 for x in own], np.int64)


def follow_d(scene: Scene, mobs: tuple[MobState, ...], sooner_d: float) -> Array:
    """Return how soon and how late each mob may come after its leader left, shape (mob, 3). [d]

    ``limits._follow.gap`` says both. The last column is ``sooner_d``, the same for all.
    """
    out = np.zeros((len(mobs), 3))
    out[:, 2] = sooner_d
    for m, mob in enumerate(mobs):
        out[m, :2] = [figure.value or 0.0 for figure in gap(scene, mob)]
    return out


# ---------------------------------------------------------------- jobs and hay


def jobs(
    scene: Scene, mobs: tuple[MobState, ...], days: tuple[date, ...], open_: NDArray[np.bool_]
) -> NDArray[np.int64]:
    """Return the paddock of the job that is open for each mob on each day, shape (mob, day); -1 if none.

    A job asks for nothing where the calendar keeps its mob out. Where the mob stands on the job and any
    limit says that it must be out by now, harm has ended it sooner: today's plan does not ask for it.
    """
    out = np.full((len(mobs), len(days)), -1, np.int64)
    for m, mob in enumerate(mobs):
        for d, day in enumerate(days):
            job = open_job(scene, mob.id, day)
            parts = parts_of(scene, job.paddock) if job is not None else []
            if job is not None and parts and not harmed(scene, mob, job) and open_[m, d, parts].any():
                out[m, d] = parts[0]
    return out


def parts_of(scene: Scene, paddock: str) -> list[int]:
    """Return the paddocks of a plan that a paddock is: itself, or the parts that a net made of it."""
    return [p for p, name in enumerate(scene.paddocks) if paddock in scene.ground(name)]


def alike(scene: Scene) -> NDArray[np.int64]:
    """Return for each place the first part of its whole, shape (place,); the yard last."""
    whole = [scene.ground(name)[-1] for name in scene.paddocks]
    return np.array([*(whole.index(name) for name in whole), len(whole)], np.int64)


def worked(scene: Scene, mobs: tuple[MobState, ...]) -> NDArray[np.bool_]:
    """Return where each mob has a job that is open on some day of the plan, shape (mob, paddock)."""
    out = np.zeros((len(mobs), len(scene.paddocks)), bool)
    for m, mob in enumerate(mobs):
        for job in {open_job(scene, mob.id, day) for day in scene.days}:
            out[m, parts_of(scene, job.paddock) if job is not None else []] = True
    return out


def work_d(scene: Scene, mobs: tuple[MobState, ...]) -> Array:
    """Return the days of work until the open job of each mob is foreseen done, shape (mob,). [d]

    The later end of what is foreseen: who goes too soon has to come again. Infinite where not known.
    """
    out = np.full(len(mobs), np.inf)
    for m, mob in enumerate(mobs):
        job = open_job(scene, mob.id, scene.days[0])
        fit = job is not None and job.paddock in scene.herbage.paddocks
        days = foreseen(scene, job, mob).days if job is not None and fit else None
        if days is not None and days.value is not None:
            out[m] = max(np.ceil((days.value if days.high is None else days.high) - 1e-6), 1.0)
    return out


def hay_cuts(scene: Scene, days: int) -> Array:
    """Return to what herbage hay that is promised will be cut, shape (day, paddock); infinite if not.

    It is cut on the last day of its promise, to the height to leave: from then on the plan sees the
    aftermath, not the hay. [kg DM/ha]
    """
    out = np.full((days, len(scene.paddocks)), np.inf)
    for promise in scene.farm.promises:
        day = (promise.to_day - timedelta(days=1) - scene.days[0]).days
        if promise.kind != HAY or not 0 <= day < days:
            continue
        for p, name in enumerate(scene.paddocks):
            ground = scene.ground(name)
            if any(place in promise.paddocks for place in ground) and not _was_cut(scene, promise, ground):
                numbers = scene.herbage.numbers[scene.herbage.index(name)]
                out[day, p] = min(out[day, p], numbers.mass_kg_ha(numbers.leave_at.value or 0.0))
    return out


def _was_cut(scene: Scene, promise: Promise, ground: tuple[str, ...]) -> bool:
    """Return whether the hay of a promise is cut already."""
    return any(
        cut.place in ground and scene.local(cut.at.end).date() >= promise.from_day for cut in scene.state.cuts
    )


# ---------------------------------------------------------------- in words


def told(
    scene: Scene, yardstick: Yardstick, plan: Plan, m: int, a: int, b: int
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what the farm asked of a stay, in words: behind whom it comes, and the job that it is for."""
    return _behind(scene, yardstick, plan, m, a), _works(scene, yardstick, plan, m, a, b)


def _behind(scene: Scene, yardstick: Yardstick, plan: Plan, m: int, a: int) -> tuple[str, ...]:
    bars, p = yardstick.bars, int(plan[m, a])
    leader = int(bars.leader[m])
    if leader < 0 or p == yardstick.yard or (a == 0 and p == bars.start[m]):
        return ()
    who = scene.state.mob(yardstick.mobs[leader])
    name = who.name if who else yardstick.mobs[leader]
    if plan[leader, a] == p:
        return (say("moves.follow.with", mob=name),)
    stood = np.flatnonzero(plan[leader, :a] == p)
    left = float(stood[-1] + 1) if len(stood) else -float(bars.ago_d[leader, p])
    day = day_words(scene.local(scene.now + timedelta(days=left)).date())
    return (say("moves.follow.after", mob=name, day=day),)


def _works(scene: Scene, yardstick: Yardstick, plan: Plan, m: int, a: int, b: int) -> tuple[str, ...]:
    p = int(plan[m, a])
    days = np.flatnonzero(yardstick.bars.job[m, a:b] == yardstick.bars.alike[p])
    job = open_job(scene, yardstick.mobs[m], yardstick.days[a + int(days[0])]) if len(days) else None
    if job is None:
        return ()
    if job.target is None:
        return (say("moves.job.days", job=job.name, paddock=place_words(scene, yardstick, p)),)
    who = scene.state.mob(yardstick.mobs[m])
    when = foreseen_words(scene, job, who) if who is not None else ""
    return (say("moves.job.target", job=job.name, target=target_words(scene, job), when=when),)
