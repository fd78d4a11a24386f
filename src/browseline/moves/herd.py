"""Who eats on which day: stages ahead, animals that are planned to be sold, bought or sent home."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from browseline.events import Borrowed, Bought, Event, Returned, Sold
from browseline.farm import breeding
from browseline.farm.names import written
from browseline.farm.needs import demand, on_grass
from browseline.limits import Scene
from browseline.record.state import YARD, HeadLine, MobState

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Herd:
    """What each mob eats on each day, shape (day, mob) [kg/d], and when it is not there, shape (mob, day)."""

    demand_kg_d: Array
    gone: NDArray[np.bool_]


def with_coming(scene: Scene) -> Scene:
    """Return a scene with the mobs that are planned to be lent to the farm; as it is where there are none."""
    here = {mob.id for mob in scene.state.mobs}
    new = tuple(
        _to_come(event.subject, event.body)
        for event in scene.coming
        if isinstance(event.body, Borrowed) and event.subject not in here
    )
    if not new:
        return scene
    state = replace(scene.state, mobs=(*scene.state.mobs, *new))
    kept: dict[object, object] = {k: v for k, v in scene.memo.items() if k in ("growing", "taught")}
    return replace(scene, mobs=(*scene.mobs, *new), state=state, memo=kept)


def _to_come(ident: str, body: Borrowed) -> MobState:
    line = HeadLine(body.beast, body.klass, body.head, body.weight, body.intake)
    return MobState(ident, written(ident), (line,), YARD, None, owner=body.owner, due=body.until)


def _comes(scene: Scene, mob: MobState) -> date | None:
    """Return the day on which a mob is planned to be lent to the farm; None if it is here."""
    days = (scene.local(e.observed.start).date() for e in scene.coming
            if e.subject == mob.id and isinstance(e.body, Borrowed))  # fmt: skip
    return min(days, default=None)


def typed_place(scene: Scene, mob: MobState) -> tuple[date, str] | None:
    """Return when a mob is to be lent to the farm and the place that was typed for it; None if none was."""
    day = _comes(scene, mob)
    to = (e.body.to for e in scene.coming if e.subject == mob.id and isinstance(e.body, Borrowed))
    place = next((name for name in to if name), "")
    return (day, place) if day is not None and place else None


def herd_of(
    scene: Scene, mobs: tuple[MobState, ...], days: tuple[date, ...], gone: NDArray[np.bool_]
) -> Herd:
    """Return who eats what on which day.

    Parameters
    ----------
    gone : bool array, shape (mob, day)
        What limits say of who is not on the farm. A mob that is planned to be sold to the last head is not
        either.
    """
    need, away = np.zeros((len(days), len(mobs))), gone.copy()
    for m, mob in enumerate(mobs):
        first = _comes(scene, mob)
        for d, day in enumerate(days):
            away[m, d] |= first is not None and day < first
            lines = lines_on(scene, mob, day)
            away[m, d] |= sum(line.head for line in lines) <= 0
            eats = demand(on_grass(lines))
            need[d, m] = 0.0 if away[m, d] or eats is None else eats.value or 0.0
    return Herd(need, away)


def lines_on(scene: Scene, mob: MobState, day: date) -> tuple[HeadLine, ...]:
    """Return the animals of a mob on a day ahead, each line at its stage, what is planned counted."""
    lines = tuple(_at_stage(scene, mob, line, day) for line in mob.lines)
    for event in scene.coming:
        if event.subject == mob.id and scene.local(event.observed.start).date() <= day:
            lines = _after(lines, event)
    return lines


def _at_stage(scene: Scene, mob: MobState, line: HeadLine, day: date) -> HeadLine:
    own = scene.farm.mob(mob.id)
    found = [x for x in own.lines if (x.kind, x.klass) == (line.kind, line.klass)] if own else []
    begun = [s for x in found for s in breeding.stages_of(x) if scene.days[0] < s.from_day <= day]
    if not begun:
        return line
    now = max(begun, key=lambda s: s.from_day)
    intake, heavy = now.intake or line.intake, now.weight or line.weight
    return replace(line, stage=now.stage, intake=intake, weight=heavy)


def _after(lines: tuple[HeadLine, ...], event: Event) -> tuple[HeadLine, ...]:
    """Return the animals of a mob after a planned sale, purchase or return."""
    body = event.body
    if isinstance(body, Returned):
        return ()
    if not isinstance(body, (Sold, Bought)):
        return lines
    more = body.head if isinstance(body, Bought) else -body.head
    for n, line in enumerate(lines):
        if line.klass == body.klass and body.beast in ("", line.kind):
            left = replace(line, head=max(line.head + more, 0))
            return (*lines[:n], left, *lines[n + 1 :])
    if isinstance(body, Bought) and (body.beast or lines):
        return (*lines, HeadLine(body.beast or lines[0].kind, body.klass, body.head, body.weight))
    return lines
