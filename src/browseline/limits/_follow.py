"""Who follows whom: behind which mob another comes, how soon and how late, and where that is now."""

from __future__ import annotations

from datetime import datetime, timedelta

from browseline import tables
from browseline.figures import Figure, typed
from browseline.limits.form import Scene
from browseline.record.state import MobState


def leader_of(scene: Scene, mob: MobState) -> MobState | None:
    """Return the mob that a mob follows, if it stands in a paddock of the farm; else None."""
    own = scene.farm.mob(mob.id)
    found = next((m for m in scene.mobs if own is not None and m.id == own.follows), None)
    return found if found is not None and found.place in scene.paddocks else None


def gap(scene: Scene, mob: MobState) -> tuple[Figure, Figure]:
    """Return how soon and how late a mob may come after its leader left. [d]

    The farm's own ``follows_after`` and ``follows_within`` go before the table, which is common practice
    and no reading.
    """
    own, book = scene.farm.mob(mob.id), tables.row("stays", "follow_gap", "any kind")
    after, within = (own.follows_after, own.follows_within) if own else (None, None)
    row = book.figure("follow_gap", mob.id)
    soon = Figure("follow_gap", book.low or 0.0, "d", origins=row.origins, about=mob.id)
    if after is not None:
        soon = typed("follow_gap", after.to("d"), "d", after.text, about=mob.id)
    latest = (soon.value or 0.0) + book.middle()
    late = Figure("follow_gap", latest, "d", origins=row.origins, about=mob.id)
    if within is not None:
        most = max(soon.value or 0.0, within.to("d"))
        late = typed("follow_gap", most, "d", within.text, about=mob.id)
    return soon, late


def left_behind(scene: Scene, mob: MobState, leader: MobState, by: datetime) -> dict[str, datetime]:
    """Return the paddocks that a leader left, to which the other may come by a time, and when it left."""
    soon, late = (timedelta(days=f.value or 0.0) for f in gap(scene, mob))
    out: dict[str, datetime] = {}
    for stay in scene.state.stays:
        if stay.mob != leader.id or stay.planned or stay.end is None or stay.place == leader.place:
            continue
        if soon <= by - stay.end.end <= late and stay.place in scene.paddocks:
            out[stay.place] = max(stay.end.end, out.get(stay.place, stay.end.end))
    return out
