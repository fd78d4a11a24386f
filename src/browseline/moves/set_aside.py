"""Grass that a plan leaves because a promise keeps it: for winter, or for hay that is promised."""

from __future__ import annotations

from browseline.farm.records import Promise
from browseline.limits import Scene

WINTER, HAY = "stockpile", "hay"


def set_aside(scene: Scene, paddock: str) -> Promise | None:
    """Return the promise that keeps a paddock for winter or hay within the days seen; None if there is none.

    Parameters
    ----------
    paddock : str
        One of the scene, or a part of one behind a net. Where several keep it, the first to begin is told.
    """
    ground = scene.ground(paddock)
    found = (
        promise
        for promise in scene.farm.promises
        if promise.kind in (WINTER, HAY)
        and promise.hard
        and not promise.mobs
        and any(place in ground for place in promise.paddocks)
        and promise.from_day <= scene.days[-1]
        and promise.to_day > scene.days[0]
    )
    return min(found, key=lambda promise: promise.from_day, default=None)
