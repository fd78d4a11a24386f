"""Days of grass ahead as the season sheet draws them: measured so far, then from no growth to as now.

From today on the mobs eat what stands, and a paddock that the calendar closes takes its grass out of
the count on that day, as much as stands in it today. Both cases are the one formula of
``ledger.grass_ahead``; the second lets the open paddocks grow as they do now.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

import numpy as np

from browseline.chain.look import Picture, picture
from browseline.figures import Figure
from browseline.ledger.ahead import GrassAhead, grass_ahead
from browseline.limits import Scene, faces
from browseline.record.fold import fold_each

DOTS_MOST = 8
BACK_D = 28
FAR_D = 120.0
"""Days ahead beyond which nobody reads the number: where growth keeps up it ends here."""


@dataclass(frozen=True, slots=True)
class AheadDay:
    """Days of grass ahead on a day: with no growth, and with growth as now where that is known. [d]"""

    day: date
    still_d: float
    growing_d: float | None


def ahead_from(scene: Scene) -> tuple[AheadDay, ...]:
    """Return the days of grass ahead from today on, until the grass is gone in both cases."""
    changes = _changes(scene)
    now = grass_ahead(scene)
    out = []
    for n, day in enumerate(scene.days):
        if n in changes:
            now = grass_ahead(replace(scene, days=scene.days[n:], memo={}))
        found = _on(now, n, day)
        if found is None:
            break
        out.append(found)
        if found.still_d <= 0 and not found.growing_d:
            break
    return tuple(out)


def _changes(scene: Scene) -> set[int]:
    """Return the days on which the calendar opens or closes a paddock to all mobs."""
    shut = np.zeros((len(scene.days), len(scene.paddocks)), bool)
    for face in faces(scene) if scene.mobs else ():
        if face.closed is not None:
            shut |= face.closed.all(axis=0)
    return {int(d) + 1 for d in np.flatnonzero((shut[1:] != shut[:-1]).any(axis=1))}


def _value(figure: Figure | None) -> float:
    return figure.value or 0.0 if figure is not None else 0.0


def _on(now: GrassAhead, days: int, day: date) -> AheadDay | None:
    """Return the days left after so many days of eating; None where what they eat is not known."""
    needs = _value(now.demand)
    if needs <= 0:
        return None
    grass, growth = _value(now.grass), _value(now.growth)

    def left(net: float) -> float:
        if net <= 0:
            return FAR_D
        return min(max((grass - net * days) / net, 0.0), FAR_D)

    return AheadDay(day, left(needs), left(needs - growth) if now.growth is not None else None)


def measured(seen: Picture) -> tuple[tuple[date, float], ...]:
    """Return the days of grass ahead with no growth on the last days when heights were read. [d]

    Each is the farm as it was on that evening, from its own events.
    """
    scene = seen.scene
    first = seen.today - timedelta(days=BACK_D)
    read = {scene.local(h.at.end).date() for h in seen.state.heights}
    days = sorted(day for day in read if first <= day < seen.today)[-DOTS_MOST:]
    return tuple(_past(seen, days)) if days else ()


def _past(seen: Picture, days: list[date]) -> Iterator[tuple[date, float]]:
    bare = replace(seen.farm, normals=None, daily=None)
    instants = [datetime.combine(day, time(23, 59), tzinfo=seen.scene.zone) for day in days]
    for day, state, at in zip(days, fold_each(seen.farm, seen.events, instants), instants, strict=True):
        then = picture(seen.folder, bare, seen.events, state, at, 1, 2)
        found = grass_ahead(then.scene).still
        if found is not None and found.value:
            yield day, min(found.value, FAR_D)
