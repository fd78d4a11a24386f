"""Every other paddock as a place to go to: fit by then, closed, taken, waiting, or never read.

A mob that follows another may only come where that one has just been, or to where it stands once it goes.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

import numpy as np

from browseline.limits import bites, faces, known, ready
from browseline.limits._follow import gap, leader_of, left_behind
from browseline.limits.form import Scene
from browseline.record.state import MobState

NEAR_D = 2
"""A place must be open on the day of coming and the next."""


@dataclass(frozen=True, slots=True)
class Place:
    """A paddock for a mob at a time: how it stands, which limits say so, and from when it is fit.

    ``fit_at`` is None where it is fit by then, or where nobody can say when. *behind* is ground where the
    leader of a mob has not just been.
    """

    paddock: str
    state: Literal["fit", "closed", "taken", "waits", "unread", "behind"]
    limits: tuple[str, ...] = ()
    fit_at: datetime | None = None


def places(scene: Scene, mob: MobState, by: datetime, promised: Collection[str] = ()) -> tuple[Place, ...]:
    """Return every paddock but the mob's own and sacrifice ground, in the order of the farm.

    Parameters
    ----------
    by : datetime
        When the mob would come.
    promised : collection of str
        Paddocks that go to another mob.
    """
    leader = leader_of(scene, mob)
    taken = {
        other.place
        for other in scene.mobs
        if other.id != mob.id and other is not leader and not together(scene, mob, other)
    }
    held = taken | set(promised)
    left = left_behind(scene, mob, leader, by) if leader is not None else {}
    out = []
    for p, paddock in enumerate(scene.paddocks):
        found = scene.paddock(paddock)
        if paddock == mob.place or found is None or found.sacrifice:
            continue
        shut = closed_by(scene, mob, p, by)
        if shut:
            out.append(Place(paddock, "closed", shut))
        elif leader is not None and paddock not in left and paddock != leader.place:
            out.append(Place(paddock, "behind"))
        elif not scene.herbage.read[scene.herbage.index(paddock)]:
            out.append(Place(paddock, "unread"))
        elif leader is not None and paddock == leader.place:
            out.append(_after(scene, mob, leader, paddock, by))
        else:
            out.append(_when(scene, mob, paddock, by, paddock in held, follows=leader is not None))
    return tuple(out)


def leaves(scene: Scene, mob: MobState) -> tuple[datetime, str] | None:
    """Return when a mob is likely to leave where it stands, and by which limit; None if nothing says.

    What shade or water eases where it stands sends it nowhere.
    """
    found = bites(scene, mob.id, mob.place) if mob.place is not None else []
    at_place = {limit.name for limit in known() if limit.eases is not None}
    dated = [b for b in found if b.moment and b.hardness != "question" and b.limit not in at_place]
    if not dated or dated[0].moment is None:
        return None
    return max(dated[0].moment.likely, scene.now), dated[0].limit


def _after(scene: Scene, mob: MobState, leader: MobState, paddock: str, by: datetime) -> Place:
    """Return when the ground on which its leader stands is fit for a mob: so long after that one goes."""
    goes = leaves(scene, leader)
    if goes is None:
        return Place(paddock, "waits")
    fit_at = goes[0] + timedelta(days=gap(scene, mob)[0].value or 0.0)
    if fit_at <= by:
        return _when(scene, mob, paddock, by, taken=False, follows=True)
    return Place(paddock, "waits", (goes[1],), fit_at)


def together(scene: Scene, mob: MobState, other: MobState) -> bool:
    """Return whether two mobs run together on purpose."""
    own, of = scene.farm.mob(mob.id), scene.farm.mob(other.id)
    return (own is not None and other.id in own.runs_with) or (of is not None and mob.id in of.runs_with)


def closed_by(scene: Scene, mob: MobState, p: int, by: datetime) -> tuple[str, ...]:
    """Return the limits whose calendar closes a paddock to a mob on the day of coming or the next."""
    m = scene.mobs.index(mob)
    day = min(max((scene.local(by).date() - scene.days[0]).days, 0), len(scene.days) - 1)
    return tuple(
        face.name
        for face in faces(scene)
        if face.closed is not None and face.closed[m, day : day + NEAR_D, p].any()
    )


def opens(scene: Scene, mob: MobState, paddock: str, by: datetime) -> date | None:
    """Return the first day on which no calendar closes a paddock that is closed by then; None: not known."""
    m, p = scene.mobs.index(mob), scene.paddocks.index(paddock)
    closed = np.zeros(len(scene.days), bool)
    for face in faces(scene):
        if face.closed is not None:
            closed |= face.closed[m, :, p]
    day = min(max((scene.local(by).date() - scene.days[0]).days, 0), len(closed) - 1)
    first = next((n for n in range(day, len(closed)) if closed[n]), len(closed))
    return next((scene.days[n] for n in range(first, len(closed)) if not closed[n]), None)


def _when(
    scene: Scene, mob: MobState, paddock: str, by: datetime, taken: bool, *, follows: bool = False
) -> Place:
    """Return whether an open paddock is ready by then, by every limit that has a word on it.

    Who follows comes to what its leader left: what only waits for animals to be wanted is passed over.
    """
    asked = (r for r in ready(scene, mob.id, paddock) if not (follows and r.wants))
    late = [r for r in asked if r.moment is None or r.moment.likely > by]
    names = tuple(dict.fromkeys(r.limit for r in late))
    fit_at = late[0].moment.likely if late and late[0].moment is not None else None
    if taken:
        return Place(paddock, "taken", names, fit_at)
    return Place(paddock, "waits" if late else "fit", names, fit_at)
