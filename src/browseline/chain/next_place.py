"""Where next: of the open paddocks the one that is ready by every limit and carries the mob longest."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from browseline.farm.needs import demand
from browseline.figures import Figure
from browseline.ledger.trees_near import treed
from browseline.limits import Scene, faces, ready
from browseline.record.state import MobState
from browseline.units import shown
from browseline.words import day_words, say

NEAR_D = 2


@dataclass(frozen=True, slots=True)
class NextPlace:
    """A paddock to go to: how high it stands, why it, and from when by each limit."""

    paddock: str
    name: str
    height: str
    because: str
    ready: bool
    ready_from: datetime | None
    stands: Figure | None = None


def next_place(scene: Scene, mob: MobState, promised: Collection[str] = ()) -> NextPlace | None:
    """Return the next paddock for a mob, or None if every paddock is closed or taken.

    Ready ones come before those that are not; of the ready ones the one with most feed, of the others
    the one that is ready first, and never trees over short grass where open ground waits no longer.
    ``promised`` paddocks go to another mob. The season plan, where there is one, may rightly say otherwise.
    """
    taken = {other.place for other in scene.mobs} | set(promised)
    found = [_candidate(scene, mob, p) for p in scene.paddocks if p not in taken and _open(scene, mob, p)]
    known = [c for c in found if c is not None]
    return min(known, key=lambda pair: pair[0])[1] if known else None


def _open(scene: Scene, mob: MobState, paddock: str) -> bool:
    """Return whether the calendar leaves it open to the mob today and tomorrow."""
    closed = scene.once("closed soon", lambda: _closed_soon(scene))
    return not closed[scene.mobs.index(mob), scene.paddocks.index(paddock)]


def _closed_soon(scene: Scene) -> NDArray[np.bool_]:
    """Return what any limit closes today or tomorrow, shape (mob, paddock)."""
    out = np.zeros((len(scene.mobs), len(scene.paddocks)), bool)
    for face in faces(scene):
        if face.closed is not None:
            out |= face.closed[:, :NEAR_D].any(axis=1)
    return out


def _candidate(
    scene: Scene, mob: MobState, paddock: str
) -> tuple[tuple[float, bool, float, float, int], NextPlace] | None:
    i = scene.herbage.index(paddock)
    if not scene.herbage.read[i]:
        return None
    asked = ready(scene, mob.id, paddock)
    waits = [r for r in asked if r.moment is None or r.moment.likely > scene.now]
    last = waits[0] if waits else None
    from_when = last.moment.likely if last is not None and last.moment is not None else None
    wait_d = 0.0 if last is None else (from_when - scene.now).total_seconds() if from_when else float("inf")
    numbers = scene.herbage.numbers[i]
    mass = sorted(scene.herbage.mass_kg_ha[:, i])[scene.herbage.members // 2]
    above = float(mass - numbers.mass_kg_ha(numbers.leave_at.value or 0.0))
    feed = max(above, 0.0) * float(scene.herbage.land.area_ha[i])
    short = any(r.limit == "grass" for r in waits) and treed(scene.farm, paddock)
    stands = replace(scene.herbage.height_now(i), about=_name(scene, paddock))
    place = NextPlace(
        paddock,
        _name(scene, paddock),
        shown(stands.value or 0.0, "length", scene.farm.units),
        _because(scene, mob, paddock, [r.because for r in waits]),
        last is None,
        from_when,
        stands,
    )
    return (wait_d, short, -feed, -above, scene.paddocks.index(paddock)), place


def _name(scene: Scene, paddock: str) -> str:
    found = scene.paddock(paddock)
    return found.name if found else paddock


def _because(scene: Scene, mob: MobState, paddock: str, waits: list[str]) -> str:
    if waits:
        return " ".join(waits)
    stays = [s for s in scene.state.stays if s.place == paddock and not s.planned and s.end is not None]
    needs = demand(mob.lines)
    if not stays:
        return say("chain.next.not_grazed") if needs is not None else ""
    left = max(s.end.end for s in stays if s.end is not None)
    return say("chain.next.left", day=day_words(scene.local(left).date()))
